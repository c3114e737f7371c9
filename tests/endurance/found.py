"""What is found in the file after a service was killed: whole in itself, and no less than what clients were told."""

import json
import shutil
import sqlite3
import zlib
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from .wishes import Told, Wish

Found = sqlite3.Connection

MARKED = {
    "issue": "select count(*) from quotes where contact_name = ?",
    "answer": "select count(*) from quotes join enquiries on enquiries.quote = quotes.id where quotes.contact_name = ?",
    "revise": "select count(*) from revisions where reason = ?",
    "decide": "select count(*) from decisions where note = ?",
    "enquire": "select count(*) from enquiries where noticed = ?",
    "open": "select count(*) from replies where name = ?",
    "edit": "select count(*) from book_changes where new = ?",
    "publish": "select count(*) from book_versions where reason like ? || ' %'",
}
"""How often something with a mark is there."""

ALIKE = {
    "versions and events": """
        select number from quotes left join quote_events on quote = id group by id
        having count(*) <> quotes.version
            or min(quote_events.version) <> 1 or max(quote_events.version) <> quotes.version
    """,
    "quotes and revisions": """
        select number from quotes left join revisions on quote = id group by id
        having count(*) <> quotes.revision or min(revisions.revision) <> 1 or max(revisions.revision) <> quotes.revision
    """,
    "revisions and events": """
        select number from quotes where revision <>
            (select count(*) from quote_events where quote = id and kind in ('issued', 'revised'))
    """,
    "decisions and events": """
        select quote from (
            select quote, version, decision, revision from decisions union all
            select quote, version, kind, revision from quote_events where kind in ('accepted', 'declined', 'withdrawn')
        ) group by quote, version, decision, revision having count(*) <> 2
    """,
    "events and announcements": """
        select about from (
            select '/v1/quotes/' || quote as about, count(*) as n from quote_events group by quote union all
            select about, count(*) from announcements where kind in ('quote.issued', 'quote.revised', 'quote.decided')
            group by about
        ) group by about having (count(*) <> 2 or min(n) <> max(n)) and exists (select 1 from webhooks)
    """,
    "announcements and deliveries": """
        select announcements.id from announcements left join deliveries on announcement = announcements.id
        group by announcements.id having count(place) <> 1
    """,
    "enquiries and their quotes": "select reference from enquiries where (standing = 'quoted') <> (quote is not null)",
    "replies and what they are about": """
        select about from replies where about like '/v1/quotes/%'
        and not exists (select 1 from quotes where id = substr(about, 12, length(id)))
    """,
    "versions of books": """
        select code from book_versions group by code having min(version) <> 1 or max(version) <> count(*)
    """,
    "drafts and their changes": """
        select code from book_drafts where revision <> (
            select coalesce(max(book_changes.revision), 1) from book_changes
            where book_changes.code = book_drafts.code and book_changes.opened_at = book_drafts.opened_at)
    """,
}
"""What must be told alike by two tables; each finds what is not."""

NUMBERED = {"quotes": "number", "enquiries": "reference"}


@contextmanager
def copied(database: Path, folder: Path) -> Iterator[Found]:
    """The file and its log as the killed service left them, read from copies: its next start mends its own file."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    for ending in ("", "-wal"):
        beside = database.with_name(database.name + ending)
        if beside.exists():
            shutil.copy(beside, folder / beside.name)
    with closing(sqlite3.connect(folder / database.name)) as connection:
        connection.row_factory = sqlite3.Row
        yield connection


@contextmanager
def opened(database: Path) -> Iterator[Found]:
    """The file itself, which a service may be using, to read."""
    with closing(sqlite3.connect(f"{database.absolute().as_uri()}?mode=ro", uri=True, timeout=30)) as connection:
        connection.row_factory = sqlite3.Row
        yield connection


def faults(found: Found) -> list[str]:
    """Everything in the file that contradicts the file."""
    wrong = [row[0] for row in found.execute("pragma integrity_check") if row[0] != "ok"]
    wrong += [f"foreign keys: {tuple(row)}" for row in found.execute("pragma foreign_key_check")]
    for what, sql in ALIKE.items():
        wrong += [f"{what}: {row[0]}" for row in found.execute(sql)]
    return wrong + [each for table, column in NUMBERED.items() for each in _gaps(found, table, column)]


def _gaps(found: Found, table: str, column: str) -> list[str]:
    """Numbers are given from 1 on in each year, without a gap, and the counter stands at the last."""
    counted = dict(found.execute("select name, value from counters where name like ? || ' %'", [table]).fetchall())
    given: dict[str, list[int]] = {name: [] for name in counted}
    for (text,) in found.execute(f"select {column} from {table} order by {column}"):
        year, _, number = text.lstrip("A").partition("-")
        given.setdefault(f"{table} {year}", []).append(int(number))
    return [
        f"{name}: {counted.get(name)} counted, {numbers[-3:]} given last"
        for name, numbers in given.items()
        if numbers != list(range(1, counted.get(name, 0) + 1))
    ]


def times(found: Found, wish: Wish) -> int:
    """How often a wish has been fulfilled."""
    (number,) = found.execute(MARKED[wish.kind], [wish.mark]).fetchone()
    return int(number)


def differences(found: Found, wish: Wish, told: Told) -> list[str]:
    """Where what is kept differs from what a client was told."""
    wrong = [] if times(found, wish) == 1 else [f"is there {times(found, wish)} times"]
    if wish.is_named:
        row = found.execute("select status, body from replies where name = ?", [wish.mark]).fetchone()
        if row is None or (row["status"], bytes(row["body"])) != (told.status, told.body):
            wrong.append("the answer that is kept is another")
    if not wrong:
        wrong = KEPT_AS_TOLD[wish.kind](found, wish, told.document)
    return [f"{wish.kind} {wish.mark}: {each}" for each in wrong]


def _revision_differs(found: Found, wish: Wish, said: Any) -> list[str]:
    sql = """
        select number, revisions.revision, result from revisions join quotes on id = quote
        where quote = ? and revisions.revision = ?
    """
    row = found.execute(sql, [said["id"], said["revision"]]).fetchone()
    if row is None or row["number"] != said["number"]:
        return ["no such revision"]
    kept = json.loads(zlib.decompress(row["result"]))
    return [f"{name} was told otherwise" for name in _beside(kept) if kept[name] != said[name]] + _lines(kept, said)


def _beside(kept: dict[str, Any]) -> Iterator[str]:
    """Members that an answer gives as they are kept: all but texts, which are in the reader's language."""
    return (name for name in kept if name not in ("digits", "lines", "economics", "titles", "translations"))


def _lines(kept: dict[str, Any], said: dict[str, Any]) -> list[str]:
    both = ([(line["kind"], line["quantity"], line["net"]) for line in each["lines"]] for each in (kept, said))
    return [] if next(both) == next(both) else ["lines were told otherwise"]


def _decision_differs(found: Found, wish: Wish, said: Any) -> list[str]:
    sql = "select decision, revision from decisions where note = ? and quote = ? and version = ?"
    row = found.execute(sql, [wish.mark, said["id"], said["version"]]).fetchone()
    told = (said["state"], said["revision"])
    return [] if row is not None and tuple(row) == told else [f"told {told}, kept {row and tuple(row)}"]


def _enquiry_differs(found: Found, wish: Wish, said: Any) -> list[str]:
    row = found.execute("select reference, gross, result from enquiries where noticed = ?", [wish.mark]).fetchone()
    kept = json.loads(zlib.decompress(row["result"]))
    same = (row["reference"], row["gross"]) == (said["reference"], said["price"]["gross"])
    return [] if same and kept["totals"]["gross"] == row["gross"] else ["told another reference or price"]


def _change_differs(found: Found, wish: Wish, said: Any) -> list[str]:
    row = found.execute("select revision, old from book_changes where new = ?", [wish.mark]).fetchone()
    told = (said["draft"]["revision"], said["changes"][0]["old"])
    return [] if tuple(row) == told else [f"told {told}, kept {tuple(row)}"]


def _version_differs(found: Found, wish: Wish, said: Any) -> list[str]:
    sql = "select digest, reason, content from book_versions where code = ? and version = ?"
    row = found.execute(sql, [said["code"], said["version"]]).fetchone()
    if row is None or (row["digest"], row["reason"]) != (said["digest"], said["reason"]):
        return ["no such version"]
    rate = said["reason"].rpartition(" ")[2]
    return [] if f'"{rate}"' in row["content"] else [f"the version does not say {rate}"]


KEPT_AS_TOLD: dict[str, Callable[[Found, Wish, Any], list[str]]] = {
    "issue": _revision_differs,
    "answer": _revision_differs,
    "revise": _revision_differs,
    "decide": _decision_differs,
    "enquire": _enquiry_differs,
    "open": lambda found, wish, said: [],
    "edit": _change_differs,
    "publish": _version_differs,
}
"""By what is wished for: how the rows compare with the answer."""
