"""Whether the path of the database still leads to the file that is open, and on what kind of disk it is.

SQLite goes on with a file that was deleted or moved as long as it is open (https://sqlite.org/howtocorrupt.html, 2.4):
what is written then is gone with the process.
"""

import os
from pathlib import Path

from quoter.problems import Unavailable

MOUNTS = Path("/proc/self/mounts")
"""Where Linux says which file systems are mounted where; elsewhere nothing is known."""

OF_A_NETWORK = {"nfs", "nfs4", "cifs", "smb3", "smbfs", "9p", "afs", "ceph", "fuse.sshfs", "fuse.glusterfs"}
"""Locks and shared memory of SQLite's write-ahead log do not reach beyond one machine, https://sqlite.org/wal.html."""

Identity = tuple[tuple[int, int], ...]


class Place:
    """The path of an open database, and which file and log were there when it was opened."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._files = (path, path.with_name(f"{path.name}-wal"))
        self._identity: Identity | None = None

    def take(self) -> None:
        """Remembers what is there: from now on it must be that."""
        self._identity = self._found()

    def forget(self) -> None:
        """Whatever is there may be opened."""
        self._identity = None

    def check(self) -> None:
        """Raises Unavailable where the file or its log has been deleted, moved or replaced since."""
        if self._identity is not None and self._identity != self._found():
            detail = "another file is at the place of the database; stop the service, and start it with the right one"
            raise Unavailable(str(self.path), detail)

    def _found(self) -> Identity:
        try:
            return tuple((found.st_dev, found.st_ino) for found in map(os.stat, self._files))
        except OSError as error:
            detail = f"the file of the database is not to be found any more ({error.filename}: {error.strerror})"
            raise Unavailable(str(self.path), detail) from None


def network_of(path: Path, mounts: Path = MOUNTS) -> str | None:
    """The kind of network file system that a path is on, as far as the system tells; None where it is on none."""
    kinds = dict(_mounted(mounts))
    place = path.absolute().resolve()
    kind = next((kinds[str(each)] for each in (place, *place.parents) if str(each) in kinds), "")
    return kind if kind in OF_A_NETWORK else None


def _mounted(mounts: Path) -> list[tuple[str, str]]:
    """Folders with the kind of what is mounted there, the last one counts; blanks are written as \\040, fstab(5)."""
    try:
        lines = mounts.read_text().splitlines()
    except OSError:
        return []
    fields = (line.split(" ") for line in lines)
    return [(each[1].encode().decode("unicode_escape"), each[2]) for each in fields if len(each) > 2]
