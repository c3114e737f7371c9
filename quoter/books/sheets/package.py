"""The parts of a workbook file: its sheets by name, its texts, its number formats. Nothing in it is run or followed."""

import posixpath
from dataclasses import dataclass

from openpyxl.styles.numbers import BUILTIN_FORMATS

from quoter.books.cells import WrongCell
from quoter.books.sheets.grid import Grid, shared_texts
from quoter.books.sheets.packed import Entries, entries
from quoter.books.sheets.xml_elements import Attributes, damaged, fed

RIGHT = "a workbook saved as .xlsx"
MOST_SHEETS = 100
MOST_TAGS = 3_500_000
"""The number of `<` in all parts that are read: forty thousand parts of twelve columns, or some seconds' work."""

_SECTIONS = ("numFmts", "cellStyleXfs", "cellXfs", "cellStyles", "dxfs")
"""Those of the styles in which number formats and formats of cells stand, and what follows them."""

MOST_ELEMENTS = 500_000
"""In one of the lists of a workbook. It has at most some 65,000 formats."""

_DATE = "yyyy-mm-dd"
_DATE_FORMATS = (*range(27, 37), *range(50, 59))
"""Built-in formats that are dates in East Asian locales."""


@dataclass(slots=True)
class Package:
    """A workbook that is safe to read. `sheets` gives the part of each sheet, None for one that holds no cells."""

    parts: "_Parts"
    sheets: dict[str, str | None]
    shared: list[str]
    formats: list[str]
    counts_from_1904: bool

    def grid(self, sheet: str) -> Grid:
        """The cells of a sheet. Raises WrongCell."""
        part = self.sheets[sheet]
        if part is None:
            raise WrongCell("it has no cells", "a worksheet")
        return Grid(self.parts.read(part), self.shared)


class _Parts:
    """The files of a workbook, each read once, all of them with a bounded number of elements."""

    def __init__(self, found: Entries) -> None:
        self._found = found
        self._by_name = {name.casefold(): name for name in found.names}
        self._tags = 0

    def __contains__(self, name: str) -> bool:
        return name.casefold() in self._by_name

    def read(self, name: str) -> bytes:
        """The bytes of a part. Raises WrongCell."""
        entry = self._by_name.pop(name.casefold(), None)
        if entry is None:
            raise damaged(f"{name[:80]!r} is not there, or wanted twice")
        content = self._found.read(entry)
        self._tags += content.count(b"<")
        if self._tags > MOST_TAGS:
            raise WrongCell("the workbook has too many cells", f"some {MOST_TAGS // 7} in all sheets")
        return content

    def tags(self, name: str, *wanted: str) -> list[tuple[str, Attributes]]:
        """The elements of a part that are wanted, in their order, attributes without prefix. Raises WrongCell."""
        found: list[tuple[str, Attributes]] = []
        seen = 0

        def start(tag: str, attributes: Attributes) -> None:
            nonlocal seen
            seen += 1
            if seen > MOST_ELEMENTS:
                raise damaged(f"too many elements in {name[:80]!r}")
            if tag in wanted:
                found.append((tag, {key.rpartition(":")[2]: value for key, value in attributes.items()}))

        for _ in fed(self.read(name), start, lambda tag: None):
            pass
        return found

    def targets(self, name: str) -> dict[str, tuple[str, str]]:
        """The kind and the name of the parts that a part points to, by the ids that it uses for them."""
        folder, base = posixpath.split(name)
        relations = posixpath.join(folder, "_rels", f"{base}.rels")
        return {
            held.get("Id", ""): (held.get("Type", "").rpartition("/")[2], _resolved(folder, held.get("Target", "")))
            for _, held in (self.tags(relations, "Relationship") if relations in self else ())
            if held.get("TargetMode") != "External"
        }


def _resolved(folder: str, target: str) -> str:
    return posixpath.normpath(target.lstrip("/") if target.startswith("/") else posixpath.join(folder, target))


def package(content: bytes) -> Package:
    """The workbook in a file. Raises WrongCell where it is none, or one that should not be read."""
    found = entries(content, RIGHT)
    _check_kind(found)
    parts = _Parts(found)
    main = dict(parts.targets("").values()).get("officeDocument")
    if main is None:
        raise WrongCell("there is no workbook in the zip file", RIGHT)
    tags, targets = parts.tags(main, "workbookPr", "sheet"), parts.targets(main)
    one_of_a_kind = dict(targets.values())
    return Package(
        parts,
        _sheets(tags, targets),
        shared_texts(parts.read(one_of_a_kind["sharedStrings"])) if "sharedStrings" in one_of_a_kind else [],
        _formats(parts.tags(one_of_a_kind["styles"], "numFmt", "xf", *_SECTIONS)) if "styles" in one_of_a_kind else [],
        any(tag == "workbookPr" and held.get("date1904") in ("1", "true") for tag, held in tags),
    )


def _check_kind(found: Entries) -> None:
    names = {name.casefold() for name in found.names}
    if "mimetype" in names and "content.xml" in names:
        raise WrongCell("this is an OpenDocument spreadsheet (.ods)", "save it as .xlsx")
    if "xl/workbook.bin" in names:
        raise WrongCell("this is a binary workbook (.xlsb)", "save it as .xlsx")
    if any(name.endswith("book.toml") for name in names):
        raise WrongCell("this is a zip file with tables, not a workbook", f"import it as a zip file, or {RIGHT}")
    if any(name.endswith("vbaproject.bin") or name.startswith("xl/macrosheets/") for name in names):
        raise WrongCell("the workbook has macros", "save it as .xlsx, which has none")
    if any(name.startswith("xl/externallinks/") for name in names):
        raise WrongCell("the workbook has links to other workbooks", "break the links, so that it holds values only")


def _sheets(tags: list[tuple[str, Attributes]], targets: dict[str, tuple[str, str]]) -> dict[str, str | None]:
    sheets: dict[str, str | None] = {}
    for tag, held in tags:
        if tag == "sheet":
            kind, part = targets.get(held.get("id", ""), ("", ""))
            name = held.get("name", "")
            if name in sheets or len(sheets) == MOST_SHEETS:
                raise damaged("two sheets of one name" if name in sheets else "too many sheets")
            sheets[name] = part if kind == "worksheet" else None
    return sheets


def _formats(tags: list[tuple[str, Attributes]]) -> list[str]:
    """The number format of each style that cells may have."""
    codes: dict[str, str] = {str(number): code for number, code in BUILTIN_FORMATS.items()}
    codes |= {str(number): _DATE for number in _DATE_FORMATS}
    formats: list[str] = []
    section = ""
    for tag, held in tags:
        if tag == "numFmt" and section == "numFmts":
            codes[held.get("numFmtId", "")] = held.get("formatCode", "")[:255]
        elif tag == "xf" and section == "cellXfs":
            formats.append(codes.get(held.get("numFmtId", "0"), "General"))
        elif tag in _SECTIONS:
            section = tag
    return formats
