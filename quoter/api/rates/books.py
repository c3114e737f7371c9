"""Rate books: their versions and their history."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from flask import Blueprint, Response
from marshmallow import fields, validate

from quoter.api.http.auth import current_key
from quoter.api.http.conditions import conditional
from quoter.api.http.fields import WholeNumber
from quoter.api.prices.job_schema import Strict
from quoter.api.http.operations import Answer, Operation, json_answer, loaded_body, operation
from quoter.api.http.paging import LINK, PageQuery, key_of, next_link
from quoter.api.rates.rate_schemas import (
    ComparisonSchema,
    HistorySchema,
    RateBooksSchema,
    ReturnSchema,
    VersionContentSchema,
    VersionSchema,
)
from quoter.api.http.services import services
from quoter.books.compare import Change, summary
from quoter.books.draft import lines_of
from quoter.books.raw import RawBook
from quoter.books.sheets.archive import to_zip
from quoter.records.rates import BookVersion
from quoter.service.clock import stamp

blueprint = Blueprint("books", __name__)

OWNER = ("owner",)

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
ZIP = "application/zip"


def _to_xlsx(raw: RawBook) -> bytes:
    from quoter.books.sheets.workbook import to_xlsx  # with openpyxl, which is large and seldom needed

    return to_xlsx(raw)


WRITERS = {"xlsx": (XLSX, _to_xlsx), "zip": (ZIP, to_zip)}


class FormatQuery(Strict):
    """As which kind of file."""

    format = fields.String(
        load_default="xlsx", validate=validate.OneOf(tuple(WRITERS)), metadata={"description": "Of the file"}
    )


class VersionsQuery(Strict):
    """Which two versions."""

    old = WholeNumber(required=True, metadata={"description": "Number of the version that changes count from"})
    new = WholeNumber(required=True, metadata={"description": "Number of the version that has them"})


@operation(
    blueprint,
    Operation(
        id="listBooks",
        method="GET",
        path="/v1/books",
        summary="All rate books",
        description="With the version that counts now, and whether there is a draft.",
        scopes=OWNER,
        answers={200: Answer("The books", RateBooksSchema())},
    ),
)
def list_books() -> Response:
    """Every book."""
    rates = services().rates
    shown = [_book(code) for code in rates.books.codes()]
    return json_answer({"books": shown})


def _book(code: str) -> dict[str, Any]:
    rates, now = services().rates, stamp(services().rates.now())
    counting, history = rates.books.counting(code, now), rates.books.history(code)
    newest = counting or history[0]
    return {
        "code": code,
        "title": newest.title,
        "currency": services().shelf.version(code, newest.version).currency.code,
        "counting": asdict(counting) if counting else None,
        "versions": len(history),
        "has_draft": rates.books.draft(code) is not None,
    }


@operation(
    blueprint,
    Operation(
        id="readHistory",
        method="GET",
        path="/v1/books/{code}/versions",
        summary="Every version of a rate book",
        description=(
            "The newest first: who published it, when, why, from when it counts, and what it changed. The header Link "
            "leads to the next page."
        ),
        scopes=OWNER,
        query=PageQuery(),
        answers={200: Answer("A page of the history", HistorySchema(), headers=LINK)},
        problems=(404, 422),
    ),
)
def read_history(code: str, query: dict[str, Any]) -> Response:
    """A page of the history of a book."""
    versions = history_data(code)
    numbers = [str(each["version"]) for each in versions]
    after = key_of(query["after"], numbers.__contains__)
    start = 0 if after is None else numbers.index(after) + 1
    end = start + query["limit"]
    headers = next_link(numbers[end - 1]) if end < len(versions) else {}
    return json_answer({"versions": versions[start:end]}, headers=headers)


def history_data(code: str) -> list[dict[str, Any]]:
    """Each version with its state."""
    rates = services().rates
    now = stamp(rates.now())
    history, counting = rates.history(code), rates.books.counting(code, now)
    return [asdict(each) | {"state": _state(each, counting, now)} for each in history]


def _state(version: BookVersion, counting: BookVersion | None, now: str) -> str:
    if counting and version.version == counting.version:
        return "counting"
    return "waiting" if version.counts_from > now else "past"


@operation(
    blueprint,
    Operation(
        id="readVersion",
        method="GET",
        path="/v1/books/{code}/versions/{version}",
        summary="A version of a rate book, whole",
        description="It never changes, and stays readable for as long as a quote points to it.",
        scopes=OWNER,
        answers={200: Answer("The version", VersionContentSchema(), headers={"ETag": "Of the whole version"})},
        problems=(404,),
    ),
)
def read_version(code: str, version: int) -> Response:
    """One version."""
    rates = services().rates
    raw = rates.content(code, version)
    found = next(each for each in rates.history(code) if each.version == version)
    return conditional(json_answer({"version": asdict(found), **_text_data(raw)}))


def _text_data(raw: RawBook) -> dict[str, Any]:
    return {
        "files": lines_of(raw),
        "tables": {name: [dict(row.cells) for row in rows] for name, rows in raw.tables.items()},
    }


@operation(
    blueprint,
    Operation(
        id="exportVersion",
        method="GET",
        path="/v1/books/{code}/versions/{version}/export",
        summary="A version as spreadsheets",
        description="One workbook with a sheet a table, or a zip of CSV files.",
        scopes=OWNER,
        query=FormatQuery(),
        answers={200: Answer("The file", content_type=XLSX, other_types=(ZIP,))},
        problems=(404, 422),
    ),
)
def export_version(code: str, version: int, query: dict[str, Any]) -> Response:
    """A version as a file."""
    return file_answer(services().rates.content(code, version), f"{code}-{version}", query["format"])


def file_answer(raw: RawBook, name: str, kind: str) -> Response:
    """A book's text as a file to keep."""
    content_type, write = WRITERS[kind]
    headers = {"Content-Disposition": f'attachment; filename="{name}.{kind}"'}
    return Response(write(raw), 200, headers, content_type=content_type)


@operation(
    blueprint,
    Operation(
        id="compareVersions",
        method="GET",
        path="/v1/books/{code}/comparison",
        summary="How two versions differ",
        description="Row by row, cell by cell. Numbers that are only written differently do not differ.",
        scopes=OWNER,
        query=VersionsQuery(),
        answers={200: Answer("The differences", ComparisonSchema())},
        problems=(404, 422),
    ),
)
def compare_versions(code: str, query: dict[str, Any]) -> Response:
    """Two versions side by side."""
    return json_answer(comparison_data(services().rates.versions_compared(code, query["old"], query["new"])))


def comparison_data(changes: Sequence[Change]) -> dict[str, Any]:
    """Differences as plain data."""
    return {"differences": [asdict(change) for change in changes], "counts": dict(summary(changes))}


@operation(
    blueprint,
    Operation(
        id="returnToVersion",
        method="POST",
        path="/v1/books/{code}/returns",
        summary="Go back to an earlier version",
        description="It is published again as the next version; nothing is taken back from the history.",
        scopes=OWNER,
        body={"anyOf": [ReturnSchema()], "example": {"version": 1, "reason": "the new labour rate was a slip"}},
        answers={201: Answer("The new version", VersionSchema())},
        problems=(400, 404, 413, 415, 422),
        repeatable=True,
    ),
)
def return_to_version(code: str) -> Response:
    """An earlier version counts again."""
    wanted = loaded_body(ReturnSchema())
    version = services().rates.return_to(
        code, wanted["version"], wanted["reason"], wanted["counts_from"], current_key().name
    )
    return json_answer(asdict(version), 201, {"Location": f"/v1/books/{code}/versions/{version.version}"})
