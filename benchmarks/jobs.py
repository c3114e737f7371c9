"""The jobs that are timed."""

import datetime as dt

from quoter.job import Job, Repair

DATE = dt.date(2026, 3, 2)


def two_repairs(device: str) -> Job:
    """Two repairs and two findings; two more findings may emerge, and both parts come in another grade."""
    repairs = (Repair("screen", "compatible"), Repair("battery", "genuine"))
    return _consumers_job(device, repairs, ("swollen-cell", "cracked-back"))


def one_repair(device: str, procedure: str, grade: str) -> Job:
    """An entry of the price list as a job."""
    return _consumers_job(device, (Repair(procedure, grade),))


def _consumers_job(device: str, repairs: tuple[Repair, ...], findings: tuple[str, ...] = ()) -> Job:
    return Job(
        device=device,
        repairs=repairs,
        date=DATE,
        parts={},
        findings=findings,
        customer_kind="consumer",
        urgency="standard",
        discount=None,
        payment="other",
        locale="en-IE",
    )
