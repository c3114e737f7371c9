"""What an owner asks: rate books, drafts, effects, calculations."""

from examples.asking import Asking
from quoter.api.http.services import services_of
from quoter.api.rates.books import ZIP

BOOK = {"code": "ballyquarn"}


def play_books(asking: Asking) -> None:
    """From a draft to a version that is taken back."""
    asking.succeed("readMetrics")
    asking.succeed("listBooks")
    for operation in ("calculateHourlyRate", "calculatePriceForMargin", "calculateBreakEven"):
        asking.succeed(operation)
    asking.fail("calculatePriceForMargin", 422, "calculation-refused", body={"cost": "10", "margin": "1"})
    tag = _edit(asking)
    _measure(asking)
    _publish(asking, tag)


def _edit(asking: Asking) -> str:
    tag = str(asking.succeed("openDraft", path=BOOK).headers["ETag"])
    asking.fail("openDraft", 409, "conflict", path=BOOK)
    tag = str(asking.succeed("editDraft", path=BOOK, match=tag).headers["ETag"])
    nothing = {"edits": [{"do": "delete", "table": "parts", "row": 99999}]}
    asking.fail("editDraft", 422, "edit-refused", path=BOOK, match=tag, body=nothing)
    asking.succeed("readDraft", path=BOOK)
    asking.succeed("readDraftTable", path=BOOK | {"table": "parts"})
    asking.succeed("readDraftChanges", path=BOOK)
    asking.succeed("checkDraft", path=BOOK, query={"prices": "no"})
    asking.succeed("compareDraft", path=BOOK)
    exported = asking.succeed("exportDraft", path=BOOK, query={"format": "zip"}).get_data()
    kind = {"Content-Type": ZIP}
    asking.succeed("importIntoDraft", path=BOOK, match=tag, query={"dry_run": "yes"}, content=exported, headers=kind)
    return tag


def _measure(asking: Asking) -> None:
    asking.succeed("askEffect", path=BOOK)
    services_of(asking.app).background.measure_next()
    effect = asking.succeed("readNewestEffect", path=BOOK).get_json()
    at = {"effect_id": effect["id"]}
    asking.succeed("readEffect", path=at)
    for name in ("prices.csv", "quotes.json", "changes.svg"):
        asking.succeed("readEffectFile", path=at | {"name": name})
    asking.succeed("cancelEffect", path=at)


def _publish(asking: Asking, tag: str) -> None:
    for rate in ("three", "3.20"):
        edits = {"edits": [{"do": "set", "table": "book.toml", "key": "labour.bench_rate", "value": rate}]}
        tag = asking.succeed("editDraft", path=BOOK, match=tag, body=edits, spoil=False).headers["ETag"]
        if rate == "three":
            asking.fail("publishDraft", 422, "book-flawed", path=BOOK, match=tag)
    late = {"reason": "too late", "counts_from": "2020-01-01T00:00:00Z"}
    asking.fail("publishDraft", 422, "publication-refused", path=BOOK, match=tag, body=late)
    asking.succeed("publishDraft", path=BOOK, match=tag)
    asking.succeed("compareVersions", path=BOOK, query={"old": 1, "new": 2})
    asking.succeed("readVersion", path=BOOK | {"version": 1})
    asking.succeed("exportVersion", path=BOOK | {"version": 1}, query={"format": "zip"})
    asking.succeed("returnToVersion", path=BOOK)
    asking.succeed("readHistory", path=BOOK)
    tag = asking.succeed("openDraft", path=BOOK, spoil=False).headers["ETag"]
    asking.succeed("discardDraft", path=BOOK, match=tag)
