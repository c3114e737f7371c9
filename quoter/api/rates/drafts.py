"""The draft of a rate book: opened, changed row by row, checked, compared, published or discarded.

Whoever changes it sends the ETag that they last saw as If-Match; where somebody else was quicker they get 412 and what
has changed meanwhile, and nothing is overwritten.
"""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import asdict
from typing import Any

from flask import Blueprint, Response
from marshmallow import fields, validate

from quoter.api.http.auth import current_key
from quoter.api.rates.books import OWNER, comparison_data
from quoter.api.http.conditions import conditional, if_match, matches
from quoter.api.http.fields import WholeNumber
from quoter.api.prices.job_schema import Strict
from quoter.api.http.operations import Answer, Operation, json_answer, loaded_body, operation
from quoter.api.http.problem_document import ApiProblem
from quoter.api.rates.rate_schemas import (
    CheckSchema,
    ComparisonSchema,
    DraftSchema,
    DraftTableSchema,
    EditedSchema,
    EditsSchema,
    OpenDraftSchema,
    PublicationSchema,
    RecordedChangesSchema,
    VersionSchema,
)
from quoter.api.http.services import services
from quoter.books.draft import FILES, Draft, Edit
from quoter.books.line_help import line_help
from quoter.books.tables import REQUIRED, TABLE_BY_NAME
from quoter.problems import Conflict, Flaw, NotFound
from quoter.records.rates import RecordedChange, StoredDraft

blueprint = Blueprint("drafts", __name__)

LARGEST_NUMBER = 2**31 - 1
ETAG = {"ETag": "The revision of the draft, for If-Match"}
YES_NO = validate.OneOf(("yes", "no"))

FILE_COLUMNS = (
    {"name": "key", "help": "the dotted name of the setting", "required": True, "refers": None},
    {"name": "value", "help": "its text", "required": False, "refers": None},
)


class PricesQuery(Strict):
    """Whether warnings may price the whole list, which takes a while."""

    prices = fields.String(
        load_default="yes", validate=YES_NO, metadata={"description": "no: without the warnings that price the list"}
    )


class AgainstQuery(Strict):
    """Against which version."""

    version = WholeNumber(load_default=None, metadata={"description": "The one that the draft began as, if absent"})


class AfterQuery(Strict):
    """Since which revision."""

    after = WholeNumber(
        load_default=0,
        validate=validate.Range(0, LARGEST_NUMBER),
        metadata={"description": "Revision of the draft that is known already"},
    )


def tag_of(draft: StoredDraft) -> str:
    """What a draft is at a moment, as an entity tag: no other draft, and no other revision, has it."""
    opened = "".join(sign for sign in draft.opened_at if sign.isdigit())
    return f'"{opened}.{draft.revision}"'


def draft_data(draft: StoredDraft) -> dict[str, Any]:
    """A draft without its rows."""
    return {
        "code": draft.code,
        "tag": tag_of(draft),
        "revision": draft.revision,
        "based_on": draft.based_on,
        "opened_at": draft.opened_at,
        "opened_by": draft.opened_by,
        "changed_at": draft.changed_at,
        "changed_by": draft.changed_by,
        "rows": {name: len(draft.draft.files[name]) for name in FILES}
        | {name: len(rows) for name, rows in draft.draft.tables.items()},
    }


def draft_answer(draft: StoredDraft, data: dict[str, Any], status: int = 200) -> Response:
    """Data about a draft, with its ETag."""
    return json_answer(data, status, {"ETag": tag_of(draft)})


@contextmanager
def unchanged_draft(code: str) -> Iterator[StoredDraft]:
    """The draft that the caller has seen, if it is still that. Raises problems 428 and 412."""
    wanted = if_match("draft")
    draft = services().rates.draft(code)
    if not matches(wanted, tag_of(draft)):
        raise _changed(draft, wanted)
    try:
        yield draft
    except Conflict as conflict:
        raise ApiProblem(412, "changed-meanwhile", str(conflict), told=conflict.changes) from None


def _changed(draft: StoredDraft, wanted: str) -> ApiProblem:
    own, _, seen = wanted.strip('"').partition(".")
    same_draft = tag_of(draft).strip('"').startswith(f"{own}.")
    after = int(seen) if same_draft and seen.isdecimal() and len(seen) < 10 else 0
    changes = services().rates.books.changes(draft, after)
    return ApiProblem(
        412,
        "changed-meanwhile",
        f"the draft of {draft.code} is not what you have seen: {draft.changed_by} changed it at {draft.changed_at}",
        headers={"ETag": tag_of(draft)},
        told=tuple(map(str, changes)),
    )


@operation(
    blueprint,
    Operation(
        id="openDraft",
        method="POST",
        path="/v1/books/{code}/draft",
        summary="Open the draft of a rate book",
        description="There is one at a time. It begins as the newest version, or as the one that is named.",
        scopes=OWNER,
        body={"anyOf": [OpenDraftSchema()], "example": {}},
        answers={201: Answer("The draft", DraftSchema())},
        problems=(400, 404, 409, 413, 415, 422),
        repeatable=True,
    ),
)
def open_draft(code: str) -> Response:
    """A draft begins."""
    version = loaded_body(OpenDraftSchema())["version"]
    draft = services().rates.open_draft(code, version, current_key().name)
    return draft_answer(draft, draft_data(draft), 201)


@operation(
    blueprint,
    Operation(
        id="readDraft",
        method="GET",
        path="/v1/books/{code}/draft",
        summary="The draft of a rate book",
        description="Who opened and changed it, how many rows its tables have, and its ETag.",
        scopes=OWNER,
        answers={200: Answer("The draft", DraftSchema(), headers=ETAG)},
        problems=(404,),
    ),
)
def read_draft(code: str) -> Response:
    """The draft without its rows."""
    draft = services().rates.draft(code)
    return conditional(draft_answer(draft, draft_data(draft)), tag_of(draft))


@operation(
    blueprint,
    Operation(
        id="readDraftTable",
        method="GET",
        path="/v1/books/{code}/draft/tables/{table}",
        summary="A table of the draft",
        description="Columns with their meaning, every row with its id. `book.toml` and profiles are tables of lines, "
        "each with its meaning as `help` (null of a key that means nothing).",
        scopes=OWNER,
        answers={200: Answer("The table", DraftTableSchema(), headers=ETAG)},
        problems=(404,),
    ),
)
def read_draft_table(code: str, table: str) -> Response:
    """One table with its rows."""
    draft = services().rates.draft(code)
    return conditional(draft_answer(draft, table_data(draft.draft, table)), tag_of(draft))


def table_data(draft: Draft, table: str) -> dict[str, Any]:
    """A table of a draft as plain data. Raises NotFound."""
    if table in FILES:
        rows = [
            {"id": None, "cells": {"key": key, "value": value}, "help": line_help(table, key)}
            for key, value in draft.files[table].items()
        ]
        return {"table": table, "columns": list(FILE_COLUMNS), "rows": rows}
    if table not in TABLE_BY_NAME:
        raise NotFound("table", table, (*FILES, *TABLE_BY_NAME))
    columns = [
        {"name": column.name, "help": column.help, "required": column.blank is REQUIRED, "refers": column.refers}
        for column in TABLE_BY_NAME[table].columns
    ]
    return {"table": table, "columns": columns, "rows": [asdict(row) for row in draft.tables[table]]}


@operation(
    blueprint,
    Operation(
        id="editDraft",
        method="PATCH",
        path="/v1/books/{code}/draft",
        summary="Change rows of the draft",
        description="All edits are made, in their order, or none. Each is recorded: who, when, which cell, old, new.",
        scopes=OWNER,
        body={
            "anyOf": [EditsSchema()],
            "example": {"edits": [{"do": "set", "table": "book.toml", "key": "labour.bench_rate", "value": "3.20"}]},
        },
        answers={200: Answer("The draft, and what was changed", EditedSchema())},
        problems=(400, 404, 412, 413, 415, 422, 428),
        if_match=True,
    ),
)
def edit_draft(code: str) -> Response:
    """Edits are made."""
    edits = [Edit(**edit) for edit in loaded_body(EditsSchema())["edits"]]
    with unchanged_draft(code) as seen:
        draft, changes = services().rates.change(seen, edits, current_key().name)
    added = [change.row for change in changes if change.old is None and not change.column and change.row]
    shown = {"draft": draft_data(draft), "changes": [asdict(change) for change in changes], "added": added}
    return draft_answer(draft, shown)


@operation(
    blueprint,
    Operation(
        id="discardDraft",
        method="DELETE",
        path="/v1/books/{code}/draft",
        summary="Discard the draft",
        description="The record of its changes stays.",
        scopes=OWNER,
        answers={204: Answer("It is gone")},
        problems=(404, 412, 428),
        if_match=True,
    ),
)
def discard_draft(code: str) -> Response:
    """The draft ends."""
    with unchanged_draft(code) as seen:
        services().rates.discard(seen)
    return Response(status=204)


@operation(
    blueprint,
    Operation(
        id="checkDraft",
        method="GET",
        path="/v1/books/{code}/draft/check",
        summary="What is wrong with the draft, and what is odd",
        description="Every fault at once, with its cell and what would be right; where there is none, warnings.",
        scopes=OWNER,
        query=PricesQuery(),
        answers={200: Answer("Faults and warnings", CheckSchema())},
        problems=(404, 422),
    ),
)
def check_draft(code: str, query: dict[str, Any]) -> Response:
    """Faults and warnings."""
    rates = services().rates
    draft = rates.draft(code)
    checked = rates.check(code, with_prices=query["prices"] == "yes")
    shown = {
        "flaws": flaws_data(checked.flaws, draft.draft),
        "warnings": flaws_data(checked.warnings, draft.draft),
    }
    return draft_answer(draft, shown)


def flaws_data(flaws: Iterable[Flaw], draft: Draft | None) -> list[dict[str, Any]]:
    """Flaws as plain data, each with the id of its row in the draft; without draft, of a file that is not in one."""
    return [asdict(flaw) | {"row_id": _row_id(flaw, draft) if draft else None} for flaw in flaws]


def _row_id(flaw: Flaw, draft: Draft) -> int | None:
    rows = draft.tables.get(flaw.table, ())
    if flaw.row is None or not 2 <= flaw.row < len(rows) + 2:
        return None
    return rows[flaw.row - 2].id


@operation(
    blueprint,
    Operation(
        id="compareDraft",
        method="GET",
        path="/v1/books/{code}/draft/comparison",
        summary="What the draft changes",
        description="Against any version, row by row, cell by cell.",
        scopes=OWNER,
        query=AgainstQuery(),
        answers={200: Answer("The differences", ComparisonSchema())},
        problems=(404, 422),
    ),
)
def compare_draft(code: str, query: dict[str, Any]) -> Response:
    """The draft beside a version."""
    return json_answer(comparison_data(services().rates.comparison(code, query["version"])))


@operation(
    blueprint,
    Operation(
        id="readDraftChanges",
        method="GET",
        path="/v1/books/{code}/draft/changes",
        summary="Who changed what in the draft",
        description="Oldest first, since a revision.",
        scopes=OWNER,
        query=AfterQuery(),
        answers={200: Answer("The changes", RecordedChangesSchema())},
        problems=(404, 422),
    ),
)
def read_draft_changes(code: str, query: dict[str, Any]) -> Response:
    """The record of changes."""
    return json_answer({"changes": [_recorded(each) for each in services().rates.changes(code, query["after"])]})


def _recorded(each: RecordedChange) -> dict[str, Any]:
    return asdict(each.change) | {"revision": each.revision, "at": each.at, "by": each.by}


@operation(
    blueprint,
    Operation(
        id="publishDraft",
        method="POST",
        path="/v1/books/{code}/draft/publication",
        summary="Publish the draft",
        description="As the next version, at once or from a moment on. With a fault nothing is published.",
        scopes=OWNER,
        body={"anyOf": [PublicationSchema()], "example": {"reason": "new bench rate from December"}},
        answers={201: Answer("The version", VersionSchema())},
        problems=(400, 404, 412, 413, 415, 422, 428),
        if_match=True,
        repeatable=True,
    ),
)
def publish_draft(code: str) -> Response:
    """The draft becomes a version."""
    wanted = loaded_body(PublicationSchema())
    with unchanged_draft(code) as seen:
        version = services().rates.publish(seen, wanted["reason"], wanted["counts_from"], current_key().name)
    return json_answer(asdict(version), 201, {"Location": f"/v1/books/{code}/versions/{version.version}"})
