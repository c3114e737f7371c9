"""Keys: made, shown once, recognised."""

import datetime as dt
import threading
import time
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from quoter.problems import Conflict, NotFound
from quoter.service.access.keys import OVERLAP, USE_NOTED_EVERY, Keyring
from quoter.service.clock import stamp
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


@pytest.fixture
def clock(keyring: Keyring) -> Clock:
    """That of the keyring."""
    assert isinstance(keyring.now, Clock)
    return keyring.now


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


SITES = ("https://shop.example", "https://old.shop.example:8443")
TICK = dt.timedelta(microseconds=1)


def test_a_key_may_be_made_until_a_moment(keyring: Keyring, clock: Clock):
    """Both sides of it."""
    presented, _ = keyring.new("x", "desk", until=NOW + dt.timedelta(hours=3))
    clock.now = NOW + dt.timedelta(hours=3) - TICK
    assert keyring.holder(presented) is not None
    clock.now += TICK
    assert keyring.holder(presented) is None


@pytest.mark.parametrize("scope", ["desk", "form", "owner"])
def test_a_rotated_key_is_what_the_old_one_was(keyring: Keyring, clock: Clock, scope: str):
    """Name, scope, economics, sites and for how long it is made; with a secret of its own, and not used yet."""
    sites = SITES if scope == "form" else ()
    _, old = keyring.new("Zoë", scope, sees_economics=True, days=30, origins=sites)
    keyring.note_use(old)
    clock.now += dt.timedelta(days=20)
    presented, new, _ = keyring.rotate(old.id)
    assert keyring.holder(presented) == new
    assert new == replace(
        old,
        id=new.id,
        secret_sha256=new.secret_sha256,
        created_at=stamp(clock.now),
        expires_at=stamp(clock.now + dt.timedelta(days=30)),
        replaces=old.id,
    )
    assert (new.id != old.id, new.secret_sha256 != old.secret_sha256) == (True, True)


def test_a_key_without_end_is_rotated_to_one_without_end(keyring: Keyring):
    """Unless somebody says otherwise."""
    assert keyring.rotate(keyring.new("x", "desk")[1].id)[1].expires_at is None
    until = NOW + dt.timedelta(days=3)
    assert keyring.rotate(keyring.new("x", "desk")[1].id, until=until)[1].expires_at == stamp(until)


@pytest.mark.parametrize("overlap", [dt.timedelta(0), dt.timedelta(hours=3), OVERLAP])
def test_the_old_key_ends_after_the_overlap(keyring: Keyring, clock: Clock, overlap: dt.timedelta):
    """Both count until then, and the new one alone from then on; with none, the old one ends at once."""
    old_presented, old = keyring.new("x", "desk")
    new_presented, _, ending = keyring.rotate(old.id, overlap=overlap)
    assert keyring.keys.find(old.id) == ending
    if overlap:
        clock.now = NOW + overlap - TICK
        assert keyring.holder(old_presented) is not None
        assert keyring.holder(new_presented) is not None
    clock.now = NOW + overlap
    assert keyring.holder(old_presented) is None
    assert keyring.holder(new_presented) is not None


def test_a_key_never_lasts_longer_for_being_rotated(keyring: Keyring, clock: Clock):
    """It ends when it would have."""
    presented, old = keyring.new("x", "desk", days=1)
    clock.now = NOW + dt.timedelta(hours=23)
    keyring.rotate(old.id)
    kept = keyring.keys.find(old.id)
    assert kept is not None
    assert kept.expires_at == old.expires_at
    clock.now = NOW + dt.timedelta(days=1)
    assert keyring.holder(presented) is None


def test_a_key_is_rotated_once(keyring: Keyring):
    """Then the one that took its place is; nothing is made by a second try."""
    _, old = keyring.new("x", "desk")
    _, new, _ = keyring.rotate(old.id)
    with pytest.raises(Conflict, match=old.id):
        keyring.rotate(old.id)
    assert len(keyring.keys.all()) == 2
    assert keyring.rotate(new.id)[1].replaces == new.id


def test_only_a_key_in_use_is_rotated_or_tied(keyring: Keyring, clock: Clock):
    """Not one that was revoked, is over, or never was."""
    _, revoked = keyring.new("x", "form", origins=SITES)
    keyring.revoke(revoked.id)
    _, expired = keyring.new("x", "form", days=1, origins=SITES)
    clock.now = NOW + dt.timedelta(days=1)
    for nothing in (revoked.id, expired.id, "none", ""):
        with pytest.raises(NotFound):
            keyring.rotate(nothing)
        with pytest.raises(NotFound):
            keyring.tie(nothing, SITES)
    assert len(keyring.keys.all()) == 2


def test_a_forms_key_is_tied_to_other_sites(keyring: Keyring):
    """To them alone, from then on."""
    presented, key = keyring.new("x", "form", origins=SITES)
    tied = keyring.tie(key.id, ["https://New.example:443"])
    assert tied.origins == ("https://new.example",)
    assert keyring.holder(presented) == tied
    assert [keyring.has_site(site) for site in (*SITES, "https://new.example")] == [False, False, True]


@pytest.mark.parametrize(("scope", "sites"), [("desk", SITES), ("owner", SITES), ("form", ())])
def test_no_other_key_is_tied_and_no_form_is_let_loose(keyring: Keyring, scope: str, sites: tuple[str, ...]):
    """Refused, and nothing changed."""
    _, key = keyring.new("x", scope, origins=SITES if scope == "form" else ())
    with pytest.raises(Conflict, match=key.id):
        keyring.tie(key.id, sites)
    assert keyring.keys.all() == [key]


def test_the_last_use_is_kept_to_some_minutes(keyring: Keyring, clock: Clock):
    """Not at every request: the first counts, and the next one that is so much later."""
    _, key = keyring.new("x", "desk")
    noted = []
    for after in (dt.timedelta(0), TICK, USE_NOTED_EVERY - TICK, USE_NOTED_EVERY, USE_NOTED_EVERY + TICK):
        clock.now = NOW + after
        found = keyring.keys.find(key.id)
        assert found is not None
        keyring.note_use(found)
        keyring.note_use(key)  # read before, by a request at the same time
        (kept,) = keyring.keys.all()
        noted.append(kept.last_used_at)
    assert noted == [stamp(NOW)] * 3 + [stamp(NOW + USE_NOTED_EVERY)] * 2


def test_a_use_that_cannot_be_kept_harms_nobody(tmp_path: Path):
    """While somebody else writes, nobody waits; the next use is kept."""
    with (
        closing(Store(tmp_path / "quoter.db", wait_seconds=30)) as store,
        closing(Store(tmp_path / "quoter.db")) as other,
    ):
        keyring = Keyring(Keys(store), Clock())
        _, key = keyring.new("x", "desk")
        begun = time.monotonic()
        with other.write():
            keyring.note_use(key)
            assert keyring.keys.all() == [key]
        assert time.monotonic() - begun < 25  # who waits for the other one waits for 30
        keyring.note_use(key)
        assert keyring.keys.all() == [replace(key, last_used_at=stamp(NOW))]


def test_who_writes_waits_as_before_after_a_use_was_left_out(tmp_path: Path):
    """Only that one statement is in no hurry to be kept."""
    with (
        closing(Store(tmp_path / "quoter.db", wait_seconds=30)) as store,
        closing(Store(tmp_path / "quoter.db")) as other,
    ):
        keyring = Keyring(Keys(store), Clock())
        _, key = keyring.new("x", "desk")
        with other.write():
            keyring.note_use(key)
        held = threading.Event()

        def hold() -> None:
            with other.write():
                held.set()
                time.sleep(0.3)

        thread = threading.Thread(target=hold)
        thread.start()
        held.wait()
        keyring.revoke(key.id)
        thread.join()
        assert keyring.keys.all()[0].revoked_at == stamp(NOW)
