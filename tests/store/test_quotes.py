"""Quotes at rest: whole, numbered without gaps, found by what is asked."""

import os
import signal
import sqlite3
import subprocess
import sys
import zlib
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import closing
from multiprocessing import get_context
from pathlib import Path

import pytest

from quoter.records.quotes import IssuedQuote, QuoteFilter
from quoter.store.database import Store
from quoter.store.quotes import Quotes

from .records import QUOTE, a_quote

NOW = "2026-03-02T12:00:00.000000Z"


def test_a_quote_reads_back_as_it_was_given(store: Store):
    """Text of every script, nothing, no and numbers as text; only the number is new."""
    kept = Quotes(store).add(QUOTE, "invented slate")
    assert kept == QUOTE.numbered(1)
    assert Quotes(store).get(QUOTE.id) == kept
    with closing(Store(store.path)) as elsewhere:
        assert Quotes(elsewhere).get(QUOTE.id) == kept


def test_a_quote_that_is_not_there_is_none(store: Store):
    """Nothing is made up."""
    assert Quotes(store).get("none") is None


def test_money_is_kept_as_text(store: Store):
    """No column of any table has become a binary float: 12.30 is still written 12.30."""
    Quotes(store).add(QUOTE, "invented slate")
    for table in ("quotes", "revisions", "counters", "keys", "book_versions"):
        columns = store.rows(f"select name, type from pragma_table_info('{table}')")
        assert {column["type"] for column in columns} <= {"TEXT", "INTEGER", "BLOB"}
    (row,) = store.rows("select typeof(net) as kind, net, gross, result from revisions")
    assert (row["kind"], row["net"], row["gross"]) == ("text", "12.30", "0.10")
    assert b'"net":"12.30"' in zlib.decompress(row["result"])


@pytest.mark.parametrize("amount", ["0.10", "12.30", "-0.00", "1E+2", "99999999999999999999.999999"])
def test_no_digit_of_an_amount_is_lost(store: Store, amount: str):
    """Not even a trailing zero."""
    result = QUOTE.result | {"totals": {"net": amount, "gross": amount}}
    Quotes(store).add(a_quote(result=result), "x")
    kept = Quotes(store).get(a_quote().id)
    assert kept is not None
    assert kept.result == result


def issue_many(path: Path, process: int, threads: int, count: int) -> list[str]:
    """Issues `count` quotes by several threads of one process; gives their numbers."""
    with closing(Store(path)) as store, ThreadPoolExecutor(threads) as pool:
        made = [a_quote(process * 1000 + each) for each in range(count)]
        return [quote.number for quote in pool.map(lambda quote: Quotes(store).add(quote, "x"), made)]


def test_numbers_are_unique_and_without_gaps_however_many_issue(tmp_path: Path):
    """Two processes of two threads each, 200 quotes."""
    path = tmp_path / "quoter.db"
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        jobs = [pool.submit(issue_many, path, process, 2, 100) for process in range(2)]
        numbers = [number for job in jobs for number in job.result()]
    assert sorted(numbers) == [f"2026-{each:05}" for each in range(1, 201)]


def test_every_year_has_numbers_of_its_own(store: Store):
    """By the year of issue."""
    quotes = Quotes(store)
    years = ("2026", "2026", "2027", "2026")
    made = [quotes.add(a_quote(n, issued_at=f"{year}{QUOTE.issued_at[4:]}"), "x") for n, year in enumerate(years)]
    assert [quote.number for quote in made] == ["2026-00001", "2026-00002", "2027-00001", "2026-00003"]


def test_a_quote_that_cannot_be_kept_takes_no_number(store: Store):
    """The second has the first one's id; the third gets the number that the second would have had."""
    quotes = Quotes(store)
    quotes.add(a_quote(0), "x")
    with pytest.raises(sqlite3.IntegrityError):
        quotes.add(a_quote(0), "x")
    assert quotes.add(a_quote(1), "x").number == "2026-00002"
    assert store.rows("select count(*) as n from revisions") == [{"n": 2}]


HALFWAY = """
import pathlib, sys, time
sys.path.insert(0, sys.argv[2])
from quoter.store.database import Store
from quoter.store.quotes import Quotes
from store.records import a_quote
store = Store(pathlib.Path(sys.argv[1]))
Quotes(store).add(a_quote(0), "x")
def pause():
    print("halfway", flush=True)
    time.sleep(60)
with store.write() as database:
    database.conn.create_function("pause", 0, pause)
    database.execute("create temp trigger halfway before insert on main.revisions begin select pause(); end")
Quotes(store).add(a_quote(1), "x")
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="kill -9 as POSIX has it")
def test_a_quote_is_whole_or_not_there_when_the_power_goes(tmp_path: Path):
    """Killed between a quote and its revision: nothing of it is there, and its number is free."""
    path = tmp_path / "quoter.db"
    command = [sys.executable, "-c", HALFWAY, str(path), str(Path(__file__).parents[1])]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "halfway\n"
        os.kill(process.pid, signal.SIGKILL)
    with closing(Store(path)) as store:
        assert store.rows("pragma integrity_check") == [{"integrity_check": "ok"}]
        assert store.rows("select number from quotes") == [{"number": "2026-00001"}]
        assert store.rows("select quote from revisions") == [{"quote": a_quote(0).id}]
        assert Quotes(store).add(a_quote(1), "x").number == "2026-00002"


def found(store: Store, **wanted: object) -> list[str]:
    """Numbers of the quotes that are found."""
    return [quote.number for quote in Quotes(store).find(QuoteFilter(**{"limit": 100, **wanted}), NOW)]


def test_a_search_takes_signs_as_they_are(store: Store):
    """% and _ stand for themselves, case does not matter, also outside ASCII."""
    quotes = Quotes(store)
    for number, words in enumerate(("100% slate_1", "1000 slatex1", "ärmel ÄRMEL".casefold())):
        quotes.add(a_quote(number), words)
    assert found(store, words="0%") == ["2026-00001"]
    assert found(store, words="slate_1") == ["2026-00001"]
    assert found(store, words="SLATE") == ["2026-00002", "2026-00001"]
    assert found(store, words="Ärmel") == ["2026-00003"]
    assert found(store, words="\\") == []
    assert found(store, words="'; drop table quotes; --") == []


@pytest.mark.parametrize(("expires_at", "state"), [(NOW, "expired"), ("2026-03-02T12:00:00.000001Z", "issued")])
def test_a_quote_is_found_in_the_state_it_is_in(store: Store, expires_at: str, state: str):
    """The record and the search agree, to the microsecond."""
    kept: IssuedQuote = Quotes(store).add(a_quote(expires_at=expires_at), "x")
    assert kept.state_at(NOW) == state
    assert found(store, state=state) == [kept.number]
    assert found(store, state={"issued": "expired", "expired": "issued"}[state]) == []
