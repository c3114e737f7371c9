"""What is costly to make is made once."""

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest

from quoter.service.made_once import MadeOnce


def test_a_thing_is_made_once_and_then_kept():
    """By key."""
    things: MadeOnce[str] = MadeOnce(2)
    assert things.kept("a") is None
    assert things.get("a", lambda: "first") == "first"
    assert things.get("a", lambda: "second") == "first"
    assert things.kept("a") == "first"


def test_who_asks_while_it_is_made_waits_for_the_same():
    """Of eight at once, one makes it; the others come back only when it is done."""
    things: MadeOnce[object] = MadeOnce(2)
    begun, go_on, made = threading.Event(), threading.Event(), []

    def make() -> object:
        begun.set()
        assert go_on.wait(60)
        made.append(object())
        return made[-1]

    with ThreadPoolExecutor(8) as pool:
        asked = [pool.submit(things.get, "a", make) for _ in range(8)]
        assert begun.wait(60)
        assert things.get("b", lambda: "other") == "other", "another key does not wait"
        assert not any(each.done() for each in asked)
        go_on.set()
        assert {id(each.result(60)) for each in asked} == {id(made[0])}
    assert len(made) == 1


def test_what_cannot_be_made_is_tried_again():
    """The refusal reaches who asked, and nothing of it is kept."""
    things: MadeOnce[str] = MadeOnce(2)

    def refuse() -> str:
        raise ValueError("not today")

    with pytest.raises(ValueError, match="not today"):
        things.get("a", refuse)
    assert things.get("a", lambda: "made") == "made"


def test_what_was_used_longest_ago_is_forgotten_first():
    """When there is no more room."""
    things: MadeOnce[str] = MadeOnce(6, len)
    for key in ("aa", "bb", "cc"):
        things.get(key, lambda key=key: key)  # type: ignore[misc]
    things.get("aa", lambda: "made again")
    things.get("dd", lambda: "dd")
    assert [things.kept(key) for key in ("aa", "bb", "cc", "dd")] == ["aa", None, "cc", "dd"]


def test_what_has_no_room_at_all_is_handed_over_all_the_same():
    """And pushes out nothing for long."""
    things: MadeOnce[str] = MadeOnce(3, len)
    assert things.get("a", lambda: "too large") == "too large"
    assert things.kept("a") is None
