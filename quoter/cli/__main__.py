"""`python -m quoter.cli`."""

import sys

from quoter.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
