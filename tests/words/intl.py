"""The same texts by another implementation, ECMA-402 in Node: recorded, and asked anew where there is one.

After a change of the tables: `cd tests && python -m words.intl` records again.
"""

import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

from .tables import AMOUNTS, DAYS, DIGITS, INSTANTS, LOCALES, NUMBERS, QUANTITIES, RATES, in_currency

HERE = Path(__file__).parent
RECORDING = HERE / "intl_recorded.json"

UNITS = {"m": "meter", "ml": "milliliter", "g": "gram", "h": "hour", "min": "minute", "day": "day"}
"""ECMA-402's names; it has no square metres."""

HOURS_AND_MINUTES = ((1, 5), (2, 30), (26, 1))

Answers = dict[str, Any]


def questions() -> dict[str, Any]:
    """The whole table, in the terms of intl.mjs."""
    money = [[code, digits, [str(in_currency(a, code)) for a in AMOUNTS]] for code, digits in DIGITS.items()]
    return {
        "locales": LOCALES,
        "money": money,
        "rates": [str(rate) for rate in RATES],
        "numbers": [str(number) for number in NUMBERS],
        "quantities": [str(quantity) for quantity in QUANTITIES],
        "units": list(UNITS.values()),
        "minutes": HOURS_AND_MINUTES,
        "days": [day.isoformat() for day in DAYS],
        "instants": [instant.isoformat() for instant in INSTANTS],
    }


def asked(node: str) -> Answers:
    """What this Node answers, all in one process."""
    command = [node, str(HERE / "intl.mjs")]
    done = subprocess.run(command, input=json.dumps(questions()).encode(), capture_output=True, check=True)
    answers: Answers = json.loads(done.stdout)
    return answers


def locale_data_of(node: str) -> str:
    """The version of the CLDR that this Node was built with."""
    done = subprocess.run([node, "-p", "process.versions.cldr"], capture_output=True, check=True)
    return done.stdout.decode().strip()


def recorded() -> Answers:
    """What the Node answered whose versions stand in the recording."""
    answers: Answers = json.loads(RECORDING.read_text(encoding="utf-8"))
    return answers


def record() -> None:
    """Writes the recording anew, a locale a line."""
    node = shutil.which("node")
    if node is None:
        raise SystemExit("there is no node to ask")
    answers = asked(node)
    rows = [f"{json.dumps(tag)}: {json.dumps(texts)}" for tag, texts in answers["texts"].items()]
    head = f'{{"versions": {json.dumps(answers["versions"])}, "texts": {{'
    RECORDING.write_text("\n".join([head, ",\n".join(rows), "}}", ""]), encoding="utf-8")


if __name__ == "__main__":
    record()
