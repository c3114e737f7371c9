"""From the start of the process to the first priced job, on the command line and by the service."""

import json
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from benchmarks.clock import Subject, interleaved
from benchmarks.figures import Figure, Section, in_unit, ratio
from benchmarks.scale import Scale
from benchmarks.served import new_key, posted, service

ROOT = Path(__file__).parents[1]
BOOK = ROOT / "rates" / "ballyquarn"
JOB = {"device": "kessoway-5", "repairs": [{"procedure": "screen"}, {"procedure": "battery"}]}

SERVED = "quoter serve with rates/ballyquarn, its first price over HTTP"
PRICED, PYTHON = "quoter price on rates/ballyquarn", "Python that does nothing"


def start(scale: Scale) -> Section:
    """The files are in the system's cache, as after the first start of a day."""
    with TemporaryDirectory() as folder:
        job = Path(folder) / "job.json"
        job.write_text(json.dumps(JOB), encoding="utf-8")
        database = Path(folder) / "quoter.db"
        with service(BOOK, database):
            key = new_key(database)
        subjects = {
            PYTHON: Subject(lambda: _run("-c", "pass")),
            PRICED: Subject(lambda: _run("-m", "quoter.cli", "price", "--book", str(BOOK), str(job))),
            SERVED: Subject(lambda: _first_served(database, key)),
        }
        took = interleaved(subjects, scale.starts)
    best = Figure(f"{PRICED}, best", "ms", (min(took[PRICED]) * 1000,))
    return Section(
        "Start: process start to first priced job",
        (
            in_unit(PRICED, took[PRICED], "ms", "under 500 ms"),
            best,
            in_unit(SERVED, took[SERVED], "ms"),
            in_unit(PYTHON, took[PYTHON], "ms"),
            ratio("priced ÷ nothing", took[PRICED], took[PYTHON]),
            ratio("served ÷ nothing", took[SERVED], took[PYTHON]),
        ),
        (f"{scale.starts} starts of each, in turn.",),
    )


def _run(*arguments: str) -> None:
    subprocess.run([sys.executable, *arguments], cwd=ROOT, stdout=subprocess.DEVNULL, check=True)


def _first_served(database: Path, key: str) -> None:
    """The end of the service counts, too."""
    with service(BOOK, database) as ours:
        posted(ours.port, "/v1/prices", json.dumps(JOB).encode(), key)
