"""Sessions: begun with a key, renewed, ended; by a clock that is set."""

import datetime as dt
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from quoter.service.access.keys import Keyring
from quoter.service.access.sessions import LASTS, OLD_TOKEN_LASTS, RENEWED_AFTER, SignIn
from quoter.store.database import Store
from quoter.store.keys import Keys
from quoter.store.sessions import Sessions

TICK = dt.timedelta(microseconds=1)


class Door:
    """Where one signs in."""

    def __init__(self, store: Store) -> None:
        self.now = dt.datetime(2026, 3, 2, 9, 30, tzinfo=dt.UTC)
        self.store, keys = store, Keys(store)
        self.keyring = Keyring(keys, lambda: self.now)
        self.sign_in = SignIn(Sessions(store), keys, self.keyring, lambda: self.now)
        self.presented, self.key = self.keyring.new("the owner", "owner")

    def begun(self) -> str:
        """The token of a new session."""
        begun = self.sign_in.begin(self.presented)
        assert begun is not None
        return begun[0]

    def renewed(self, token: str) -> str | None:
        """The token that takes its place, if it is time."""
        found = self.sign_in.holder(token)
        assert found is not None
        renewed = self.sign_in.renewed(token, found[1])
        return renewed[0] if renewed else None


@pytest.fixture
def door(tmp_path: Path) -> Iterator[Door]:
    """Over a database file."""
    with closing(Store(tmp_path / "quoter.db")) as store:
        yield Door(store)


def test_a_key_is_exchanged_for_a_session(door: Door):
    """Which stands for the key, and is kept only as a hash."""
    token = door.begun()
    found = door.sign_in.holder(token)
    assert found is not None
    assert found[0].name == "the owner"
    assert token not in str(door.store.rows("select * from sessions"))
    assert door.presented not in str(door.store.rows("select * from sessions"))


@pytest.mark.parametrize("presented", ["", "quoter_000000000000_x", "é", "x" * 10_000, "Bearer x"])
def test_what_is_no_key_begins_no_session(door: Door, presented: str):
    """Nor is anything kept."""
    assert door.sign_in.begin(presented) is None
    assert door.store.rows("select * from sessions") == []


@pytest.mark.parametrize("token", ["", "x", "é\udc80".encode(errors="replace").decode(), "x" * 100_000])
def test_what_is_no_token_is_nobodys(door: Door, token: str):
    """Whatever it is."""
    door.begun()
    assert door.sign_in.holder(token) is None


@pytest.mark.parametrize(("after", "counts"), [(LASTS - TICK, True), (LASTS, False)])
def test_a_session_ends_by_itself(door: Door, after: dt.timedelta, counts: bool):
    """Both sides of its end."""
    token = door.begun()
    door.now += after
    assert (door.sign_in.holder(token) is not None) is counts


@pytest.mark.parametrize(("after", "renewed"), [(RENEWED_AFTER - TICK, False), (RENEWED_AFTER, True)])
def test_a_session_is_renewed_after_a_while(door: Door, after: dt.timedelta, renewed: bool):
    """Not at every page."""
    token = door.begun()
    door.now += after
    assert (door.renewed(token) is not None) is renewed


@pytest.mark.parametrize(("after", "counts"), [(OLD_TOKEN_LASTS - TICK, True), (OLD_TOKEN_LASTS, False)])
def test_the_old_token_counts_a_minute_longer(door: Door, after: dt.timedelta, counts: bool):
    """For requests under way; the new one goes on, with a token against forgery of its own."""
    old = door.begun()
    door.now += RENEWED_AFTER
    new = door.renewed(old)
    assert new is not None
    first, second = door.sign_in.holder(old), door.sign_in.holder(new)
    assert first is not None
    assert second is not None
    assert first[1].csrf != second[1].csrf
    door.now += after
    assert (door.sign_in.holder(old) is not None) is counts
    assert door.sign_in.holder(new) is not None


def test_a_second_renewal_does_not_make_the_old_token_last_longer(door: Door):
    """Two tabs may ask at once."""
    old = door.begun()
    door.now += RENEWED_AFTER
    door.renewed(old)
    door.now += OLD_TOKEN_LASTS - TICK
    door.renewed(old)
    door.now += TICK
    assert door.sign_in.holder(old) is None


def test_who_signs_out_is_out(door: Door):
    """At once; other sessions stay."""
    token, other = door.begun(), door.begun()
    door.sign_in.end(token)
    assert door.sign_in.holder(token) is None
    assert door.sign_in.holder(other) is not None


def test_a_session_ends_with_its_key(door: Door):
    """However long it would have lasted."""
    token = door.begun()
    door.keyring.revoke(door.key.id)
    assert door.sign_in.holder(token) is None
    assert door.sign_in.begin(door.presented) is None


def test_sessions_that_are_over_are_forgotten(door: Door):
    """When the next begins."""
    door.begun()
    door.now += LASTS + TICK
    door.begun()
    assert len(door.store.rows("select * from sessions")) == 1


def test_a_forms_key_begins_no_session(door: Door):
    """It is public: anybody could sign in with it."""
    presented, key = door.keyring.new("form", "form", origins=["https://shop.example"])
    assert door.sign_in.begin(presented) is None
    assert door.sign_in.begin_for(key.id) is None
    assert door.store.rows("select * from sessions") == []
