"""What the owner sends and gets about rate books."""

import datetime as dt

from marshmallow import ValidationError, fields, validate

from quoter.api.http.answers import Body, text
from quoter.api.http.fields import Moment
from quoter.api.prices.job_schema import Strict
from quoter.books.draft import FILES, LONGEST_CELL
from quoter.books.tables import TABLE_BY_NAME
from quoter.service.rates.rates import LONGEST_REASON

MOST_EDITS = 20_000
TABLE_NAMES = (*FILES, *TABLE_BY_NAME)


def cell(**options: object) -> fields.String:
    """The text of a cell."""
    return fields.String(validate=validate.Length(max=LONGEST_CELL), **options)  # type: ignore[arg-type]


def _in_calendar(moment: dt.datetime) -> None:
    try:
        moment.astimezone(dt.UTC)
    except OverflowError:
        raise ValidationError("Not a moment of the years 1 to 9999, in UTC.") from None


class EditSchema(Strict):
    """One change of a draft."""

    do = fields.String(required=True, validate=validate.OneOf(("set", "add", "delete", "move")))
    table = fields.String(required=True, validate=validate.OneOf(TABLE_NAMES))
    row = fields.Integer(
        strict=True, load_default=None, metadata={"description": "Id of the row to set, delete or move"}
    )
    cells = fields.Dict(
        keys=fields.String(),
        values=cell(),
        load_default=dict,
        metadata={"description": "By column the text of the cells to set; the others stay"},
    )
    before = fields.Integer(
        strict=True,
        allow_none=True,
        load_default=None,
        metadata={"description": "Id of the row to stand before; null for the end"},
    )
    key = fields.String(
        load_default="",
        validate=validate.Length(max=200),
        metadata={"description": "Of book.toml, tax or law: the line"},
    )
    value = cell(allow_none=True, load_default=None, metadata={"description": "Of book.toml, tax or law: its text"})


class EditsSchema(Strict):
    """Changes that are made together, all or none."""

    edits = fields.List(fields.Nested(EditSchema), required=True, validate=validate.Length(1, MOST_EDITS))


class OpenDraftSchema(Strict):
    """Where a draft starts from."""

    version = fields.Integer(
        strict=True, load_default=None, metadata={"description": "A version; the newest if absent"}
    )


class PublicationSchema(Strict):
    """Why, and from when."""

    reason = fields.String(required=True, validate=validate.Length(1, LONGEST_REASON))
    counts_from = Moment(
        format="iso",
        validate=_in_calendar,
        allow_none=True,
        load_default=None,
        metadata={"description": "The moment from which it counts, RFC 3339; at once if absent"},
    )


class ReturnSchema(PublicationSchema):
    """Which earlier version counts again."""

    version = fields.Integer(required=True, strict=True)


class VersionSchema(Body):
    """A published version."""

    code, title, digest = text(), text(), text()
    version = fields.Integer(required=True, strict=True)
    published_at, counts_from = text("RFC 3339"), text("RFC 3339")
    published_by, reason = text(), text()
    changes = fields.Dict(
        keys=fields.String(),
        values=fields.Integer(strict=True),
        required=True,
        metadata={"description": "How many were added, removed, changed and moved against the version before"},
    )
    returns_to = fields.Integer(required=True, strict=True, allow_none=True)


class HistoryEntrySchema(VersionSchema):
    """A version with its state."""

    state = text("counting, waiting for its moment, or past", validate=validate.OneOf(("counting", "waiting", "past")))


class HistorySchema(Body):
    """Every version, the newest first."""

    versions = fields.List(fields.Nested(HistoryEntrySchema), required=True)


class RateBookSchema(Body):
    """A rate book in the list."""

    code, title, currency = text(), text(), text()
    counting = fields.Nested(VersionSchema, required=True, allow_none=True)
    versions = fields.Integer(required=True, strict=True)
    has_draft = fields.Boolean(required=True)


class RateBooksSchema(Body):
    """All rate books."""

    books = fields.List(fields.Nested(RateBookSchema), required=True)


class VersionContentSchema(Body):
    """The whole text of a version: the files as lines of key and value, the tables as rows of cells."""

    version = fields.Nested(VersionSchema, required=True)
    files = fields.Dict(keys=fields.String(), values=fields.Dict(), required=True)
    tables = fields.Dict(keys=fields.String(), values=fields.List(fields.Dict()), required=True)


class ColumnSchema(Body):
    """A column of a table."""

    name, help = text(), text()
    required = fields.Boolean(required=True)
    refers = fields.String(required=True, allow_none=True)


class DraftTableSchema(Body):
    """A table of the draft in the owner's order. Of book.toml, tax and law: a row is a line with key and value."""

    table = text()
    columns = fields.List(fields.Nested(ColumnSchema), required=True)
    rows = fields.List(fields.Dict(), required=True)


class DraftSchema(Body):
    """The draft of a book; its rows are under tables/."""

    code, tag = text(), text("The value of the header ETag, to be sent back as If-Match")
    revision, based_on = fields.Integer(required=True, strict=True), fields.Integer(required=True, strict=True)
    opened_at, opened_by, changed_at, changed_by = text(), text(), text(), text()
    rows = fields.Dict(keys=fields.String(), values=fields.Integer(strict=True), required=True)


class CellChangeSchema(Body):
    """What was changed."""

    table, key, column = text(), text(), text()
    row = fields.Integer(required=True, strict=True, allow_none=True)
    old = fields.String(required=True, allow_none=True)
    new = fields.String(required=True, allow_none=True)


class EditedSchema(Body):
    """The draft after the edits, and what they did. `added` are the ids of new rows, in the order of the edits."""

    draft = fields.Nested(DraftSchema, required=True)
    changes = fields.List(fields.Nested(CellChangeSchema), required=True)
    added = fields.List(fields.Integer(strict=True), required=True)


class RecordedChangeSchema(CellChangeSchema):
    """A change as it is kept for good."""

    revision = fields.Integer(required=True, strict=True)
    at, by = text(), text()


class RecordedChangesSchema(Body):
    """What has been changed in the draft, oldest first."""

    changes = fields.List(fields.Nested(RecordedChangeSchema), required=True)


class FlawSchema(Body):
    """A fault or an oddity, at its cell."""

    table, column, message, key, value, suggestion = text(), text(), text(), text(), text(), text()
    row = fields.Integer(
        required=True,
        strict=True,
        allow_none=True,
        metadata={"description": "As a spreadsheet counts: the header is 1"},
    )
    row_id = fields.Integer(
        required=True, strict=True, allow_none=True, metadata={"description": "The row's id in the draft"}
    )


class CheckSchema(Body):
    """Faults, which must be mended, and warnings, which may be meant."""

    flaws = fields.List(fields.Nested(FlawSchema), required=True)
    warnings = fields.List(fields.Nested(FlawSchema), required=True)


class DifferenceSchema(Body):
    """How a row, a cell or a setting differs between two versions."""

    table, key, column = text(), text(), text()
    kind = text(validate=validate.OneOf(("added", "removed", "changed", "moved")))
    old = fields.String(required=True, allow_none=True)
    new = fields.String(required=True, allow_none=True)


class ComparisonSchema(Body):
    """Every difference, and how many of each kind."""

    differences = fields.List(fields.Nested(DifferenceSchema), required=True)
    counts = fields.Dict(keys=fields.String(), values=fields.Integer(strict=True), required=True)


class ImportSchema(ComparisonSchema):
    """What an import changes; `done` unless it was a dry run or the file could not be read."""

    done = fields.Boolean(required=True)
    flaws = fields.List(fields.Nested(FlawSchema), required=True)
    draft = fields.Nested(DraftSchema, required=True)
