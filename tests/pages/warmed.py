"""What the nursery reads before anything begins: it imports this, and each process begins with what it knows then."""

from tests.demo_books import RATES, known, read_once

read_once()
known(RATES / "ballyquarn", RATES / "peddrick-mills")
