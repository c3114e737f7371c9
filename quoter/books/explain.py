"""The declared tables and settings as Markdown, for the page that explains rate books to their owners."""

import re
from collections.abc import Iterable
from inspect import getdoc
from typing import Any, NamedTuple

from quoter.books.cells import Reader
from quoter.books.settings import (
    BAND_SETTINGS,
    BOOK_SETTINGS,
    CODE_SETTINGS,
    COMPONENT_SETTINGS,
    CUSTOMER_SETTINGS,
    FX_RATE,
    LAW_SETTINGS,
    LINE_CODE,
    NOTICE_SETTINGS,
    NOTICE_TEXT,
    RECLASS_SETTINGS,
    TAX_SETTINGS,
    Setting,
)
from quoter.books.tables import REQUIRED, TABLES, Column, Table
from quoter.job import CUSTOMER_KINDS
from quoter.law import NOTICE_CODES
from quoter.quote import TAXED_KINDS


class Section(NamedTuple):
    """Settings of a document that stand together. `within` leads to them: * is a name, places in lists are left out.

    The last name of a `named` section is the owner's, who calls it after a currency, a kind of line or a language.
    """

    document: str
    within: str
    title: str
    note: str
    settings: tuple[Setting, ...]
    named: bool = False


_NOTICES = "`law/NAME.toml`: `[notices.CODE]`"

SECTIONS = (
    Section("book.toml", "", "`book.toml`", "", BOOK_SETTINGS),
    Section(
        "book.toml",
        "parts.markup.",
        "`book.toml`: `[[parts.markup]]`",
        "One for each band, ascending; at least one.",
        BAND_SETTINGS,
    ),
    Section("book.toml", "fx.", "`book.toml`: `[fx]`", "One line for each foreign currency.", (FX_RATE,), named=True),
    Section("tax", "", "`tax/NAME.toml`", "", TAX_SETTINGS),
    Section(
        "tax", "codes.*.", "`tax/NAME.toml`: `[codes.CODE]`", "One for each tax code; at least one.", CODE_SETTINGS
    ),
    Section(
        "tax",
        "codes.*.components.",
        "`tax/NAME.toml`: each of a code's `components`",
        "Of components with one name, the newest `from` that is not after the quote's date counts.",
        COMPONENT_SETTINGS,
    ),
    Section(
        "tax",
        "lines.",
        "`tax/NAME.toml`: `[lines]`",
        f"One line for each KIND: {', '.join(TAXED_KINDS)}.",
        (LINE_CODE,),
        named=True,
    ),
    Section(
        "tax",
        "customers.*.",
        "`tax/NAME.toml`: `[customers.KIND]`",
        f"None, or KIND is one of {', '.join(CUSTOMER_KINDS)}.",
        CUSTOMER_SETTINGS,
    ),
    Section(
        "tax", "reclass.", "`tax/NAME.toml`: `[[reclass]]`", "None or more, applied in their order.", RECLASS_SETTINGS
    ),
    Section("law", "", "`law/NAME.toml`", "", LAW_SETTINGS),
    Section("law", "notices.*.", _NOTICES, f"None, or CODE is one of {', '.join(NOTICE_CODES)}.", NOTICE_SETTINGS),
    Section(
        "law",
        "notices.*.texts.",
        "`law/NAME.toml`: `[notices.CODE.texts]`",
        "One line for each language.",
        (NOTICE_TEXT,),
        named=True,
    ),
)


def tables_markdown() -> str:
    """Every table with its columns: what they hold, what a blank means, what they are for."""
    return "\n\n".join(map(_table, TABLES))


def settings_markdown() -> str:
    """Every key of book.toml and of the profiles: what it holds, what its absence means, what it is for."""
    return "\n\n".join(map(_section, SECTIONS))


def _table(table: Table) -> str:
    keys = " and ".join(f"`{name}`" for name in table.key).replace(" and ", ", ", len(table.key) - 2)
    rows = "May be empty." if table.may_be_empty else "Has at least one row."
    file = "The file may be absent. " if table.is_optional else ""
    columns = [
        (f"`{column.name}`", _columnholds(column), _absent(column.blank), _purpose(column)) for column in table.columns
    ]
    return f"### `{table.name}.csv`\n\nA row is named by its {keys}. {file}{rows}\n\n" + _rows(
        "column", "blank", columns
    )


def _purpose(column: Column) -> str:
    return f"{column.help} (may be left out)" if column.is_optional else column.help


def _section(section: Section) -> str:
    keys = [
        (f"`{setting.key}`", holds(setting.reads), _absent(setting.absent), setting.help)
        for setting in section.settings
    ]
    return f"### {section.title}\n\n" + (f"{section.note}\n\n" if section.note else "") + _rows("key", "absent", keys)


def _rows(name: str, absent: str, rows: Iterable[tuple[str, ...]]) -> str:
    head = f"| {name} | holds | if {absent} | meaning |\n| --- | --- | --- | --- |\n"
    return head + "\n".join(f"| {' | '.join(cell.replace('|', '&#124;') for cell in row)} |" for row in rows)


def _columnholds(column: Column) -> str:
    what = holds(column.reads)
    return re.sub(r"codes?|`old:new`", rf"\g<0> of `{column.refers}.csv`", what, count=1) if column.refers else what


def holds(reads: Reader) -> str:
    """What a reader takes, as part of a sentence: the first one of its docstring."""
    first = (getdoc(reads) or "").splitlines()[0].partition(": ")[0].removesuffix(".")
    return first[:1].lower() + first[1:]


def _absent(blank: Any) -> str:
    if blank is REQUIRED:
        return "not allowed"
    if isinstance(blank, bool):
        return "yes" if blank else "no"
    return "nothing" if blank in (None, "", ()) else str(blank)
