"""What is done to the price after the work is priced: menu, express, discount, minimum, price ending.

Each rule reads the lines so far and gives the lines to add; a line whose net is zero is left out.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal

from quoter.book import MenuPrice, PriceEnding, RateBook
from quoter.engine.plan import PlannedJob, planned
from quoter.engine.tax import Amount, TaxRules, net_by_code, tax_on_sums, tax_total
from quoter.engine.work import work_charges
from quoter.job import Job
from quoter.messages import Message
from quoter.money import ONE, ZERO
from quoter.problems import JobRefused
from quoter.quote import Cell, Charge, Derivation, Explanation, Line, Working, shown

MENU_KINDS = ("part", "consumable", "labour", "bench")


@dataclass(frozen=True, slots=True)
class Pricing:
    """What an adjustment may look at beside the lines so far."""

    job: Job
    book: RateBook
    work: PlannedJob
    codes: Mapping[str, str]
    rules: TaxRules


def adjusted(lines: list[Line], pricing: Pricing) -> list[Line]:
    """The lines of the work with every adjustment, in the order of the rules."""
    for rule in (menu_lines, express_lines, discount_lines, minimum_lines, ending_lines):
        more = rule(lines, pricing)
        if more:
            lines = lines + [line for line in more if line.charge.net]
    return lines


def amounts_of(lines: list[Line]) -> list[Amount]:
    """Tax code and net of each line."""
    return [(line.tax_code, line.charge.net) for line in lines]


def net_of(lines: list[Line]) -> Decimal:
    """The sum of the nets."""
    return sum([line.charge.net for line in lines], ZERO)


def _line(kind: str, words: Message, net: Decimal, code: str, because: Derivation, ref: str = "") -> Line:
    return Line(Charge(kind=kind, ref=ref, description=words, net=net, because=because), code)


def menu_lines(lines: list[Line], pricing: Pricing) -> list[Line]:
    """The menu's net less part, consumable, labour and bench of the same job without findings.

    So the repair costs what the menu says, and what a finding adds is still charged.
    """
    price = menu_price(pricing)
    plain = _plain_charges(pricing) if price else None
    if price is None or plain is None:
        return []
    net = pricing.book.currency.round(price.net) - sum((charge.net for charge in plain), ZERO)
    row = " ".join(filter(None, (price.device, price.procedure, price.grade)))
    formula = " − ".join((f"round({shown(price.net)})", *(shown(charge.net) for charge in plain)))
    because = Derivation.of("menu", (Cell("menu", row, "net", str(price.net)),), (Working("net", formula, net),))
    return [_line("menu", Message("Menu price"), net, pricing.codes["labour"], because)]


def menu_price(pricing: Pricing) -> MenuPrice | None:
    """The first row for this device, procedure and grade of the main part (blank: any), if it is the only repair."""
    if len(pricing.job.repairs) != 1:
        return None
    rows = pricing.book.menu_by_repair.get((pricing.job.device, pricing.job.repairs[0].procedure))
    if not rows:
        return None
    part = pricing.work.main_part(pricing.work.plan.repairs[0])
    grade = part.grade if part else None
    return next((row for row in rows if row.grade in (None, grade)), None)


def _plain_charges(pricing: Pricing) -> list[Charge] | None:
    """The work without findings; None where it could not be done without what the findings change."""
    try:
        plain = planned(replace(pricing.job, findings=()), pricing.book)
    except JobRefused:
        return None
    return [charge for charge in work_charges(plain, pricing.book) if charge.kind in MENU_KINDS]


def express_lines(lines: list[Line], pricing: Pricing) -> list[Line]:
    """round(express rate x the sum of labour nets), where urgency is express."""
    if pricing.job.urgency != "express":
        return []
    labour = [line.charge.net for line in lines if line.charge.kind == "labour"]
    rate = pricing.book.policy.express_rate
    net = pricing.book.currency.round(rate * sum(labour, ZERO))
    formula = f"round({shown(rate)} × ({' + '.join(map(shown, labour)) or '0'}))"
    because = Derivation.of(
        "express", (Cell("book", "policy", "express_rate", str(rate)),), (Working("net", formula, net),)
    )
    return [_line("express", Message("Express"), net, pricing.codes["labour"], because)]


def discount_lines(lines: list[Line], pricing: Pricing) -> list[Line]:
    """For each tax code on the lines so far -round(rate x their sum): a discount over mixed rates is split by rate."""
    discount = pricing.job.discount
    if discount is None:
        return []
    return [
        _discount_line(code, total, discount.rate, pricing) for code, total in net_by_code(amounts_of(lines)).items()
    ]


def _discount_line(code: str, total: Decimal, rate: Decimal, pricing: Pricing) -> Line:
    net = -pricing.book.currency.round(rate * total)
    working = Working("net", f"−round({shown(rate)} × {shown(total)})", net)
    because = Derivation.of("discount", (Cell("job", "discount", "rate", str(rate)),), (working,))
    return _line("discount", Message("Discount"), net, code, because, ref=code)


def minimum_lines(lines: list[Line], pricing: Pricing) -> list[Line]:
    """What brings the sum of nets up to the minimum."""
    minimum, total = pricing.book.policy.minimum_net, net_of(lines)
    if total >= minimum:
        return []
    net = pricing.book.currency.round(minimum - total)
    working = Working("net", f"round({shown(minimum)} − {shown(total)})", net)
    because = Derivation.of("minimum", (Cell("book", "policy", "minimum_net", str(minimum)),), (working,))
    return [_line("minimum", Message("Minimum charge"), net, pricing.codes["labour"], because)]


def ending_lines(lines: list[Line], pricing: Pricing) -> list[Line]:
    """What makes a consumer's inclusive price end as the owner wants it, or as close as tax rounding lets it."""
    ending = pricing.book.policy.price_ending
    shows_gross = pricing.book.tax.display == "inclusive" and pricing.job.customer_kind == "consumer"
    if ending.mode == "none" or not shows_gross:
        return []
    amounts, before = amounts_of(lines), net_of(lines)
    gross = before + tax_total(amounts, pricing.rules)
    wanted = wanted_gross(gross, ending)
    if wanted is None or wanted == gross:
        return []
    code = pricing.codes["labour"]
    net, reached = closest(gross, wanted, amounts, code, pricing.rules)

    def explanation() -> Explanation:
        return _ending_cells(ending), tuple(_ending_workings(before, gross, net, reached, ending))

    return [_line("ending", Message("Price ending"), net, code, Derivation("ending", explanation))]


def _ending_cells(ending: PriceEnding) -> tuple[Cell, ...]:
    columns = (("mode", ending.mode), ("unit", str(ending.unit)), ("minus", str(ending.minus)))
    return tuple(Cell("book", "policy.price_ending", column, value) for column, value in columns)


def _ending_workings(
    before: Decimal, gross: Decimal, net: Decimal, reached: Decimal, ending: PriceEnding
) -> Iterator[Working]:
    """The tax before and with the line stands in the quote's own tax rows; the net is the one that comes closest."""
    wanted = wanted_gross(gross, ending)
    tax = reached - before - net
    yield Working("gross before", f"{shown(before)} + {shown(gross - before)}", gross)
    if wanted is not None:
        yield Working("price wanted", _wanted_formula(wanted, ending), wanted)
    yield Working("tax with the line", f"{shown(reached)} − {shown(before + net)}", tax)
    yield Working("net", shown(net), net)
    yield Working("gross reached", f"{shown(before)} + {shown(net)} + {shown(tax)}", reached)


_ENDING_ROUNDINGS = {"up": ROUND_CEILING, "down": ROUND_FLOOR, "nearest": ROUND_HALF_UP}


def wanted_gross(gross: Decimal, ending: PriceEnding) -> Decimal | None:
    """k x unit - minus: up, the smallest not below gross; down, the largest not above; nearest, the higher on a tie.

    None where that is below zero: a shop does not pay to end a price prettily.
    """
    steps = (gross + ending.minus) / ending.unit
    wanted = steps.to_integral_value(_ENDING_ROUNDINGS[ending.mode]) * ending.unit - ending.minus
    return wanted if wanted >= ZERO else None


def _wanted_formula(wanted: Decimal, ending: PriceEnding) -> str:
    steps = (wanted + ending.minus) / ending.unit
    return f"{shown(steps)} × {shown(ending.unit)} − {shown(ending.minus)}"


def closest(
    gross: Decimal, wanted: Decimal, amounts: list[Amount], code: str, rules: TaxRules
) -> tuple[Decimal, Decimal]:
    """The net under `code` that brings gross closest to what is wanted, and the gross that it reaches.

    Gross rises with every minor unit of net, so the two nets around the wanted gross are the candidates; on a
    tie the smaller change wins.
    """
    touched = _taxed_with(code, amounts, rules)
    before, own = gross - tax_on_sums(touched, rules), touched.get(code, ZERO)

    def reached(net: Decimal) -> Decimal:
        return before + net + tax_on_sums({**touched, code: own + net}, rules)

    rate = sum([rate for _, rate in rules.rates[code]], ZERO)
    above = ((wanted - gross) / (ONE + rate)).quantize(rules.unit, ROUND_HALF_UP)
    while (at := reached(above)) < wanted:
        above += rules.unit
    while at > wanted:
        below = above - rules.unit
        under = reached(below)
        if under < wanted:
            return min((above, at), (below, under), key=lambda each: (abs(each[1] - wanted), abs(each[0])))
        above, at = below, under
    return above, at


def _taxed_with(code: str, amounts: list[Amount], rules: TaxRules) -> dict[str, Decimal]:
    """The sums by code whose tax is rounded together with that of another line under the code."""
    if rules.stage == "line":
        return {}
    if rules.stage == "document":
        return net_by_code(amounts)
    return {code: sum([net for other, net in amounts if other == code], ZERO)}
