"""Issues a quote and is killed meanwhile: python -m tests.api.dying DATABASE KEY NAME MOMENT

The service looks at its clock several times while it answers; at that one of these moments (1 is the first) the process
is killed as by `kill -9`. It lives, and prints the status of the answer, where there are fewer.
"""

import datetime as dt
import os
import signal
import sys
from pathlib import Path

from quoter.app import create_app
from quoter.config import Settings
from quoter.service.clock import utc_now

from .running import BATTERY


def main(database: str, key: str, name: str, moment: str) -> None:
    """One request."""
    left: list[int] = []

    def clock() -> dt.datetime:
        if left:
            left[0] -= 1
            if left[0] == 0:
                os.kill(os.getpid(), signal.SIGKILL)
        return utc_now()

    app = create_app(Settings(database=Path(database)), now=clock)
    left.append(int(moment))
    headers = {"Authorization": f"Bearer {key}", "Idempotency-Key": name}
    with app.test_client() as client, client.post("/v1/quotes", json=BATTERY, headers=headers) as response:
        print(response.status_code)


if __name__ == "__main__":
    main(*sys.argv[1:])
