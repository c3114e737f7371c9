"""Jobs that were priced last are at hand, and nothing is told of them that would not be worked out anew."""

from collections.abc import Iterator
from pathlib import Path

import orjson
import pytest

from quoter.api.prices.document import HIDDEN_FROM, document, kept_document
from quoter.engine.compose import quote_for
from quoter.job import job_data
from quoter.records.results import Result, made_of
from quoter.service.quotes.priced import PricedJobs
from quoter.service.quotes.snapshot import snapshot

from .desk import DESK, Desk, a_desk


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """A desk with an empty database."""
    with a_desk(tmp_path) as opened:
        yield opened


def test_a_job_is_priced_once(desk: Desk):
    """Whoever asks the same again, by a job of their own, gets the same thing."""
    jobs, published = PricedJobs(), desk.quoting.shelf.named(None)
    first = jobs.get(desk.job(), published)
    assert jobs.get(desk.job(), published) is first
    assert first.result == snapshot(quote_for(desk.job(), published.book), published.book)
    assert first.job == job_data(desk.job())


def test_what_is_written_otherwise_is_another_job(desk: Desk):
    """0.10 and 0.1 cost the same, but a quote shows what was written."""
    jobs, published = PricedJobs(), desk.quoting.shelf.named(None)
    for rate in ("0.1", "0.10"):
        job = desk.job(discount={"rate": rate, "reason": ""})
        assert jobs.get(job, published).job["discount"]["rate"] == rate


def test_the_job_asked_for_longest_ago_is_forgotten(desk: Desk):
    """There is room for so many."""
    jobs, published = PricedJobs(most=2), desk.quoting.shelf.named(None)
    first = jobs.get(desk.job(), published)
    for payment in ("cash", "other", "cash"):
        jobs.get(desk.job(payment=payment), published)
    assert jobs.get(desk.job(), published) is first
    jobs.get(desk.job(urgency="express"), published)
    jobs.get(desk.job(urgency="express", payment="cash"), published)
    assert jobs.get(desk.job(), published) is not first


def test_what_may_name_somebody_is_not_kept(desk: Desk):
    """The reason of a discount is written freely, and what is erased shall not stay in memory."""
    jobs, published = PricedJobs(), desk.quoting.shelf.named(None)
    job = desk.job(discount={"rate": "0.05", "reason": "A friend of Example"})
    assert jobs.get(job, published) is not jobs.get(job, published)


def test_what_is_kept_is_not_changed_by_issuing_it(desk: Desk):
    """Two quotes and a revision later the price of the job is what it was, byte for byte."""
    published = desk.quoting.shelf.named(None)
    result, job = desk.quoting.price(desk.job(), published)
    before = orjson.dumps([result, job])
    desk.revise(desk.issue(), "another urgency", by=DESK, urgency="express")
    desk.issue()
    again, _ = desk.quoting.price(desk.job(), published)
    assert again is result
    assert orjson.dumps([result, job]) == before


def test_a_kept_document_reads_as_one_made_anew(desk: Desk):
    """For every audience, in the job's locale and in another, asked for the first time and again."""
    result, job = desk.quoting.price(desk.job(), desk.quoting.shelf.named(None))
    book = {"code": "ballyquarn", "version": 1, "digest": "0" * 64}
    for audience in HIDDEN_FROM:
        for tag in (job["locale"], "de-AT"):
            anew = orjson.dumps(document(result, job, book, tag, audience))
            for _ in range(2):
                assert orjson.dumps(kept_document(result, job, book, tag, audience)) == anew


def test_what_is_made_of_a_result_is_made_once():
    """By what it is; a plain dictionary keeps nothing."""
    made: list[str] = []

    def thing() -> int:
        made.append("thing")
        return len(made)

    result = Result({"currency": "EUR"})
    assert result == {"currency": "EUR"}
    assert [made_of(result, "length", thing), made_of(result, "length", thing), made_of(result, "size", thing)] == [
        1,
        1,
        2,
    ]
    assert [made_of(dict(result), "length", thing) for _ in range(2)] == [3, 4]
