"""Translations of texts that are not there, or that are told twice in one language."""

from collections.abc import Iterator

from quoter.books.check_references import KnownRows
from quoter.books.reading import ReadBook, ReadRow
from quoter.books.suggest import Suggestions
from quoter.books.tables import TABLE_BY_NAME, TRANSLATED, TRANSLATIONS
from quoter.problems import Flaw

_TOOLS = "tools"


def translation_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Rows that translate no text of this book, or one that an earlier row has translated under another spelling."""
    tools = _Tools(book)
    rows = {name: KnownRows(book, TABLE_BY_NAME[name]) for name in TRANSLATED if name != _TOOLS}
    first: dict[tuple[str, ...], ReadRow] = {}
    for row in book.tables[TRANSLATIONS.name]:
        table = row.values.get("table")
        if table:
            yield from _wrong_column(table, row)
            yield from _wrong_key(tools if table == _TOOLS else rows[table], row)
        if row.has(*TRANSLATIONS.key):
            earlier = first.setdefault(tuple(row.values[column] for column in TRANSLATIONS.key), row)
            if earlier.key != row.key:
                message, right = f"the same language as in row {earlier.number}", "one row for each language"
                yield _flaw("language", message, row, row.values["language"], right)


def _wrong_column(table: str, row: ReadRow) -> Iterator[Flaw]:
    column = row.values.get("column")
    if column and column not in TRANSLATED[table]:
        message = f"{table} has no such column that is translated"
        yield _flaw("column", message, row, column, " or ".join(TRANSLATED[table]))


def _wrong_key(known: "KnownRows | _Tools", row: ReadRow) -> Iterator[Flaw]:
    key = row.values.get("key")
    if key and known.can_judge and known.lacks(key):
        yield _flaw("key", f"{known.name} has no row {key!r}", row, key, known.instead_of(key))


def _flaw(column: str, message: str, row: ReadRow, value: str, right: str) -> Flaw:
    return Flaw(TRANSLATIONS.name, column, message, row.number, row.key, value, right)


class _Tools:
    """The tools that the steps name: there is no table of them."""

    name = _TOOLS

    def __init__(self, book: ReadBook) -> None:
        steps = book.tables["steps"]
        self.can_judge = book.is_whole("steps", "tools")
        self._names = {tool for row in steps for tool in row.values.get("tools", ())}
        self._likely = Suggestions(self._names)

    def lacks(self, name: str) -> bool:
        """No step needs it."""
        return name not in self._names

    def instead_of(self, name: str) -> str:
        """What would be right."""
        return self._likely.perhaps(name, "a tool that the column tools of steps.csv names")
