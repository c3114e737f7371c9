"""A disk that fills up under a running service, and is emptied again: no half quote, no restart."""

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

import pytest

from .found import differences, faults, opened, times
from .processes import Process, callers, serving
from .wishes import Caller, Told, Wish

JOB = {"device": "kessoway-5", "repairs": [{"procedure": "battery"}]}
LEFT_BYTES = 400_000
"""Room for a few quotes, with the answers that are kept."""


def quote(caller: Caller, mark: str) -> Wish:
    """A quote to be issued."""
    body = JOB | {"contact": {"name": mark}}
    return Wish(mark=mark, kind="issue", caller=caller, path="/v1/quotes", body=body, is_named=True)


def issued(service: Process, wishes: list[Wish]) -> list[Wish]:
    """Asked for by three at a time, each with its answer."""
    with ThreadPoolExecutor(3) as pool:
        for wish, told in zip(wishes, pool.map(service.ask, wishes), strict=True):
            wish.told = told
    return wishes


def check_refused(told: Told) -> None:
    """RFC 9110, section 15.6.4: unavailable, and when to come back; RFC 9457: a problem."""
    assert (told.status, told.headers["Retry-After"]) == (503, "10"), told
    assert told.headers["Content-Type"] == "application/problem+json"
    assert told.document["type"] == "/problems/unavailable"


def check_goes_on(service: Process, database: Path, desk: Caller, make_room: Callable[[], object]) -> None:
    """Quotes until nothing fits in, then room, then the same quotes again; nothing is lost, doubled or halved."""
    wishes = issued(service, [quote(desk, f"filling-{number}") for number in range(24)])
    done = [wish for wish in wishes if wish.told and wish.told.status == 201]
    refused = [wish for wish in wishes if wish not in done]
    assert done
    assert len(refused) > 3
    for wish in refused:
        assert wish.told
        check_refused(wish.told)
    first = done[0].told
    assert first
    assert service.get(desk, f"/v1/quotes/{first.document['id']}").status == 200
    with opened(database) as found:
        assert [times(found, wish) for wish in wishes] == [int(wish in done) for wish in wishes]
    make_room()
    for wish in issued(service, refused):
        assert wish.told
        assert wish.told.status == 201
    with opened(database) as found:
        assert faults(found) == []
        assert [each for wish in wishes if wish.told for each in differences(found, wish, wish.told)] == []
    assert "Traceback" not in service.said()


@contextmanager
def small_disk(folder: Path) -> Iterator[Path]:
    """A file system of its own with 48 MB. Skips where this user may not mount one."""
    folder.mkdir()
    done = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=48m", "tmpfs", folder], capture_output=True, check=False)
    if done.returncode:
        pytest.skip("only an administrator may mount a file system")
    try:
        yield folder
    finally:
        subprocess.run(["umount", folder], check=True)


@pytest.mark.skipif(sys.platform != "linux" or os.getuid() != 0, reason="mounts a file system, as Linux has them")
def test_a_disk_that_fills_up_and_is_emptied(tmp_path: Path):
    """It says so where one asks whether it is ready, and is ready again by itself; also a start finds its way then."""
    with small_disk(tmp_path / "disk") as disk:
        database, ballast = disk / "quoter.db", disk / "ballast"
        desk = callers(database)["desk"]
        with serving(database) as service:
            assert service.get(desk, "/readyz").status == 200
            free = os.statvfs(disk)
            ballast.write_bytes(bytes(free.f_bavail * free.f_bsize - LEFT_BYTES))

            def make_room() -> None:
                check_refused(service.get(desk, "/readyz"))
                assert service.get(desk, "/healthz").status == 200
                ballast.unlink()
                assert service.get(desk, "/readyz").status == 200

            check_goes_on(service, database, desk, make_room)
            service.kill()
        with opened(database) as found:
            assert faults(found) == []


@pytest.mark.skipif(sys.platform != "linux", reason="limits of another process, as Linux has them")
def test_a_file_that_may_not_grow(tmp_path: Path):
    """As by a quota: another error of the system (EFBIG, not ENOSPC), and nothing else that is different."""
    import resource

    database = tmp_path / "quoter.db"
    desk = callers(database)["desk"]
    with serving(database) as service:
        log = database.with_name(f"{database.name}-wal")
        unlimited = resource.prlimit(service.pid, resource.RLIMIT_FSIZE)
        largest = log.stat().st_size + LEFT_BYTES
        resource.prlimit(service.pid, resource.RLIMIT_FSIZE, (largest, unlimited[1]))
        check_goes_on(service, database, desk, lambda: resource.prlimit(service.pid, resource.RLIMIT_FSIZE, unlimited))
