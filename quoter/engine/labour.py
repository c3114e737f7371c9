"""Labour: expected and quoted minutes of each step, and what each repair is billed."""

from dataclasses import dataclass
from decimal import Decimal

from quoter.book import Policy, RateBook, Step
from quoter.engine.memory import remembered
from quoter.engine.plan import Plan, PlannedRepair
from quoter.messages import Message
from quoter.money import ONE, ZERO, rounded_up, settled
from quoter.quote import Cell, Charge, Derivation, Explanation, Working, shown


@dataclass(frozen=True, slots=True)
class Effort:
    """A step's work: its factor, its variance (in minutes²), and both kinds of minutes with allowance."""

    factor: Decimal
    variance: Decimal
    expected_minutes: Decimal
    quoted_minutes: Decimal


@dataclass(frozen=True, slots=True)
class Efforts:
    """The steps' efforts in plan order; `reserve` is z x sigma, the minutes that the confidence adds to the means."""

    steps: tuple[Effort, ...]
    variance: Decimal
    reserve: Decimal


def estimate(low: Decimal, likely: Decimal, high: Decimal, factor: Decimal = ONE) -> tuple[Decimal, Decimal]:
    """Beta-PERT mean F(low + 4 likely + high)/6 and variance (F(high - low)/6)², in minutes and minutes²."""
    spread = factor * (high - low) / 6
    return factor * (low + 4 * likely + high) / 6, spread * spread


def time_factor(step: Step, repair: PlannedRepair) -> Decimal:
    """The difficulty's factor times that of every finding that concerns the repair and affects the step."""
    factor = repair.difficulty.time_factor
    for finding in repair.findings:
        if not finding.affects or step.code in finding.affects:
            factor *= finding.time_factor
    return factor


@remembered
def efforts_of(book: RateBook, plan: Plan) -> Efforts:
    """A step's minutes are (1 + allowance)(e + z sigma v / sum of v), sigma the root of the plan's sum of v."""
    factors = [time_factor(step, plan.repairs[owner]) for step, owner in zip(plan.steps, plan.owners, strict=True)]
    estimates = [
        estimate(step.low, step.likely, step.high, factor) for step, factor in zip(plan.steps, factors, strict=True)
    ]
    total = sum((variance for _, variance in estimates), ZERO)
    reserve = book.policy.z * total.sqrt()
    paid = ONE + book.policy.allowance
    return Efforts(
        steps=tuple(
            Effort(factor, variance, paid * mean, paid * (mean + (reserve * variance / total if total else ZERO)))
            for factor, (mean, variance) in zip(factors, estimates, strict=True)
        ),
        variance=total,
        reserve=reserve,
    )


@remembered
def minutes_by_repair(book: RateBook, plan: Plan) -> tuple[Decimal, ...]:
    """Quoted minutes of each repair: the sum over the steps that it owns, unrounded."""
    minutes = [ZERO] * len(plan.repairs)
    for owner, effort in zip(plan.owners, efforts_of(book, plan).steps, strict=True):
        minutes[owner] += effort.quoted_minutes
    return tuple(minutes)


@remembered
def labour_charges(book: RateBook, plan: Plan) -> tuple[Charge, ...]:
    """One for each repair that owns a step."""
    minutes = minutes_by_repair(book, plan)
    return tuple(
        _labour_charge(book, plan, index, minutes[index]) for index in range(len(plan.repairs)) if index in plan.owners
    )


def _labour_charge(book: RateBook, plan: Plan, index: int, minutes: Decimal) -> Charge:
    """Billed in increments, rounded up; net = round(billed / 60 x hourly rate)."""
    repair = plan.repairs[index]
    policy, efforts = book.policy, efforts_of(book, plan)
    increment, rate = policy.increment_minutes, repair.difficulty.hourly_rate
    billed = rounded_up(minutes, increment)
    net = book.currency.round(billed / 60 * rate)

    def explanation() -> Explanation:
        total = " + ".join(shown(efforts.steps[place].quoted_minutes) for place in _owned(plan, index))
        up = f"up({shown(settled(minutes))} ÷ {shown(increment)}) × {shown(increment)}"
        working = (
            *_step_workings(policy, efforts, plan, index),
            Working("minutes", total, minutes),
            Working("billed minutes", up, billed),
            Working("net", f"round({shown(billed)} ÷ 60 × {shown(rate)})", net),
        )
        return tuple(_labour_cells(policy, plan, index)), working

    return Charge(
        kind="labour",
        ref=repair.procedure,
        description=Message("Labour: {procedure}", {"procedure": book.procedures[repair.procedure].title}),
        quantity=billed,
        unit="min",
        unit_price=rate / 60,
        net=net,
        cost=minutes / 60 * repair.difficulty.hourly_cost,
        because=Derivation("labour", explanation),
    )


def _owned(plan: Plan, index: int) -> list[int]:
    return [place for place, owner in enumerate(plan.owners) if owner == index]


def _step_workings(policy: Policy, efforts: Efforts, plan: Plan, index: int) -> list[Working]:
    """The plan's time reserve, then for each owned step its minutes: its mean and its share of the reserve."""
    paid, workings = shown(ONE + policy.allowance), list(reserve_workings(policy, efforts, plan))
    for place in _owned(plan, index):
        step, effort = plan.steps[place], efforts.steps[place]
        spans = f"{shown(step.low)} + 4 × {shown(step.likely)} + {shown(step.high)}"
        mean = f"{shown(effort.factor)} × ({spans}) ÷ 6"
        share = f" + {shown(efforts.reserve)} × {shown(effort.variance)} ÷ {shown(efforts.variance)}"
        formula = f"{paid} × ({mean}{share if efforts.variance else ''})"
        workings.append(Working(f"minutes of {step.code}", formula, effort.quoted_minutes))
    return workings


def reserve_workings(policy: Policy, efforts: Efforts, plan: Plan) -> tuple[Working, ...]:
    """How the reserve comes about: each uncertain step's variance, their sum, the quantile of the confidence."""
    if not efforts.variance:
        return ()
    uncertain = [pair for pair in zip(plan.steps, efforts.steps, strict=True) if pair[1].variance]
    return (
        *(
            Working(f"variance of {step.code}", _variance_formula(step, effort), effort.variance)
            for step, effort in uncertain
        ),
        Working(
            "variance of the plan", " + ".join(shown(effort.variance) for _, effort in uncertain), efforts.variance
        ),
        Working("standard normal quantile", f"quantile({shown(policy.confidence)})", policy.z),
        Working("time reserve of the plan", f"{shown(policy.z)} × root({shown(efforts.variance)})", efforts.reserve),
    )


def _variance_formula(step: Step, effort: Effort) -> str:
    spread = f"({shown(effort.factor)} × ({shown(step.high)} − {shown(step.low)}) ÷ 6)"
    return f"{spread} × {spread}"


def _labour_cells(policy: Policy, plan: Plan, index: int) -> list[Cell]:
    repair = plan.repairs[index]
    difficulty = repair.difficulty
    cells = [
        Cell("difficulty", difficulty.code, "time_factor", str(difficulty.time_factor)),
        Cell("difficulty", difficulty.code, "hourly_rate", str(difficulty.hourly_rate)),
        Cell("book", "labour", "confidence", str(policy.confidence)),
        Cell("book", "labour", "allowance", str(policy.allowance)),
        Cell("book", "labour", "increment_minutes", str(policy.increment_minutes)),
    ]
    cells += [
        Cell("findings", finding.code, "time_factor", str(finding.time_factor))
        for finding in repair.findings
        if finding.time_factor != ONE
    ]
    for place in _owned(plan, index):
        step = plan.steps[place]
        cells += [Cell("steps", step.code, column, str(getattr(step, column))) for column in ("low", "likely", "high")]
    return cells
