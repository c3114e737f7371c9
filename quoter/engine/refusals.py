"""Does the job speak the book's language? Every wrong field at once, before anything is planned."""

import datetime as dt
from collections.abc import Collection, Iterator

from quoter.book import RateBook
from quoter.job import CUSTOMER_KINDS, PAYMENTS, URGENCIES, Job, Repair
from quoter.money import ONE, ZERO
from quoter.problems import JobRefused, Refusal

MOST_SUGGESTIONS = 40
EARLIEST, LATEST = dt.date(1970, 1, 1), dt.date(2199, 12, 31)
"""Days that a quote can be about; outside, somebody mistyped a year."""


def check_job(job: Job, book: RateBook) -> None:
    """Refuses a job that names what the book does not have, naming each field that is wrong."""
    refusals = tuple(refusals_of(job, book))
    if refusals:
        raise JobRefused(refusals)


def refusals_of(job: Job, book: RateBook) -> Iterator[Refusal]:
    """Unknown codes, things named twice, parts that do not fit, numbers that make no sense."""
    yield from _word_refusals(job)
    yield from _date_refusals(job)
    yield from _discount_refusals(job)
    yield from _finding_refusals(job, book)
    if job.device not in book.devices:
        yield unknown("device", "/device", job.device, book.devices)
        return
    if not job.repairs:
        yield Refusal("invalid-value", "/repairs", "a job needs at least one repair", tuple(book.offered[job.device]))
    for index, repair in enumerate(job.repairs):
        yield from _repair_refusals(index, repair, job, book)
    for slot, sku in job.parts.items():
        yield from _part_choice_refusals(slot, sku, job, book)


def unknown(what: str, at: str, code: str, known: Collection[str]) -> Refusal:
    """A code that is not in the book, with the codes that are (those alike, where there are many)."""
    return Refusal("unknown-code", at, f"there is no {what} {code!r}", suggestions(code, known))


def suggestions(code: str, known: Collection[str]) -> tuple[str, ...]:
    """What would be right: all of a short list, of a long one those that begin alike."""
    if len(known) <= MOST_SUGGESTIONS:
        return tuple(known)
    alike = [candidate for candidate in known if candidate[:2].casefold() == code[:2].casefold()]
    return tuple((alike or list(known))[:MOST_SUGGESTIONS])


def pointer(*steps: str | int) -> str:
    """An RFC 6901 JSON pointer."""
    return "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in steps)


def _word_refusals(job: Job) -> Iterator[Refusal]:
    words = (
        ("/customer/kind", job.customer_kind, CUSTOMER_KINDS),
        ("/urgency", job.urgency, URGENCIES),
        ("/payment", job.payment, PAYMENTS),
    )
    for at, word, allowed in words:
        if word not in allowed:
            yield Refusal("invalid-value", at, f"{word!r} is not one of {', '.join(allowed)}", allowed)


def _discount_refusals(job: Job) -> Iterator[Refusal]:
    if job.discount and not ZERO <= job.discount.rate <= ONE:
        detail = f"a discount is a share between 0 and 1 (0.10 is 10 %), not {job.discount.rate}"
        yield Refusal("out-of-range", "/discount/rate", detail)


def _finding_refusals(job: Job, book: RateBook) -> Iterator[Refusal]:
    for index, finding in enumerate(job.findings):
        at = pointer("findings", index)
        if finding not in book.findings:
            yield unknown("finding", at, finding, book.findings)
        elif finding in job.findings[:index]:
            yield Refusal("given-twice", at, f"the finding {finding!r} is named twice")


def _date_refusals(job: Job) -> Iterator[Refusal]:
    if not EARLIEST <= job.date <= LATEST:
        yield Refusal("out-of-range", "/date", f"{job.date} is not a day between {EARLIEST} and {LATEST}")


def _repair_refusals(index: int, repair: Repair, job: Job, book: RateBook) -> Iterator[Refusal]:
    at = pointer("repairs", index, "procedure")
    offered = book.offered[job.device]
    if repair.procedure not in book.procedures:
        yield unknown("procedure", at, repair.procedure, tuple(offered))
        return
    if repair.procedure not in offered:
        detail = f"{repair.procedure!r} is not offered for {job.device!r}"
        yield Refusal("not-offered", at, detail, tuple(offered))
    if any(earlier.procedure == repair.procedure for earlier in job.repairs[:index]):
        yield Refusal("given-twice", at, f"the procedure {repair.procedure!r} is named twice")
    slot = book.procedures[repair.procedure].slot
    if repair.part is not None:
        yield from _fit_refusals(pointer("repairs", index, "part"), repair.part, slot, job.device, book)
    if repair.grade is not None:
        yield from _grade_refusals(index, repair, book)


def _grade_refusals(index: int, repair: Repair, book: RateBook) -> Iterator[Refusal]:
    at = pointer("repairs", index, "grade")
    part = book.parts.get(repair.part or "")
    if repair.grade not in book.grades:
        yield unknown("grade", at, str(repair.grade), book.grades)
    elif part and part.grade != repair.grade:
        detail = f"the part {part.sku!r} is of grade {part.grade!r}, not {repair.grade!r}"
        yield Refusal("contradiction", at, detail, (part.grade,))


def _part_choice_refusals(slot: str, sku: str | None, job: Job, book: RateBook) -> Iterator[Refusal]:
    at = pointer("parts", slot)
    if slot not in book.slots:
        yield unknown("slot", at, slot, book.slots)
    elif sku is not None:
        yield from _fit_refusals(at, sku, slot, job.device, book)


def _fit_refusals(at: str, sku: str, slot: str | None, device: str, book: RateBook) -> Iterator[Refusal]:
    fitting = tuple(part.sku for part in book.parts_for(device, slot)) if slot else ()
    if sku not in book.parts:
        yield Refusal("unknown-code", at, f"there is no part {sku!r}", fitting)
    elif sku not in fitting:
        place = f"the {slot} of {device!r}" if slot else "a procedure that is not about a part"
        yield Refusal("part-does-not-fit", at, f"the part {sku!r} does not fit {place}", fitting)
