"""The path of the database: whether it still leads to the file that is open, and onto which kind of disk."""

from collections.abc import Callable
from pathlib import Path

import pytest

from quoter.problems import Unavailable
from quoter.store.database import Store
from quoter.store.place import network_of

COUNT = "insert into counters (name, value) values ('{}', 1)"


def keep(store: Store, name: str) -> None:
    """Writes something."""
    with store.write() as database:
        database.execute(COUNT.format(name))


def put_another_there(path: Path) -> None:
    """What somebody does who copies a file over it in the way that editors save."""
    path.rename(path.with_name("away"))
    path.write_bytes(path.with_name("away").read_bytes())


MISHAPS: dict[str, tuple[Callable[[Path], object], str]] = {
    "deleted": (Path.unlink, "not to be found any more"),
    "moved": (lambda path: path.rename(path.with_name("elsewhere")), "not to be found any more"),
    "replaced": (put_another_there, "another file is at the place"),
    "log deleted": (lambda path: path.with_name(f"{path.name}-wal").unlink(), "not to be found any more"),
}


@pytest.mark.parametrize("mishap", MISHAPS)
def test_nothing_is_written_into_a_file_that_is_gone(store: Store, mishap: str):
    """SQLite would go on, and all of it would be lost with the process; reading goes on."""
    keep(store, "before")
    happen, said = MISHAPS[mishap]
    happen(store.path)
    with pytest.raises(Unavailable, match=said):
        keep(store, "lost")
    with pytest.raises(Unavailable, match=said), store.as_one():
        keep(store, "lost too")
    with pytest.raises(Unavailable, match=said):
        store.check_usable()
    assert store.rows("select name from counters") == [{"name": "before"}]


def test_a_file_that_comes_back_is_written_to_again(store: Store):
    """Without a new start: it is the one that is open."""
    keep(store, "before")
    store.path.rename(store.path.with_name("elsewhere"))
    with pytest.raises(Unavailable):
        keep(store, "lost")
    store.path.with_name("elsewhere").rename(store.path)
    store.check_usable()
    keep(store, "after")
    assert [row["name"] for row in store.rows("select name from counters")] == ["after", "before"]


def test_a_store_that_was_closed_opens_what_is_there(store: Store):
    """The log beside it ends with the last connection, and another begins with the next."""
    keep(store, "before")
    store.close()
    keep(store, "after")
    assert len(store.rows("select name from counters")) == 2


MOUNTED = """\
/dev/vda / ext4 rw 0 0
shelf:/export /mnt/shelf nfs4 rw 0 0
//shelf/shop /mnt/front\\040desk cifs rw 0 0
/dev/vdb /mnt/shelf/disk xfs rw 0 0
overlay /srv ext4 rw 0 0
shelf:/srv /srv nfs rw 0 0
"""


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/var/quoter.db", None),
        ("/mnt/shelf/quoter.db", "nfs4"),
        ("/mnt/front desk/shop/quoter.db", "cifs"),
        ("/mnt/shelf/disk/quoter.db", None),
        ("/mnt/shelfish/quoter.db", None),
        ("/srv/quoter.db", "nfs"),
    ],
)
def test_which_file_system_a_path_is_on(tmp_path: Path, path: str, kind: str | None):
    """The innermost folder that something is mounted on counts, and of several mounts there the last, fstab(5)."""
    (tmp_path / "mounts").write_text(MOUNTED)
    assert network_of(Path(path), tmp_path / "mounts") == kind


def test_where_the_system_does_not_tell(tmp_path: Path):
    """As on a system without /proc."""
    assert network_of(tmp_path, tmp_path / "none") is None
