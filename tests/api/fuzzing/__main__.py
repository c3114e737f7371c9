"""Bad input for a long while: `python -m tests.api.fuzzing --examples 100`, or `make fuzz`."""

import argparse
import sys
import tempfile
import time
from pathlib import Path
from random import SystemRandom

from .afterwards import read_everything
from .runs import ALL_PHASES, SCOPES, Wish, fuzzed
from .serving import listening


def main() -> int:
    """Shows how it goes; 1 where an answer was not as described, or something half was kept."""
    parser = argparse.ArgumentParser(prog="python -m tests.api.fuzzing", description=__doc__)
    parser.add_argument("--examples", type=int, default=100, help="of each operation, for each scope")
    parser.add_argument("--seed", type=int, default=SystemRandom().randrange(10**6), help="of all dice")
    parser.add_argument(
        "--scope", choices=SCOPES, action="append", help="whose key is sent; all in turn if none is named"
    )
    options = parser.parse_args()
    print(f"seed {options.seed}: make fuzz EXAMPLES={options.examples} SEED={options.seed} does the same", flush=True)
    began, failed = time.monotonic(), []
    with tempfile.TemporaryDirectory() as folder, listening(Path(folder)) as running:
        for scope in options.scope or SCOPES:
            print(f"\n== key: {scope}, {time.monotonic() - began:.0f} s", flush=True)
            wish = Wish(scope, ALL_PHASES, options.examples, options.examples, options.seed)
            if fuzzed(running, wish, Path(folder)).status != 0:
                failed.append(scope)
            print(f"what is kept can be read: {read_everything(running.service)}", flush=True)
    print(f"{time.monotonic() - began:.0f} s, seed {options.seed}: {', '.join(failed) or 'nothing'} failed", flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
