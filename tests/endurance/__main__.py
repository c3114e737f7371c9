"""Kills the service again and again: `python -m tests.endurance --rounds 200`, or `make endure`."""

import argparse
import sys
import tempfile
import time
from pathlib import Path
from random import SystemRandom

from .rounds import Broken, Rounds


def main() -> int:
    """Prints how it goes, and at the end a summary; 1 where something acknowledged was lost, doubled or halved."""
    parser = argparse.ArgumentParser(prog="python -m tests.endurance", description=__doc__)
    parser.add_argument("--rounds", type=int, default=200, help="how often the service is killed")
    parser.add_argument("--seed", type=int, default=SystemRandom().randrange(10**6), help="of all dice")
    options = parser.parse_args()
    print(f"seed {options.seed} (moments of other processes are not in its power)", flush=True)
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        try:
            tally = Rounds(Path(folder), options.seed).run(options.rounds, lambda line: print(line, flush=True))
        except Broken as broken:
            print(f"BROKEN, seed {options.seed}:\n{broken}", flush=True)
            return 1
    print(f"Nothing lost, doubled or halved in {options.rounds} rounds, {time.monotonic() - began:.0f} s:")
    for what, count in sorted(tally.items()):
        print(f"{count:8} {what}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
