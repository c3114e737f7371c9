"""What the system is told to bring onto the disk before an answer leaves."""

import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from .processes import callers, serving
from .test_full_disk import quote

QUOTES = 10

SYNCED = re.compile(r"\b(?:fsync|fdatasync)\(\d+<[^>]*-wal>\)\s*=\s*0|(?:fsync|fdatasync) resumed>.*= 0")
ANSWERED = re.compile(r"\bsend(?:to|msg)\(.*HTTP/1\.1 201")


def calls(trace: Path) -> Iterator[str]:
    """Syncs of the log and acknowledgements in the order in which they happened."""
    for line in trace.read_text(errors="replace").splitlines():
        if SYNCED.search(line):
            yield "synced"
        elif ANSWERED.search(line):
            yield "answered"


def can_trace() -> bool:
    """Whether there is a tracer, and this user may trace."""
    if sys.platform != "linux" or shutil.which("strace") is None:
        return False
    return subprocess.run(["strace", "-o", "/dev/null", "true"], capture_output=True, check=False).returncode == 0


@pytest.mark.skipif(not can_trace(), reason="there is no strace, or it may not trace")
def test_the_log_is_synced_before_every_acknowledgement(tmp_path: Path):
    """At least one fdatasync or fsync of the write-ahead log between any two answers that say 201.

    That is what synchronous=FULL means, sqlite.org/pragma.html#pragma_synchronous.
    """
    database, trace = tmp_path / "quoter.db", tmp_path / "trace"
    desk = callers(database)["desk"]
    tracer = ("strace", "-f", "-y", "-s", "64", "-e", "trace=fsync,fdatasync,sendto,sendmsg", "-o", str(trace))
    with serving(database, *tracer) as service:
        for number in range(QUOTES):
            assert service.ask(quote(desk, f"traced-{number}")).status == 201
    seen = " ".join(calls(trace))
    assert seen.count("answered") == QUOTES
    assert "answered answered" not in seen
    assert seen.startswith("synced")
