"""The tables of a rate book, each declared once: the declaration loads, checks, explains and writes it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from quoter import book
from quoter.books import cells
from quoter.books.cells import Reader
from quoter.engine.consumables import BASES


class _Required:
    """Stands where a default would, in columns that must not be blank."""


REQUIRED = _Required()


@dataclass(frozen=True, slots=True)
class Column:
    """A column: how its cells are read, what a blank means, which table its codes come from, and what it is for.

    An optional column need not be in the file: its cells are then blank, and a book whose cells in it are all blank is
    the same book as one without it. `blank` is then never REQUIRED.
    """

    name: str
    reads: Reader
    help: str
    blank: Any = REQUIRED
    refers: str | None = None
    is_optional: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """A table: its file is NAME.csv, `key` are the columns that name a row, `row` makes what the engine reads.

    The file of an optional table need not be there: it is then a table without rows.
    """

    name: str
    row: Callable[..., Any]
    key: tuple[str, ...]
    columns: tuple[Column, ...]
    may_be_empty: bool = False
    is_optional: bool = False

    @property
    def header(self) -> tuple[str, ...]:
        """The column names in their order."""
        return tuple(column.name for column in self.columns)

    @property
    def optional(self) -> tuple[str, ...]:
        """The names of the columns that a file may lack."""
        return tuple(column.name for column in self.columns if column.is_optional)


def _code(help: str) -> Column:  # noqa: A002 - the word of the declaration
    return Column("code", cells.code, help)


TITLE = Column("title", cells.text, "what people call it")
ONE = Decimal(1)
ZERO = Decimal(0)

CONDITIONS = ("new", "refurbished", "used")

TRANSLATED: Mapping[str, tuple[str, ...]] = {
    "difficulty": ("title",),
    "procedures": ("title",),
    "steps": ("title",),
    "tools": ("name",),
    "consumables": ("title",),
    "parts": ("title",),
    "findings": ("title",),
    "warranty": ("title",),
    "cautions": ("text", "customer"),
    "grades": ("title",),
    "shop": ("text",),
}
"""The texts that are told in other languages.

What is no row of a table has its own name for a key: a tool as steps.tools has it, a grade as parts.grade has it. A
text of the shop has its setting.
"""

SHOP_TEXTS = ("contact", "handover", "loan_device")
"""Settings of the shop that are sentences. A name, an address and a number are the same in every language."""

TRANSLATIONS = Table(
    "translations",
    book.Translation,
    ("table", "key", "column", "language"),
    (
        Column(
            "table", cells.one_of(*TRANSLATED), "where the text stands; tools and grades: in steps.csv and parts.csv"
        ),
        Column(
            "key", cells.text, "the row's code or sku; a tool or grade as it is written there; of the shop, the setting"
        ),
        Column(
            "column",
            cells.one_of("title", "name", "text", "customer"),
            "of the row; of a tool, name; of a grade, title; of the shop, text",
        ),
        Column("language", cells.language, "that the text is in; de is for de-AT too, where that has none of its own"),
        Column("text", cells.text, "what stands there in this language"),
    ),
    may_be_empty=True,
    is_optional=True,
)

TABLES = (
    Table(
        "difficulty",
        book.Difficulty,
        ("code",),
        (
            _code("names the class of work in other tables; the easiest stands first"),
            TITLE,
            Column("skill", cells.text, "who may do it: layman, generalist, expert", ""),
            Column("time_factor", cells.FACTOR, "multiplies the minutes of the steps"),
            Column("hourly_rate", cells.MONEY, "what an hour costs the customer, net"),
            Column("hourly_cost", cells.MONEY, "what an hour costs the shop"),
        ),
    ),
    Table(
        "devices",
        book.Device,
        ("code",),
        (
            _code("names the device"),
            Column("maker", cells.text, "who makes it"),
            Column("model", cells.text, "what the maker calls it"),
            Column("kind", cells.code, "phone, tablet, wearable"),
            Column("width_mm", cells.MILLIMETRES, "of the seal's outline"),
            Column("height_mm", cells.MILLIMETRES, "of the seal's outline"),
            Column(
                "corner_mm", cells.number("0", "10000"), "radius of its corners, at most half the shorter side", ZERO
            ),
            Column("year", cells.year, "in which it came out", None, is_optional=True),
        ),
    ),
    Table(
        "procedures",
        book.Procedure,
        ("code",),
        (
            _code("names the kind of repair"),
            TITLE,
            Column("slot", cells.code, "the slot that it is about; blank where it is about none", None),
            Column("goals", cells.codes, "the steps that must be done in the end", refers="steps"),
            Column("difficulty", cells.code, "unless an offer says otherwise", refers="difficulty"),
            Column("warranty", cells.code, "the term that the work comes with", None, "warranty"),
        ),
    ),
    Table(
        "offers",
        book.Offer,
        ("device", "procedure"),
        (
            Column("device", cells.code, "what the shop works on", refers="devices"),
            Column("procedure", cells.code, "what it does there", refers="procedures"),
            Column("difficulty", cells.code, "on this device; blank: the procedure's", None, "difficulty"),
            Column("extra_steps", cells.codes, "goals beside the procedure's", (), "steps"),
        ),
    ),
    Table(
        "steps",
        book.Step,
        ("code",),
        (
            _code("names the step; of steps that are free, the first in the table is done first"),
            TITLE,
            Column("low", cells.MINUTES, "minutes, as quick as it goes"),
            Column("likely", cells.MINUTES, "minutes, usually"),
            Column("high", cells.MINUTES, "minutes, when it is stubborn"),
            Column("dwell", cells.MINUTES, "minutes in which nobody works: warming, soaking, pressing", ZERO),
            Column("needs", cells.codes, "steps that must be done before", (), "steps"),
            Column("slot", cells.code, "the slot whose part this step fits", None),
            Column("without_part", cells.code, "the step that stands in where the slot has no part", None, "steps"),
            Column("caution", cells.code, "shown whenever the step is planned", None, "cautions"),
            Column("tools", cells.names, "what the bench lays out for it", (), is_optional=True),
        ),
    ),
    Table(
        "usage",
        book.Usage,
        ("step", "consumable", "basis"),
        (
            Column("step", cells.code, "the step that uses it up", refers="steps"),
            Column("consumable", cells.code, "what is used up", refers="consumables"),
            Column(
                "basis", cells.one_of(*BASES), "what the quantity is multiplied by: each (1) or a measure of the seal"
            ),
            Column("quantity", cells.number("0", "1000000"), "in the consumable's unit, for one of the basis"),
        ),
        may_be_empty=True,
    ),
    Table(
        "consumables",
        book.Consumable,
        ("code",),
        (
            _code("names the consumable"),
            TITLE,
            Column("unit", cells.code, "m, ml, m2, each …"),
            Column("pack_price", cells.MONEY, "what a pack costs the shop"),
            Column("pack_size", cells.POSITIVE, "how much is in a pack"),
            Column("waste", cells.SHARE_BELOW_ONE, "share of a pack that is lost", ZERO),
            Column("increment", cells.POSITIVE, "billed in these steps; blank: exactly what is needed", None),
            Column("width_mm", cells.MILLIMETRES, "of a tape; blank: it is none", None, is_optional=True),
        ),
        may_be_empty=True,
    ),
    Table(
        "parts",
        book.Part,
        ("sku",),
        (
            Column("sku", cells.code, "names the part"),
            TITLE,
            Column("slot", cells.code, "what it fills"),
            Column("grade", cells.code, "its class of quality"),
            Column("devices", cells.codes, "which devices it fits", refers="devices"),
            Column("cost", cells.MONEY, "what it costs the shop"),
            Column("currency", cells.currency, "that it is bought in; blank: the book's", None),
            Column("freight", cells.MONEY, "what it costs to get it here, in the book's currency", ZERO),
            Column("lead_days", cells.whole(0, 3650), "days until it is here; 0: on the shelf", 0),
            Column("saves", cells.codes, "steps that fitting it makes needless", (), "steps"),
            Column("warranty", cells.code, "the term that it comes with", None, "warranty"),
            Column("failure_rate", cells.SHARE, "share of those fitted that come back under warranty", ZERO),
            Column(
                "condition",
                cells.one_of(*CONDITIONS),
                "what the customer is told it is; blank: not said",
                None,
                is_optional=True,
            ),
        ),
        may_be_empty=True,
    ),
    Table(
        "menu",
        book.MenuPrice,
        ("device", "procedure", "grade"),
        (
            Column("device", cells.code, "the device", refers="devices"),
            Column("procedure", cells.code, "the one repair", refers="procedures"),
            Column("grade", cells.code, "of its main part; blank: any", None),
            Column("net", cells.MONEY, "the fixed price before tax"),
        ),
        may_be_empty=True,
    ),
    Table(
        "findings",
        book.Finding,
        ("code",),
        (
            _code("names what was seen"),
            TITLE,
            Column("procedures", cells.codes, "the repairs that it concerns; blank: all", (), "procedures"),
            Column("time_factor", cells.FACTOR, "multiplies the minutes of the steps that it affects", ONE),
            Column("affects", cells.codes, "those steps; blank: every step", (), "steps"),
            Column("adds", cells.codes, "steps that it makes necessary", (), "steps"),
            Column("replaces", cells.pairs, "old:new, steps that are done otherwise", (), "steps"),
            Column("stops", cells.yes, "yes: no work and no price while the device is like this", False),
            Column("charge", cells.MONEY, "flat surcharge", ZERO),
            Column("disposal", cells.MONEY, "what getting rid of it costs and is charged", ZERO),
            Column("chance", cells.SHARE, "that something is damaged because of it", ZERO),
            Column("consequence", cells.MONEY, "what that would cost the shop", ZERO),
            Column("emerges", cells.yes, "yes: the bench may come upon it after the price was named", False),
            Column("warranty", cells.code, "the term that replaces all others", None, "warranty"),
            Column("caution", cells.code, "shown with it", None, "cautions"),
        ),
        may_be_empty=True,
    ),
    Table(
        "warranty",
        book.WarrantyTerm,
        ("code",),
        (
            _code("names the term"),
            TITLE,
            Column("days", cells.whole(0, 36500), "how long it lasts"),
            Column("covers", cells.codes, "part, labour …", ()),
            Column("excludes", cells.codes, "liquid, impact …", ()),
        ),
        may_be_empty=True,
    ),
    Table(
        "cautions",
        book.Caution,
        ("code",),
        (
            _code("names the caution"),
            Column("text", cells.text, "the warning in full"),
            Column("source", cells.text, "who says so", ""),
            Column(
                "customer",
                cells.text,
                "the same warning in words for the customer; blank: the text",
                "",
                is_optional=True,
            ),
        ),
        may_be_empty=True,
    ),
    TRANSLATIONS,
)

TABLE_BY_NAME = {table.name: table for table in TABLES}
