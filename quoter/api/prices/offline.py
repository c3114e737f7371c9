"""The same documents without a server: what the command line prints."""

import datetime as dt
from pathlib import Path
from typing import Any

from quoter.api.http.json_text import read_json_text
from quoter.api.http.problem_document import problem_body
from quoter.api.prices.document import document
from quoter.api.prices.job_schema import job_of
from quoter.book import RateBook
from quoter.engine.compose import quote_for
from quoter.job import job_data
from quoter.problems import JobRefused, Unreadable
from quoter.service.clock import today, utc_now
from quoter.service.quotes.snapshot import Data, snapshot

LARGEST_FILE = 100_000_000
"""Bytes of a file of jobs."""


def price_document(jobs: Any, book: RateBook, locale: str | None) -> tuple[Any, bool]:
    """The quote of a job, or a list of quotes with a problem in the place of each that is refused.

    Also tells whether a job that stood alone was refused.
    """
    day = today(utc_now(), book.shop.timezone)
    if isinstance(jobs, list):
        return [_quote_or_problem(job, book, day, locale)[0] for job in jobs], False
    return _quote_or_problem(jobs, book, day, locale)


def _quote_or_problem(data: Any, book: RateBook, day: dt.date, locale: str | None) -> tuple[Data, bool]:
    try:
        job = job_of(data, book, today=day, locale=locale or book.locale)
        result = snapshot(quote_for(job, book), book)
    except JobRefused as refused:
        return problem_body(refused), True
    identity = {"code": book.code, "version": None, "digest": book.digest}
    return document(result, job_data(job), identity, locale or job.locale, "owner"), False


def read_json(source: Path | bytes, name: str) -> Any:
    """The JSON document in a file. Raises Unreadable."""
    try:
        content = source if isinstance(source, bytes) else _bytes(source)
    except OSError as error:
        raise Unreadable(name, f"the file cannot be read: {error.strerror}") from None
    return read_json_text(content, name)


def _bytes(path: Path) -> bytes:
    size = path.stat().st_size
    if size > LARGEST_FILE:
        raise Unreadable(str(path), f"{size} bytes are too many; {LARGEST_FILE} at most")
    return path.read_bytes()
