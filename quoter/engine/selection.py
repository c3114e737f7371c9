"""Which part fills a slot (rule 1 of the plan)."""

from dataclasses import dataclass

from quoter.book import Part, RateBook
from quoter.engine.refusals import pointer
from quoter.job import Job, Repair
from quoter.problems import Refusal


@dataclass(frozen=True, slots=True)
class Choice:
    """The part for a slot, or none, or why the wish for it cannot be met (which matters if a step asks for it)."""

    part: Part | None
    refusal: Refusal | None = None


def chosen_part(slot: str, job: Job, book: RateBook) -> Choice:
    """`job.parts` first; then what the repair about this slot wishes; then the first part that fits; else none."""
    if slot in job.parts:
        sku = job.parts[slot]
        return Choice(None if sku is None else book.parts[sku])
    wishes = [
        _wish(index, repair, slot, job, book)
        for index, repair in enumerate(job.repairs)
        if book.procedures[repair.procedure].slot == slot and (repair.part or repair.grade)
    ]
    if wishes:
        return _agreed(wishes, slot)
    fitting = book.parts_for(job.device, slot)
    return Choice(fitting[0] if fitting else None)


def _wish(index: int, repair: Repair, slot: str, job: Job, book: RateBook) -> Choice:
    if repair.part is not None:
        return Choice(book.parts[repair.part])
    fitting = book.parts_for(job.device, slot)
    for part in fitting:
        if part.grade == repair.grade:
            return Choice(part)
    grades = tuple(dict.fromkeys(part.grade for part in fitting))
    detail = f"no {slot} of grade {repair.grade!r} fits {job.device!r}"
    return Choice(None, Refusal("grade-not-available", pointer("repairs", index, "grade"), detail, grades))


def _agreed(wishes: list[Choice], slot: str) -> Choice:
    """Two repairs may be about one slot; they get one part, so they must not wish for two."""
    for wish in wishes:
        if wish.refusal or wish.part is not wishes[0].part:
            return wish if wish.refusal else Choice(None, _contradiction(wishes[0], wish, slot))
    return wishes[0]


def _contradiction(first: Choice, second: Choice, slot: str) -> Refusal:
    skus = tuple(choice.part.sku for choice in (first, second) if choice.part)
    detail = f"two repairs wish for different parts in the one {slot}: {' and '.join(skus)}"
    return Refusal("contradiction", "/repairs", detail, skus)
