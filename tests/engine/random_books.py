"""Small valid rate books and jobs for them, drawn by hypothesis. They make no sense for a shop; they are to be priced.

Steps need, and are stood in for by, earlier ones only, so that no circle is drawn except through what findings
replace: a book with such a circle is thrown away, a job with one is refused.
"""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from itertools import permutations
from typing import Any

from builders import a_job, a_part, a_raw_book, a_row, a_step, use
from hypothesis import assume
from hypothesis import strategies as st

from quoter.book import RateBook
from quoter.books.compile import compiled
from quoter.engine.consumables import BASES
from quoter.job import CUSTOMER_KINDS, URGENCIES, Job, Repair
from quoter.money import ROUNDING_MODES
from quoter.problems import BookFlawed
from quoter.quote import TAXED_KINDS

Rows = list[Mapping[str, Any]]

DEVICES = ("slate", "pebble")
SLOTS = ("battery", "seal")
GRADES = ("genuine", "compatible")
PROCEDURES = ("p0", "p1", "p2")
FINDINGS = ("f0", "f1", "f2")
DIFFICULTIES = ("d0", "d1")
TERMS = ("w0", "w1")
CAUTIONS = ("c0", "c1")


@dataclass(frozen=True)
class Priced:
    """A book's tables as drawn, the book that they make, and a job for it."""

    given: dict[str, Any]
    book: RateBook = field(repr=False)
    job: Job


@cache
def amounts(most: int = 99, places: int = 2) -> st.SearchStrategy[Decimal]:
    """Amounts, minutes, quantities and rates from 0."""
    return st.integers(0, most * 10**places).map(lambda number: Decimal(number).scaleb(-places))


@cache
def one_of(*choices: Any) -> st.SearchStrategy[Any]:
    """One of several values. Strategies are kept, as making them takes longer than drawing."""
    return st.sampled_from(choices)


@cache
def some(words: tuple[str, ...], most: int = 2) -> st.SearchStrategy[tuple[str, ...]]:
    """A few different words of several, in any order: one draw for all of them."""
    return st.sampled_from([chosen for size in range(most + 1) for chosen in permutations(words, size)])


def maybe(words: Iterable[str]) -> st.SearchStrategy[str]:
    """One of several words, or blank."""
    return one_of("", *words)


@st.composite
def steps(draw: Any) -> Rows:
    """Three to six steps; the order of the table need not be that of their needs."""
    rows: Rows = []
    for number in range(draw(one_of(3, 4, 5, 6))):
        earlier = tuple(row["code"] for row in rows)
        rows.append(
            a_step(
                f"s{number}",
                tuple(sorted(draw(amounts(30, 1)) for _ in range(3))),
                needs=" ".join(draw(some(earlier))),
                slot=draw(maybe(SLOTS)),
                without_part=draw(maybe(earlier)),
                dwell=draw(one_of(0, 0, 3, 20)),
                caution=draw(maybe(CAUTIONS)),
            )
        )
    first = draw(one_of(*range(len(rows))))
    return [*rows[first:], *rows[:first]]


@st.composite
def parts(draw: Any, codes: tuple[str, ...]) -> Rows:
    """Two parts for each slot, the first for every device."""
    return [
        a_part(
            f"{slot}-{number}",
            slot=slot,
            grade=draw(one_of(*GRADES)),
            devices=" ".join(DEVICES) if number == 0 else draw(one_of(*DEVICES)),
            cost=draw(amounts()),
            freight=draw(amounts(3)),
            currency=draw(maybe(["USD"])),
            saves=" ".join(draw(some(codes, 1))),
            warranty=draw(maybe(TERMS)),
            failure_rate=draw(amounts(1)),
        )
        for slot in SLOTS
        for number in range(2)
    ]


@st.composite
def findings(draw: Any, codes: tuple[str, ...]) -> Rows:
    """Three findings of every sort; the last may stop the job."""
    return [
        a_row(
            code,
            procedures=" ".join(draw(some(PROCEDURES))),
            time_factor=draw(one_of("", "0.8", "1.5")),
            affects=" ".join(draw(some(codes))),
            adds=" ".join(draw(some(codes, 1))),
            replaces=draw(replacement(codes)),
            stops=draw(one_of("", "", "", "yes")) if code == "f2" else "",
            charge=draw(amounts(20)),
            disposal=draw(amounts(5)),
            chance=draw(amounts(1)),
            consequence=draw(amounts()),
            emerges=draw(maybe(["yes"])),
            warranty=draw(maybe(TERMS)),
            caution=draw(maybe(CAUTIONS)),
        )
        for code in FINDINGS
    ]


@st.composite
def replacement(draw: Any, codes: tuple[str, ...]) -> str:
    """No pair or one, usually of a step by an earlier one."""
    old, new = draw(one_of(*codes)), draw(one_of(*codes))
    return f"{old}:{new}" if old > new or (old < new and draw(one_of(True, False, False))) else ""


@st.composite
def offers(draw: Any, codes: tuple[str, ...]) -> Rows:
    """The first procedure on both devices, the others on some."""
    return [
        {
            "device": device,
            "procedure": procedure,
            "difficulty": draw(maybe(DIFFICULTIES)),
            "extra_steps": " ".join(draw(some(codes, 1))),
        }
        for device in DEVICES
        for procedure in PROCEDURES
        if procedure == "p0" or draw(one_of(True, True, False))
    ]


@st.composite
def usages(draw: Any, codes: tuple[str, ...]) -> Rows:
    """What some steps use up of two consumables."""
    return [
        use(step, item, basis=draw(one_of(*BASES)), quantity=draw(amounts(9, 3)))
        for step in draw(some(codes))
        for item in draw(some(("tape", "wipe")))
    ]


@st.composite
def taxes(draw: Any) -> dict[str, Any]:
    """A profile of two codes with one or two components, in every stage and mode."""
    rates = {code: {name: draw(rate()) for name in draw(one_of("A", "AB"))} for code in "xy"}
    rule = {"when": draw(one_of("any_part", "part_share")), "above": "0.25", "lines": ["labour"], "code": "x"}
    return {
        "rates": {**rates, "nil": "0"},
        "lines": {kind: draw(one_of("x", "y")) for kind in TAXED_KINDS},
        "stage": draw(one_of("line", "rate", "document")),
        "mode": draw(one_of(*ROUNDING_MODES)),
        "combined": draw(one_of(True, False)),
        "display": draw(one_of("inclusive", "exclusive")),
        "reclass": draw(one_of((), (0,))) and [rule],
        "customers": {"exempt": {"code": "nil", "reason": "Exempt"}},
        "cash_increment": draw(maybe(["0.05", "1"])),
    }


def rate() -> st.SearchStrategy[Decimal]:
    """A rate of tax below 100 %, with up to five decimals."""
    return amounts(1, 5)


CHOICES = {
    "currency": ["EUR", "JPY", "KWD"],
    "labour.confidence": ["0.5", "0.8", "0.95"],
    "labour.allowance": ["0", "0.12"],
    "labour.increment_minutes": ["1", "5", "15"],
    "labour.bench_rate": ["0", "3.55"],
    "consumables.markup": ["0", "0.5"],
    "risk.loading": ["1", "1.25"],
    "policy.minimum_net": ["0", "60"],
    "policy.minimum_margin": ["0", "0.2"],
    "policy.price_ending.mode": ["none", "up", "down", "nearest"],
    "policy.price_ending.unit": ["0.5", "1", "5"],
    "policy.price_ending.minus": ["0", "0.01", "0.05"],
}
"""Settings that change prices."""

FIXED = {
    "fx": {"USD": "0.92"},
    "markup": [{"upto": 20, "rate": "1"}, {"upto": 60, "rate": "0.6"}, {"rate": "0.35"}],
    "difficulty": [a_row("d0", hourly_rate="40", time_factor="0.8"), a_row("d1", hourly_rate="70.5")],
    "devices": [a_row("slate"), a_row("pebble", width_mm=40, height_mm=40, corner_mm=20)],
    "consumables": [a_row("tape", pack_price="6.6", pack_size=33, waste="0.1"), a_row("wipe", increment=1)],
    "warranty": [a_row("w0", days=30), a_row("w1", days=90)],
    "cautions": [a_row("c0"), a_row("c1")],
}
"""What need not vary."""


@st.composite
def tables(draw: Any) -> dict[str, Any]:
    """What `a_raw_book` is given."""
    rows = draw(steps())
    codes = tuple(row["code"] for row in rows)
    asked = sorted({row["slot"] for row in rows if row["slot"]})
    return {
        **FIXED,
        "settings": {key: draw(one_of(*values)) for key, values in CHOICES.items()},
        "tax": draw(taxes()),
        "procedures": [
            a_row(
                code,
                goals=" ".join(draw(some(codes)) or codes[:1]),
                slot=draw(maybe(asked)),
                difficulty=draw(one_of(*DIFFICULTIES)),
                warranty=draw(maybe(TERMS)),
            )
            for code in PROCEDURES
        ],
        "offers": draw(offers(codes)),
        "steps": rows,
        "usage": draw(usages(codes)),
        "parts": draw(parts(codes)),
        "menu": [{"procedure": code, "net": draw(amounts())} for code in draw(some(("p0", "p1"), 1))],
        "findings": draw(findings(codes)),
    }


@st.composite
def repairs(draw: Any, book: RateBook, device: str, *, wishes: bool) -> list[Repair]:
    """One to three things that are offered for the device, some with a wish for a grade or a part that there is."""
    chosen = draw(some(tuple(book.offered[device]), 3)) or ("p0",)
    return [draw(repair(book, device, procedure)) if wishes else Repair(procedure) for procedure in chosen]


@st.composite
def repair(draw: Any, book: RateBook, device: str, procedure: str) -> Repair:
    """A procedure, with or without a wish."""
    slot = book.procedures[procedure].slot
    fitting = book.parts_for(device, slot) if slot else ()
    grades = [Repair(procedure, grade=part.grade) for part in fitting]
    return draw(one_of(Repair(procedure), *grades, *(Repair(procedure, part=part.sku) for part in fitting)))


@st.composite
def jobs(draw: Any, book: RateBook, *, wishes: bool = True, found: tuple[str, ...] = FINDINGS) -> Job:
    """A job that speaks the book's language; it may still have to be refused."""
    device = draw(one_of(*DEVICES))
    skus = {slot: (*(part.sku for part in book.parts_for(device, slot)), None) for slot in SLOTS}
    return a_job(
        device=device,
        repairs=draw(repairs(book, device, wishes=wishes)),
        parts={slot: draw(one_of(*skus[slot])) for slot in draw(some(SLOTS))},
        findings=draw(some(found, 3)),
        customer_kind=draw(one_of(*CUSTOMER_KINDS)),
        urgency=draw(one_of(*URGENCIES)),
        discount=draw(one_of(None, "0.1", "0.333")),
        date=dt.date(2000, 1, 1) + dt.timedelta(days=draw(one_of(0, 9999, 36500))),
    )


def book_of(given: Mapping[str, Any]) -> RateBook:
    """The book of drawn tables; a circle that a finding makes throws the example away, every other flaw fails."""
    try:
        return compiled(a_raw_book(**given))
    except BookFlawed as flawed:
        assume(not all("wait for each other" in flaw.message for flaw in flawed.flaws))
        raise


@st.composite
def priced(draw: Any, *, wishes: bool = True, found: tuple[str, ...] = FINDINGS, **changed: Any) -> Priced:
    """A book, with some tables or settings changed, and a job for it."""
    given = draw(tables())
    given |= {name: change(given[name]) for name, change in changed.items()}
    book = book_of(given)
    return Priced(given, book, draw(jobs(book, wishes=wishes, found=found)))
