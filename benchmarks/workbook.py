"""The price list as an owner would keep it in a spreadsheet: a row an entry, its inputs beside its formulas.

Formulas cannot make a plan, so a row starts from the sums of its steps and of what they use, as if somebody had worked
them out by hand. No cell is looked up in another table. Both favour the spreadsheet.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from decimal import Decimal
from itertools import groupby
from pathlib import Path

from benchmarks.bare import BareJob, BareRates
from benchmarks.bare_job import bare_job
from benchmarks.jobs import one_repair
from benchmarks.opendocument import Cell, write_sheet
from quoter.book import Consumable, RateBook, Usage
from quoter.engine.consumables import uses_of
from quoter.engine.labour import estimate
from quoter.engine.plan import planned
from quoter.job import Job
from quoter.money import ZERO

BASE_FORMULAS = {
    "each": "1",
    "perimeter": "(2*({width}+{height})-8*{corner}+2*PI()*{corner})/1000",
    "long_sides": "2*(MAX({width};{height})-2*{corner})/1000",
    "short_sides": "2*(MIN({width};{height})-2*{corner})/1000",
    "area": "({width}*{height}-(4-PI())*{corner}*{corner})/1000000",
}
"""The name of a column in braces stands for its cell in the same row."""

PLACES = (0, 1)
"""Of the parts of one repair: its own and a seal."""

Entry = tuple[str, str, str]
"""Device, procedure, grade."""

Uses = Collection[tuple[str, str]]
"""The consumables that the list uses, each with its bases."""


def write_workbook(book: RateBook, entries: Sequence[Entry], file: Path) -> int:
    """Writes the list, and says how many formulas a row of it has. The last column is the price."""
    jobs = [one_repair(*entry) for entry in entries]
    used = {(row.consumable, row.basis) for job in jobs for row in _uses(job, book)}
    formulas = formulas_of(book, used, bare_job(jobs[0], book).rates)
    write_sheet(file, (inputs_of(book, used, job) for job in jobs), formulas)
    return len(formulas)


def inputs_of(book: RateBook, used: Uses, job: Job) -> dict[str, Cell]:
    """What a row starts from, by the name of its column; the same columns in every row."""
    numbers = bare_job(job, book)
    estimates = [estimate(step.low, step.likely, step.high, step.factors[0]) for step in numbers.steps]
    return {
        "device": job.device,
        "procedure": job.repairs[0].procedure,
        "grade": str(job.repairs[0].grade),
        **dict(zip(("width", "height", "corner"), numbers.size, strict=True)),
        **_part_inputs(numbers),
        "mean": sum((mean for mean, _ in estimates), ZERO),
        "variance": sum((variance for _, variance in estimates), ZERO),
        "dwell": sum((step.dwell for step in numbers.steps), ZERO),
        "hourly": numbers.hourly_rates[0],
        **_use_inputs(job, used, book),
    }


def _part_inputs(numbers: BareJob) -> dict[str, Cell]:
    inputs: dict[str, Cell] = {}
    for place in PLACES:
        part = numbers.parts[place] if place < len(numbers.parts) else (ZERO, ZERO, ZERO)
        inputs |= zip((f"cost {place}", f"fx {place}", f"freight {place}"), part, strict=True)
    return inputs


def _use_inputs(job: Job, used: Uses, book: RateBook) -> dict[str, Decimal]:
    """How much of a consumable is used for one of a basis, by `_use`."""
    inputs = {_use(*pair): ZERO for pair in sorted(used)}
    for row in _uses(job, book):
        inputs[_use(row.consumable, row.basis)] += row.quantity
    return inputs


def _uses(job: Job, book: RateBook) -> Iterator[Usage]:
    for _, rows in uses_of(book, planned(job, book).plan):
        yield from (book.usage[place] for place in rows)


def _use(consumable: str, basis: str) -> str:
    return f"{consumable} for {basis}"


def formulas_of(book: RateBook, used: Uses, rates: BareRates) -> dict[str, str]:
    """What a row works out, by the name of its column."""
    consumables = {
        code: _consumable(book.consumables[code], [basis for _, basis in pairs], rates)
        for code, pairs in groupby(sorted(used), key=lambda pair: pair[0])
    }
    goods = [*(f"part {place}" for place in PLACES), *consumables]
    tax = f"ROUND({{goods}}*{rates.tax_rates[0]};2)+ROUND({{work}}*{rates.tax_rates[1]};2)"
    minutes = f"(1+{rates.allowance})*({{mean}}+{rates.z}*SQRT({{variance}}))"
    return {
        **{basis: formula for basis, formula in BASE_FORMULAS.items() if basis != "each"},
        **{f"landed {place}": f"{{cost {place}}}*{{fx {place}}}+{{freight {place}}}" for place in PLACES},
        **{f"part {place}": f"ROUND({_marked_up(f'{{landed {place}}}', rates)};2)" for place in PLACES},
        **consumables,
        "labour": f"ROUND({_rounded_up(minutes, rates.increment_minutes)}/60*{{hourly}};2)",
        "bench": f"ROUND({{dwell}}/60*{rates.bench_rate};2)",
        "goods": "+".join(f"{{{name}}}" for name in goods),
        "work": "{labour}+{bench}",
        "gross": "{goods}+{work}+" + tax,
        "wanted": _wanted(rates),
        "ending": f"ROUND(({{wanted}}-{{gross}})/(1+{rates.tax_rates[1]});2)",
        "price": "{goods}+{work}+{ending}+" + tax.replace("{work}", "({work}+{ending})"),
    }


def _consumable(item: Consumable, bases: Iterable[str], rates: BareRates) -> str:
    amounts = (f"{{{_use(item.code, basis)}}}*{{{basis}}}" for basis in bases)
    needed = f"({'+'.join(amounts)})/(1-{item.waste})".replace("*{each}", "")
    billed = f"ROUND({needed};6)" if item.increment is None else _rounded_up(needed, item.increment)
    return f"ROUND({billed}*{item.pack_price}/{item.pack_size}*(1+{rates.consumables_markup});2)"


def _rounded_up(value: str, step: Decimal) -> str:
    return f"CEILING(ROUND({value};6);{step})"


def _marked_up(landed: str, rates: BareRates) -> str:
    """landed + the rate of each band on the slice of landed that is inside it."""
    slices, lower = [landed], ZERO
    for upto, rate in rates.bands:
        top = landed if upto is None else f"MIN({landed};{upto})"
        slices.append(f"{rate}*MAX(0;{top}-{lower})")
        lower = upto or lower
    return "+".join(slices)


def _wanted(rates: BareRates) -> str:
    return f"CEILING(ROUND({{gross}}+{rates.ending_minus};2);{rates.ending_unit})-{rates.ending_minus}"
