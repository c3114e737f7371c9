"""Spreadsheets out of the draft of a rate book, and into it."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, request
from marshmallow import fields

from quoter.api.http.auth import current_key
from quoter.api.rates.books import OWNER, XLSX, ZIP, FormatQuery, comparison_data, file_answer
from quoter.api.rates.drafts import YES_NO, draft_answer, draft_data, flaws_data, unchanged_draft
from quoter.api.prices.job_schema import Strict
from quoter.api.http.operations import Answer, Operation, check_coding, operation
from quoter.api.http.problem_document import ApiProblem
from quoter.api.rates.rate_schemas import ImportSchema
from quoter.api.http.services import services
from quoter.books.compare import summary
from quoter.books.draft import raw_of
from quoter.books.sheets.archive import from_zip
from quoter.problems import Flaw

if TYPE_CHECKING:
    from quoter.books.sheets.workbook import Opened

blueprint = Blueprint("sheets", __name__)

MOST_LISTED = 2_000
"""Differences and faults of an import that are listed; the counts are of all."""

LARGEST_UPLOAD = 32_000_000
"""Bytes of a workbook or a zip: a book's file may be larger than what is otherwise sent."""


class ImportQuery(Strict):
    """Whether to look before leaping."""

    dry_run = fields.String(
        load_default="yes", validate=YES_NO, metadata={"description": "yes only shows what would change; no changes it"}
    )


@operation(
    blueprint,
    Operation(
        id="exportDraft",
        method="GET",
        path="/v1/books/{code}/draft/export",
        summary="The draft as spreadsheets",
        description="One workbook with a sheet a table, or a zip of CSV files.",
        scopes=OWNER,
        query=FormatQuery(),
        answers={200: Answer("The file", content_type=XLSX, other_types=(ZIP,))},
        problems=(404, 422),
    ),
)
def export_draft(code: str, query: dict[str, Any]) -> Response:
    """The draft as a file."""
    return file_answer(raw_of(services().rates.draft(code).draft), f"{code}-draft", query["format"])


@operation(
    blueprint,
    Operation(
        id="importIntoDraft",
        method="PUT",
        path="/v1/books/{code}/draft/content",
        summary="Bring spreadsheets into the draft",
        description=(
            "A workbook or a zip of CSV files, as exported, takes the place of everything in the draft. A dry run, "
            "which is what happens unless `dry_run` is no, lists the differences and the faults and changes nothing. A "
            "file of which a part cannot be read changes nothing either, and one that is no workbook or zip is refused. "
            "At most 2,000 differences and faults are listed."
        ),
        scopes=OWNER,
        query=ImportQuery(),
        upload=(XLSX, ZIP),
        answers={200: Answer("What it changes, and whether it did", ImportSchema())},
        problems=(400, 404, 412, 413, 415, 422, 428),
        if_match=True,
    ),
)
def import_into_draft(code: str, query: dict[str, Any]) -> Response:
    """A file is brought in."""
    read = _uploaded()
    raw = read.raw
    with unchanged_draft(code) as seen:
        brought = services().rates.bring_in(seen, raw, current_key().name, dry_run=query["dry_run"] == "yes")
    shown = comparison_data(brought.changes[:MOST_LISTED]) | {
        "counts": dict(summary(brought.changes)),
        "done": brought.done,
        "flaws": flaws_data(_placed(brought.flaws[:MOST_LISTED], read), brought.draft.draft if brought.done else None),
        "draft": draft_data(brought.draft),
    }
    return draft_answer(brought.draft, shown)


def _placed(flaws: Iterable[Flaw], read: "Opened") -> Iterator[Flaw]:
    """Each with the cell of the workbook that it is about, parts!F17, unless it says so itself."""
    for flaw in flaws:
        place = read.places.of(flaw) if read.places.columns else ""
        is_told = not place or place in flaw.message
        yield flaw if is_told else replace(flaw, message=f"{place}: {flaw.message}")


def _workbook(content: bytes) -> "Opened":
    from quoter.books.sheets.workbook import opened  # with openpyxl, which is large and seldom needed

    return opened(content)


def _archive(content: bytes) -> "Opened":
    from quoter.books.sheets.places import Places
    from quoter.books.sheets.workbook import Opened

    return Opened(from_zip(content), Places())


READERS: dict[str, Callable[[bytes], "Opened"]] = {XLSX: _workbook, ZIP: _archive}


def _uploaded() -> "Opened":
    request.max_content_length = max(request.max_content_length or 0, LARGEST_UPLOAD)
    check_coding()
    if request.mimetype not in READERS:
        raise ApiProblem(415, "wrong-content-type", f"send a workbook ({XLSX}) or a zip of CSV files ({ZIP})")
    return READERS[request.mimetype](request.get_data())
