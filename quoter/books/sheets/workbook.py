"""A book as an XLSX workbook: a sheet a table, settings and the profiles as sheets of keys and values."""

from dataclasses import dataclass
from typing import Any

from quoter.books.cells import WrongCell
from quoter.books.raw import WHOLE_BOOK, RawBook, RawRow
from quoter.books.reading import BOOK_FILE
from quoter.books.sheets.cell_text import CellTexts
from quoter.books.sheets.filled import filled
from quoter.books.sheets.layout import BOOK, FX, LAW, MARKUP, SHEETS, TABLE_SHEETS, TAX, Sheet
from quoter.books.sheets.lines import Flaws, Lines, read_lines
from quoter.books.sheets.package import Package, package
from quoter.books.sheets.places import Places
from quoter.books.sheets.setting_sheets import SettingLines
from quoter.books.suggest import Suggestions
from quoter.problems import Flaw


@dataclass(frozen=True, slots=True)
class Opened:
    """What a workbook says, and where it says it."""

    raw: RawBook
    places: Places


def to_xlsx(raw: RawBook) -> bytes:
    """The book as a workbook, the same bytes for the same book. Raises TooLarge where it could not be read again."""
    return filled(raw)


def from_xlsx(content: bytes) -> RawBook:
    """The book in a workbook. Whatever is wrong with the file is a flaw."""
    return opened(content).raw


def opened(content: bytes) -> Opened:
    """The book in a workbook, with the places of its cells. Whatever is wrong with the file is a flaw."""
    try:
        return _Opening(package(content)).opened()
    except WrongCell as wrong:
        flaw = Flaw(WHOLE_BOOK, "", wrong.message, suggestion=wrong.suggestion)
        return Opened(RawBook({}, {}, {}, (flaw,)), Places())


class _Opening:
    """One workbook while it is being read."""

    def __init__(self, source: Package) -> None:
        self._source = source
        self._texts = CellTexts(source.formats, source.counts_from_1904)
        self._flaws = Flaws()
        self._places = Places()
        self._names = self._matched()

    def opened(self) -> Opened:
        settings = self._document(BOOK_FILE, BOOK, MARKUP, FX)
        tax = self._profile(settings, TAX)
        law = self._profile(settings, LAW) if RawBook(settings, {}, {}).has_law else {}
        tables: dict[str, tuple[RawRow, ...]] = {}
        for sheet in TABLE_SHEETS:
            lines = self._lines(sheet, self._flaws)
            tables[sheet.name], self._places.columns[sheet.name] = lines.rows, lines.columns
        return Opened(RawBook(settings, tables, tax, tuple(self._flaws.all()), law), self._places)

    def _profile(self, settings: dict[str, Any], sheet: Sheet) -> dict[str, Any]:
        name = settings.get(f"{sheet.name}_profile")
        return self._document(f"{sheet.name}/{name if isinstance(name, str) else ''}.toml", sheet)

    def _document(self, file: str, *sheets: Sheet) -> dict[str, Any]:
        settings = SettingLines(file, self._flaws, self._places)
        for sheet in sheets:
            found = Flaws()
            settings.take(sheet, self._lines(sheet, found), found)
        return settings.document()

    def _lines(self, sheet: Sheet, flaws: Flaws) -> Lines:
        """The lines of a sheet; none, and a flaw, where it is missing or cannot be read."""
        name = self._names.get(sheet.name)
        if name is None and sheet.table.is_optional:
            return Lines({}, ())
        try:
            if name is None:
                raise WrongCell("it is missing", f"a sheet {sheet.name}")
            lines = read_lines(sheet, self._source.grid(name), self._texts, flaws)
            if sheet.has_purposes and not lines.rows and not flaws.found:
                raise WrongCell("it is empty", "a row for each setting")
        except WrongCell as wrong:
            message = f"sheet {sheet.name}: {wrong.message}"
            flaws.add(Flaw(sheet.table.name, "", message, suggestion=wrong.suggestion))
            return Lines({}, ())
        return lines

    def _matched(self) -> dict[str, str]:
        """The workbook's own name of each sheet, in whatever case; a misspelt one counts, with a flaw."""
        ours = [sheet.name for sheet in SHEETS]
        names: dict[str, str] = {}
        others: list[str] = []
        for name in self._source.sheets:
            known = name.strip().casefold()
            if known in ours and known not in names:
                names[known] = name
            else:
                others.append(name)
        missing = Suggestions(name for name in ours if name not in names)
        for name in others:
            meant = missing.nearest(name)
            right = f"perhaps {meant}" if meant else f"leave it out; the sheets are {', '.join(ours)}"
            self._flaws.add(Flaw(f"sheet {name[:80]}", "", "there is no such sheet", value=name[:80], suggestion=right))
            if meant:
                names.setdefault(meant, name)
        return names
