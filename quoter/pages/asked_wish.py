"""An enquiry as the desk begins a quote from it: what was asked, in the shape in which the desk keeps its wishes."""

from dataclasses import asdict
from typing import Any

from quoter.book import RateBook
from quoter.records.enquiries import Enquiry
from quoter.words.catalogues import LANGUAGES


def wish_of(enquiry: Enquiry, book: RateBook) -> dict[str, Any]:
    """The members of a wish (js/desk/job.js) that an enquiry says something about. The desk chooses parts by grade."""
    job, language = enquiry.job, enquiry.locale.partition("-")[0]
    return {
        "enquiry": {name: getattr(enquiry, name) for name in ("id", "reference", "noticed")},
        **({"language": language} if language in LANGUAGES else {}),
        "book": enquiry.book,
        "device": {"code": job["device"]},
        "repairs": {repair["procedure"]: _grade(repair, book) for repair in job["repairs"]},
        "findings": job["findings"],
        "customer": job["customer"]["kind"],
        "urgency": job["urgency"],
        "contact": asdict(enquiry.contact),
    }


def _grade(repair: dict[str, Any], book: RateBook) -> str:
    part = book.parts.get(repair.get("part", ""))
    return part.grade if part else repair.get("grade", "")
