"""Translations of texts that are not there, or that are told twice in one language."""

from collections.abc import Iterable, Iterator

from quoter.books.check_references import KnownRows
from quoter.books.reading import ReadBook, ReadRow
from quoter.books.suggest import Suggestions
from quoter.books.tables import SHOP_TEXTS, TABLE_BY_NAME, TRANSLATED, TRANSLATIONS
from quoter.problems import Flaw


def translation_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Rows that translate no text of this book, or one that an earlier row has translated under another spelling."""
    known = {name: KnownRows(book, TABLE_BY_NAME[name]) for name in TRANSLATED if name in TABLE_BY_NAME} | _named(book)
    first: dict[tuple[str, ...], ReadRow] = {}
    for row in book.tables[TRANSLATIONS.name]:
        table = row.values.get("table")
        if table:
            yield from _wrong_column(table, row)
            yield from _wrong_key(known[table], row)
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


def _wrong_key(known: "KnownRows | _Named", row: ReadRow) -> Iterator[Flaw]:
    key = row.values.get("key")
    if key and known.can_judge and known.lacks(key):
        yield _flaw("key", f"{known.name} has no row {key!r}", row, key, known.instead_of(key))


def _flaw(column: str, message: str, row: ReadRow, value: str, right: str) -> Flaw:
    return Flaw(TRANSLATIONS.name, column, message, row.number, row.key, value, right)


class _Named:
    """Texts that are no rows: what cells of a column or settings say."""

    def __init__(self, name: str, texts: Iterable[str], right: str, *, can_judge: bool) -> None:
        self.name, self.can_judge = name, can_judge
        self._texts, self._right = set(texts), right
        self._likely = Suggestions(self._texts)

    def lacks(self, text: str) -> bool:
        """Nothing says it."""
        return text not in self._texts

    def instead_of(self, text: str) -> str:
        """What would be right."""
        return self._likely.perhaps(text, self._right)


def _named(book: ReadBook) -> dict[str, _Named]:
    steps, parts = book.tables["steps"], book.tables["parts"]
    return {
        "tools": _Named(
            "tools",
            (tool for row in steps for tool in row.values.get("tools", ())),
            "a tool that the column tools of steps.csv names",
            can_judge=book.is_whole("steps", "tools"),
        ),
        "grades": _Named(
            "grades",
            (row.values["grade"] for row in parts if row.has("grade")),
            "a grade that parts.csv names",
            can_judge=book.is_whole("parts", "grade"),
        ),
        "shop": _Named("shop", SHOP_TEXTS, " or ".join(SHOP_TEXTS), can_judge=True),
    }
