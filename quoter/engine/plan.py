"""The plan of a job: which steps, each once, for which repair, in which order.

A plan hangs on what is offered, found and fitted, not on the device's size or the parts' prices, so that one plan
serves every device that is opened the same way. It is remembered inside the book under that key.
"""

import heapq
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from quoter.book import Difficulty, Finding, OfferedRepair, Part, RateBook, Step
from quoter.engine.memory import remembered
from quoter.engine.refusals import pointer
from quoter.engine.selection import Choice, chosen_part
from quoter.job import Job
from quoter.problems import JobRefused, Refusal

SlotState = tuple[str, tuple[str, ...] | None]
"""A slot, and the steps that its part saves; None where it has no part."""


@dataclass(frozen=True, slots=True)
class PlannedRepair:
    """A repair of the plan with its difficulty and the findings that concern it."""

    procedure: str
    slot: str | None
    difficulty: Difficulty
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """Steps in working order; `owners[i]` and `needs[i]` are the repair and the earlier steps of `steps[i]`.

    `asked` are the slots that steps asked for before any saving, `filled` those whose step is in the plan.
    """

    repairs: tuple[PlannedRepair, ...]
    findings: tuple[Finding, ...]
    steps: tuple[Step, ...]
    owners: tuple[int, ...]
    needs: tuple[tuple[int, ...], ...]
    asked: tuple[str, ...]
    filled: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlannedJob:
    """A plan with the parts that this job fits into it."""

    device: str
    plan: Plan
    parts: tuple[Part, ...]

    def main_part(self, repair: PlannedRepair) -> Part | None:
        """The part that a repair is about, where one is fitted."""
        return next((part for part in self.parts if part.slot == repair.slot), None)


def planned(job: Job, book: RateBook) -> PlannedJob:
    """The plan of a checked job. Refuses a job that is stopped, or that lacks a part it cannot do without."""
    offered = book.offered[job.device]
    repairs = tuple([offered[repair.procedure] for repair in job.repairs])
    findings = concerning(job.findings, repairs, book)
    _refuse_stopped(job, findings, book)
    choices = {slot: chosen_part(slot, job, book) for slot in reachable_slots(book, repairs, findings)}
    plan = plan_of(book, repairs, findings, tuple([(slot, _saves(choice)) for slot, choice in choices.items()]))
    _refuse_unmet([choices[slot] for slot in plan.asked])
    parts = tuple([part for slot in plan.filled if (part := choices[slot].part)])
    return PlannedJob(job.device, plan, parts)


def concerns(finding: Finding, repairs: Iterable[OfferedRepair]) -> bool:
    """A finding concerns the repairs whose procedure it lists; a blank list means all."""
    return not finding.procedures or any(repair.procedure in finding.procedures for repair in repairs)


def concerning(codes: Iterable[str], repairs: tuple[OfferedRepair, ...], book: RateBook) -> tuple[str, ...]:
    """The findings of a job that concern one of its repairs; the others are ignored."""
    return tuple([code for code in codes if concerns(book.findings[code], repairs)])


def _refuse_stopped(job: Job, concerned: tuple[str, ...], book: RateBook) -> None:
    stopping = [book.findings[code] for code in concerned if book.findings[code].stops]
    if stopping:
        raise JobRefused(tuple(_stopped(finding, job, book) for finding in stopping))


def _stopped(finding: Finding, job: Job, book: RateBook) -> Refusal:
    caution = book.cautions[finding.caution].text if finding.caution else None
    detail = f"{finding.title}: no work and no price while the device is like this"
    at = pointer("findings", job.findings.index(finding.code))
    return Refusal("stopped-by-finding", at, detail, caution=caution)


def _saves(choice: Choice) -> tuple[str, ...] | None:
    """A wish that cannot be met counts as a part here: it is refused once a step turns out to ask for it."""
    if choice.refusal:
        return ()
    return choice.part.saves if choice.part else None


def _refuse_unmet(choices: Iterable[Choice]) -> None:
    refusals = tuple([choice.refusal for choice in choices if choice.refusal])
    if refusals:
        raise JobRefused(refusals)


@remembered
def reachable_slots(book: RateBook, repairs: tuple[OfferedRepair, ...], findings: tuple[str, ...]) -> tuple[str, ...]:
    """Every slot that a step could ask for, whichever parts are fitted."""
    replaced = _replacements(book, findings)
    seen: dict[str, None] = {}
    waiting = [goal for goals in _goals(book, repairs, findings) for goal in goals]
    while waiting:
        code = replaced(waiting.pop())
        if code not in seen:
            seen[code] = None
            step = book.steps[code]
            waiting += [*step.needs, *([step.without_part] if step.without_part else [])]
    return tuple(dict.fromkeys(slot for code in seen if (slot := book.steps[code].slot)))


@remembered
def plan_of(
    book: RateBook,
    repairs: tuple[OfferedRepair, ...],
    findings: tuple[str, ...],
    slots: tuple[SlotState, ...],
) -> Plan:
    """Closure of the goals, with replacements, substitutes and savings; then owners and order."""
    goals = _goals(book, repairs, findings)
    saves = dict(slots)
    stand_in = _stand_ins(book, _replacements(book, findings), saves)
    before_saving = set().union(*(_closure(book, each, stand_in, frozenset()) for each in goals))
    asked = _slots_of(book, before_saving)
    saved = frozenset(step for slot in asked for step in saves[slot] or ())
    closures = [_closure(book, each, stand_in, saved) for each in goals]
    planned_repairs = _planned_repairs(book, repairs, findings)
    steps = _in_order(book, set().union(*closures), stand_in)
    place = {code: index for index, code in enumerate(steps)}
    return Plan(
        repairs=planned_repairs,
        findings=tuple(book.findings[code] for code in findings),
        steps=tuple(book.steps[code] for code in steps),
        owners=tuple(_owner(code, closures, planned_repairs) for code in steps),
        needs=tuple(_places(book.steps[code].needs, stand_in, place) for code in steps),
        asked=asked,
        filled=tuple(dict.fromkeys(slot for code in steps if (slot := book.steps[code].slot))),
    )


def _planned_repairs(
    book: RateBook, repairs: tuple[OfferedRepair, ...], findings: tuple[str, ...]
) -> tuple[PlannedRepair, ...]:
    found = [book.findings[code] for code in findings]
    return tuple(
        PlannedRepair(
            procedure=repair.procedure,
            slot=book.procedures[repair.procedure].slot,
            difficulty=book.difficulties[repair.difficulty],
            findings=tuple(finding for finding in found if concerns(finding, (repair,))),
        )
        for repair in repairs
    )


def _goals(book: RateBook, repairs: tuple[OfferedRepair, ...], findings: tuple[str, ...]) -> list[list[str]]:
    """Of each repair: its procedure's goals, the offer's extra steps, then what findings add.

    What a finding adds joins the first repair that it concerns.
    """
    goals = [[*book.procedures[repair.procedure].goals, *repair.extra_steps] for repair in repairs]
    for code in findings:
        finding = book.findings[code]
        first = next(index for index, repair in enumerate(repairs) if concerns(finding, (repair,)))
        goals[first] += finding.adds
    return goals


def _replacements(book: RateBook, findings: tuple[str, ...]) -> Callable[[str], str]:
    """Which step stands in for which because of the findings. The finding named first has the first word."""
    pairs: dict[str, str] = {}
    for code in findings:
        for old, new in book.findings[code].replaces:
            pairs.setdefault(old, new)

    def replaced(step: str) -> str:
        seen = {step}
        while step in pairs and pairs[step] not in seen:
            step = pairs[step]
            seen.add(step)
        return step

    return replaced


def _stand_ins(
    book: RateBook, replaced: Callable[[str], str], saves: Mapping[str, tuple[str, ...] | None]
) -> Callable[[str], str]:
    """The step that is really done: replaced by a finding, then by its substitute where its slot has no part."""

    def stand_in(code: str) -> str:
        seen: set[str] = set()
        while True:
            step = book.steps[replaced(code)]
            if step.slot is None or saves[step.slot] is not None:
                return step.code
            if step.without_part is None or step.code in seen:
                raise JobRefused((_part_required(step),))
            seen.add(step.code)
            code = step.without_part

    return stand_in


def _part_required(step: Step) -> Refusal:
    detail = f"the step {step.title!r} needs a part in the slot {step.slot!r}, and none is chosen or fits"
    return Refusal("part-required", pointer("parts", step.slot or ""), detail)


def _closure(book: RateBook, goals: Iterable[str], stand_in: Callable[[str], str], saved: frozenset[str]) -> set[str]:
    """The goals and all they need; a saved step is left out and brings nothing."""
    found: set[str] = set()
    waiting = list(goals)
    while waiting:
        code = stand_in(waiting.pop())
        if code not in found and code not in saved:
            found.add(code)
            waiting += book.steps[code].needs
    return found


def _slots_of(book: RateBook, codes: Iterable[str]) -> tuple[str, ...]:
    steps = sorted((book.steps[code] for code in codes), key=lambda step: step.rank)
    return tuple(dict.fromkeys(step.slot for step in steps if step.slot))


def _owner(code: str, closures: list[set[str]], repairs: tuple[PlannedRepair, ...]) -> int:
    """The repair of the highest difficulty among those that need the step; on a tie the first."""
    needing = [index for index, closure in enumerate(closures) if code in closure]
    return max(needing, key=lambda index: (repairs[index].difficulty.rank, -index))


def _places(codes: Iterable[str], stand_in: Callable[[str], str], place: Mapping[str, int]) -> tuple[int, ...]:
    """Where the steps that are needed stand in the plan; those that were saved are not in it."""
    needed = (stand_in(code) for code in codes)
    return tuple(sorted({place[code] for code in needed if code in place}))


def _in_order(book: RateBook, codes: set[str], stand_in: Callable[[str], str]) -> list[str]:
    """Every step after those it needs; among the free ones, the order of the table."""
    open_needs = {code: {need for raw in book.steps[code].needs if (need := stand_in(raw)) in codes} for code in codes}
    free = [(book.steps[code].rank, code) for code, needs in open_needs.items() if not needs]
    heapq.heapify(free)
    order: list[str] = []
    while free:
        _, done = heapq.heappop(free)
        order.append(done)
        for code, needs in open_needs.items():
            if done in needs:
                needs.discard(done)
                if not needs:
                    heapq.heappush(free, (book.steps[code].rank, code))
    if len(order) < len(codes):
        raise JobRefused((_circle(sorted(codes - set(order))),))
    return order


def _circle(steps: list[str]) -> Refusal:
    detail = f"with these findings, the steps {', '.join(steps)} wait for each other"
    return Refusal("steps-in-a-circle", "/findings", detail)
