"""The lines that are priced from the plan, from part to disposal, before anything is adjusted."""

from quoter.book import RateBook
from quoter.engine.bench import bench_charges
from quoter.engine.consumables import consumable_charges
from quoter.engine.labour import labour_charges
from quoter.engine.parts import part_charges
from quoter.engine.plan import PlannedJob
from quoter.engine.risk import disposal_charges, risk_charges
from quoter.quote import Charge


def work_charges(work: PlannedJob, book: RateBook) -> list[Charge]:
    """Part, consumable, labour, bench, risk and disposal, in this order."""
    return [
        *part_charges(work.parts, book),
        *consumable_charges(work.device, work.plan, book),
        *labour_charges(book, work.plan),
        *bench_charges(book, work.plan),
        *risk_charges(book, work.plan),
        *disposal_charges(book, work.plan),
    ]
