"""Keys at rest."""

from dataclasses import replace

import pytest

from quoter.store.database import Store
from quoter.store.keys import Keys

from .records import AT, KEY

LATER = "2026-03-03T09:30:00.000000Z"


@pytest.mark.parametrize(
    "key",
    [
        KEY,
        replace(KEY, sees_economics=True, scope="owner"),
        replace(KEY, expires_at=LATER, revoked_at=AT, name="Zoë 電"),
    ],
)
def test_a_key_reads_back_as_it_was_given(store: Store, key: object):
    """Yes and no as such, nothing as nothing."""
    Keys(store).add(key)
    assert Keys(store).find(KEY.id) == key
    assert Keys(store).all() == [key]


def test_keys_are_listed_oldest_first(store: Store):
    """Whatever their ids."""
    keys = Keys(store)
    for number, at in (("b", LATER), ("a", LATER), ("c", AT)):
        keys.add(replace(KEY, id=number, created_at=at))
    assert [key.id for key in keys.all()] == ["c", "a", "b"]


def test_a_key_is_ended_once(store: Store):
    """A second time, or an unknown one: no."""
    keys = Keys(store)
    keys.add(KEY)
    assert keys.revoke(KEY.id, LATER)
    assert not keys.revoke(KEY.id, AT)
    assert not keys.revoke("none", AT)
    assert keys.find(KEY.id) == replace(KEY, revoked_at=LATER)
    assert keys.find("none") is None
