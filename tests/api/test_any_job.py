"""Any JSON near the shape of a job has a price, or problems that name places in it."""

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from .running import Service

JOB = {
    "device": "kessoway-5",
    "repairs": [{"procedure": "battery", "grade": "genuine"}],
    "parts": {"battery": None},
    "findings": ["swollen-cell"],
    "customer": {"kind": "consumer"},
    "urgency": "express",
    "discount": {"rate": "0.05", "reason": "regular"},
    "date": "2026-03-02",
}
SCALARS = st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.floats(allow_nan=False, allow_infinity=False)
TEXTS = st.sampled_from(["", "screen", "kessoway-4", "9" * 400, "\0", "a/b~c", "-1", "0000-00-00"]) | st.text(
    max_size=5
)
VALUES = st.recursive(
    SCALARS | TEXTS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3),
    max_leaves=5,
)


@st.composite
def spoilt(draw: Any, document: Any) -> Any:
    """The document with another value, or one more or less, in one of its places."""
    if isinstance(document, dict) and document and draw(st.integers(0, 3)):
        key = draw(st.sampled_from([*document, "other"]))
        if key in document and not draw(st.integers(0, 5)):
            return {name: value for name, value in document.items() if name != key}
        return {**document, key: draw(spoilt(document.get(key)))}
    if isinstance(document, list) and document and draw(st.integers(0, 3)):
        return [draw(spoilt(document[0])), *document[1:]]
    return draw(VALUES)


def leads_somewhere(document: Any, pointer: str) -> bool:
    """Whether an RFC 6901 pointer leads to what is there, or to what is missing from an object that is there."""
    words = [word.replace("~1", "/").replace("~0", "~") for word in pointer.split("/")[1:]]
    for place, word in enumerate(words):
        if isinstance(document, dict) and word not in document:
            return place == len(words) - 1
        if not isinstance(document, dict | list):
            return False
        document = document[int(word)] if isinstance(document, list) else document[word]
    return True


@given(job=spoilt(JOB).flatmap(lambda job: spoilt(job) | st.just(job)))
def test_a_job_of_any_shape_has_a_price_or_problems_at_its_places(shared: Service, job: Any):
    """Each problem points at what was sent, or at what was not. A list is judged job by job, with a place in each."""
    if isinstance(job, list):
        job = {"device": job}
    reply = shared.caller("owner").post("/v1/prices", job)
    assert reply.status in (200, 422), reply.text[:300]
    for error in reply.body.get("errors", ()):
        assert leads_somewhere(job, error["pointer"]), (job, error)


def test_a_pointer_to_nowhere_is_noticed():
    """The check above can fail."""
    assert not leads_somewhere(JOB, "/customer/kind/name")
    assert not leads_somewhere(JOB, "/nothing/here")
