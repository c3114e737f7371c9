"""Risk and disposal: what a finding costs beyond its extra work."""

from decimal import Decimal

from quoter.book import Finding, RateBook
from quoter.engine.memory import remembered
from quoter.engine.plan import Plan
from quoter.messages import Message
from quoter.money import ZERO
from quoter.quote import Cell, Charge, Derivation, Working, shown


def expected_loss(finding: Finding) -> Decimal:
    """chance x consequence, without any loading."""
    return finding.chance * finding.consequence


@remembered
def risk_charges(book: RateBook, plan: Plan) -> tuple[Charge, ...]:
    """For each finding that concerns a repair charge + loading x chance x consequence, where above zero."""
    return tuple(_risk_charge(book, finding) for finding in plan.findings if _surcharge(book, finding) > ZERO)


@remembered
def disposal_charges(book: RateBook, plan: Plan) -> tuple[Charge, ...]:
    """For each such finding its disposal, where above zero."""
    return tuple(_disposal_charge(book, finding) for finding in plan.findings if finding.disposal > ZERO)


def _surcharge(book: RateBook, finding: Finding) -> Decimal:
    return finding.charge + book.policy.risk_loading * expected_loss(finding)


def _risk_charge(book: RateBook, finding: Finding) -> Charge:
    net = book.currency.round(_surcharge(book, finding))
    loading = book.policy.risk_loading
    formula = (
        f"round({shown(finding.charge)} + {shown(loading)} × {shown(finding.chance)} × {shown(finding.consequence)})"
    )
    columns = ("charge", "chance", "consequence")
    return Charge(
        kind="risk",
        ref=finding.code,
        description=Message("Risk: {finding}", {"finding": finding.title}),
        net=net,
        because=Derivation.of(
            "risk",
            (*_cells(finding, columns), Cell("book", "risk", "loading", str(loading))),
            (Working("net", formula, net),),
        ),
    )


def _disposal_charge(book: RateBook, finding: Finding) -> Charge:
    net = book.currency.round(finding.disposal)
    return Charge(
        kind="disposal",
        ref=finding.code,
        description=Message("Disposal: {finding}", {"finding": finding.title}),
        net=net,
        cost=finding.disposal,
        because=Derivation.of(
            "disposal",
            _cells(finding, ("disposal",)),
            (Working("net", f"round({shown(finding.disposal)})", net),),
        ),
    )


def _cells(finding: Finding, columns: tuple[str, ...]) -> tuple[Cell, ...]:
    return tuple(Cell("findings", finding.code, column, str(getattr(finding, column))) for column in columns)
