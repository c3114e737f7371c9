"""Keys: made, shown once, recognised."""

import datetime as dt
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from quoter.problems import NotFound
from quoter.service.keys import Keyring
from quoter.store.database import Store
from quoter.store.keys import Keys

NOW = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)


class Clock:
    """Stands at `now`."""

    now = NOW

    def __call__(self) -> dt.datetime:
        """The moment."""
        return self.now


@pytest.fixture
def keyring(tmp_path: Path) -> Iterator[Keyring]:
    """A keyring over a database file."""
    with closing(Store(tmp_path / "quoter.db")) as store:
        yield Keyring(Keys(store), Clock())


def test_a_secret_is_shown_once_and_kept_nowhere(keyring: Keyring, tmp_path: Path):
    """The database has its hash; neither the file nor its log has the secret."""
    presented, key = keyring.new("front desk", "desk")
    secret = presented.removeprefix(f"quoter_{key.id}_").encode()
    assert len(secret) == 43  # 32 bytes in base64url
    kept = b"".join(path.read_bytes() for path in tmp_path.iterdir())
    assert key.secret_sha256.encode() in kept
    assert secret not in kept


def test_a_key_is_recognised_by_all_of_it(keyring: Keyring):
    """Its holder, and nobody who has only a part of it."""
    presented, key = keyring.new("front desk", "desk")
    assert keyring.holder(presented) == key
    for wrong in (presented[:-1], presented + "x", presented.replace("quoter", "other"), key.id, key.secret_sha256, ""):
        assert keyring.holder(wrong) is None


def test_no_two_keys_are_alike(keyring: Keyring):
    """Neither their ids nor their secrets."""
    made = [keyring.new("same", "desk") for _ in range(50)]
    assert len({key.id for _, key in made}) == len({key.secret_sha256 for _, key in made}) == 50


@pytest.mark.parametrize(
    ("scope", "asked", "sees"),
    [
        ("desk", False, False),
        ("desk", True, True),
        ("form", False, False),
        ("form", True, False),
        ("owner", False, True),
        ("owner", True, True),
    ],
)
def test_economics_are_seen_by_owners_and_by_the_desk_that_may(keyring: Keyring, scope: str, asked: bool, sees: bool):
    """Never by the web form."""
    origins = ["https://shop.example"] if scope == "form" else []
    assert keyring.new("x", scope, sees_economics=asked, origins=origins)[1].sees_economics is sees


def test_a_key_counts_until_its_last_moment(tmp_path: Path):
    """A day is 24 hours."""
    clock = Clock()
    with closing(Store(tmp_path / "quoter.db")) as store:
        keyring = Keyring(Keys(store), clock)
        presented, key = keyring.new("x", "desk", days=1)
        clock.now = NOW + dt.timedelta(days=1) - dt.timedelta(microseconds=1)
        assert keyring.holder(presented) == key
        clock.now = NOW + dt.timedelta(days=1)
        assert keyring.holder(presented) is None


def test_only_a_key_in_use_can_be_ended(keyring: Keyring):
    """Once; whoever mistypes the id is told."""
    presented, key = keyring.new("x", "desk")
    keyring.revoke(key.id)
    assert keyring.holder(presented) is None
    for nothing in (key.id, "none"):
        with pytest.raises(NotFound, match=nothing):
            keyring.revoke(nothing)


@pytest.mark.parametrize(
    ("scope", "origins"), [("form", []), ("desk", ["https://shop.example"]), ("owner", ["https://a.example"])]
)
def test_a_forms_key_and_no_other_is_tied_to_origins(keyring: Keyring, scope: str, origins: list[str]):
    """Anything else is a fault of the caller, and makes no key."""
    with pytest.raises(ValueError, match="origin"):
        keyring.new("x", scope, origins=origins)
    assert keyring.keys.all() == []


def test_origins_are_kept_as_browsers_write_them(keyring: Keyring):
    """Each once."""
    _, key = keyring.new("x", "form", origins=["https://B.example:443", "https://b.example", "https://a.example"])
    assert key.origins == ("https://b.example", "https://a.example")
    assert keyring.keys.find(key.id) == key
