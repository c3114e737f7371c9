"""Keys at rest."""

from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, suppress
from dataclasses import replace

import pytest

from quoter.store.database import MOST_REMEMBERED, Store
from quoter.store.keys import Keys

from .records import AT, KEY

LATER = "2026-03-03T09:30:00.000000Z"


@pytest.mark.parametrize(
    "key",
    [
        KEY,
        replace(KEY, sees_economics=True, scope="owner"),
        replace(KEY, expires_at=LATER, revoked_at=AT, name="Zoë 電"),
        replace(
            KEY, scope="form", origins=("https://shop.example", "https://b.example"), last_used_at=AT, replaces="x"
        ),
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


def test_a_key_that_others_end_is_ended_at_once(store: Store):
    """Whoever ends it: this connection, another thread's, another program's; one that is new counts, too."""
    keys = Keys(store)
    assert keys.find(KEY.id) is None
    with ThreadPoolExecutor(1) as other:
        other.submit(keys.add, KEY).result()
        assert keys.find(KEY.id) == keys.find(KEY.id) == KEY
        with closing(Store(store.path)) as program:
            Keys(program).tie(KEY.id, ("https://shop.example",))
        assert keys.find(KEY.id) == replace(KEY, origins=("https://shop.example",))
        assert other.submit(keys.revoke, KEY.id, AT).result()
    assert keys.find(KEY.id) == replace(KEY, origins=("https://shop.example",), revoked_at=AT)
    keys.remove(KEY.id)
    assert keys.find(KEY.id) is None


def test_what_was_undone_is_not_remembered(store: Store):
    """Within a transaction a key is ended, and afterwards it is not."""
    keys = Keys(store)
    keys.add(KEY)
    with suppress(ZeroDivisionError), store.write():
        keys.revoke(KEY.id, AT)
        assert keys.find(KEY.id) == replace(KEY, revoked_at=AT)
        raise ZeroDivisionError
    assert keys.find(KEY.id) == KEY


def test_a_key_is_not_asked_for_twice(store: Store):
    """As long as nobody writes; of ids that nobody has, no more are remembered than there is room for."""
    keys, asked = Keys(store), []
    keys.add(KEY)
    keys.find(KEY.id)
    store._database().conn.set_trace_callback(asked.append)
    keys.find(KEY.id)
    assert asked == ["pragma data_version"]
    for number in range(3 * MOST_REMEMBERED):
        keys.find(str(number))
        assert len(store.remembered()) <= MOST_REMEMBERED


def test_a_key_takes_the_place_of_another_once(store: Store):
    """Together with the end of the old one, which is never put off."""
    keys = Keys(store)
    keys.add(replace(KEY, expires_at=AT))
    new = replace(KEY, id="new", replaces=KEY.id)
    assert keys.replace(new, LATER)
    assert keys.find(KEY.id) == replace(KEY, expires_at=AT)
    assert not keys.replace(replace(new, id="newer"), AT)
    assert keys.find("newer") is None
    assert keys.find("new") == new


def test_sites_are_those_of_forms_that_count(store: Store):
    """Whole ones."""
    keys = Keys(store)
    form = replace(KEY, scope="form", expires_at=LATER)
    keys.add(replace(form, id="1", origins=("https://a.example", "https://b.example")))
    keys.add(replace(form, id="2", origins=("https://revoked.example",), revoked_at=AT))
    keys.add(replace(form, id="3", scope="desk", origins=("https://desk.example",)))
    asked = ("a", "b", "revoked", "desk", "c")
    assert [keys.has_site(f"https://{name}.example", AT) for name in asked] == [True, True, False, False, False]
    assert not keys.has_site("https://a.example https://b.example", AT)
    assert not keys.has_site("https://a", AT)
    assert not keys.has_site("https://a.example", LATER)
