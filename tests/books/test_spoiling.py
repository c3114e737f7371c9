"""However a book is spoilt, what comes of it is a book or a list of flaws, and nothing is raised."""

import random
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from books.conftest import SMALL_BOOK, Files, files_with, written
from quoter.book import RateBook
from quoter.books.check import flaws
from quoter.books.compile import compiled, digest
from quoter.books.load import read_folder
from quoter.books.raw import RawBook, RawRow
from quoter.books.reading import read
from quoter.problems import BookFlawed, Flaw

NASTY = (
    *(
        "",
        " ",
        "x",
        "-1",
        "1e5",
        "NaN",
        "Infinity",
        "1,5",
        "1.234,56",
        "٣",
        "9" * 40,
        "0.5",
        "true",
        "..",
        "../x",
        "a:b",
    ),
    *("\0", "\ufeff", "\u200b", '"', "'", ",", ";", "\t", "\r", "\r\n", "\n", "\x1b", "é", "=1+1", "a b", "a" * 200),
    *("[", "]", "{", "}", "[]", "{}", "[[x]]", "[x]", "#", "=", ".", "\\", '"""', "2020-13-45", "1979-05-27"),
)
NAMES = sorted(SMALL_BOOK)
CONTROLS = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")


def checked(raw: RawBook) -> None:
    """The one thing that may come of it, with flaws that say enough to act on."""
    found = flaws(raw)
    for flaw in found:
        assert isinstance(flaw, Flaw)
        assert flaw.table
        assert flaw.message
        assert flaw.suggestion, str(flaw)
        assert max(map(len, (flaw.column, flaw.value, flaw.key))) < 400
        assert str(flaw).encode()
        assert not CONTROLS.search(str(flaw))
    digest(read(raw))
    if not found:
        assert isinstance(compiled(raw), RateBook)
        return
    with pytest.raises(BookFlawed) as refused:
        compiled(raw)
    assert refused.value.flaws == tuple(found)


def spoilt(content: bytes, chance: random.Random) -> bytes:
    """Bytes turned, taken out, doubled, or replaced by something nasty."""
    start, length = chance.randrange(len(content) + 1), chance.choice((0, 1, 1, 3, 20, 200))
    nasty = chance.choice(NASTY).encode()
    turned = bytes(byte ^ (1 << chance.randrange(8)) for byte in content[start : start + length])
    middle = chance.choice((b"", nasty, nasty * 3, turned, content[start : start + length] * 2))
    return content[:start] + middle + content[start + length :]


def swapped(content: bytes, chance: random.Random) -> bytes:
    """Two cells or lines in each other's place."""
    sign = chance.choice((b",", b"\n", b'"', b"="))
    pieces = content.split(sign)
    first, second = chance.randrange(len(pieces)), chance.randrange(len(pieces))
    pieces[first], pieces[second] = pieces[second], pieces[first]
    return sign.join(pieces)


@settings(max_examples=120)
@given(st.integers(min_value=0), st.integers(1, 4))
def test_files_with_turned_swapped_and_lost_bytes(tmp_path_factory: pytest.TempPathFactory, seed: int, times: int):
    """The seed stands for what happens to the files."""
    chance = random.Random(seed)
    files: Files = files_with()
    for _ in range(times):
        name = chance.choice(NAMES)
        content = files[name]
        as_bytes = content if isinstance(content, bytes) else content.encode()
        files[name] = chance.choice((spoilt, swapped))(as_bytes, chance)
    if chance.random() < 0.1:
        del files[chance.choice(NAMES)]
    checked(read_folder(written(files, tmp_path_factory.mktemp("spoilt"))))


@settings(max_examples=60)
@given(st.sampled_from(NAMES), st.text(max_size=60))
def test_files_that_hold_any_text(tmp_path_factory: pytest.TempPathFactory, name: str, text: str):
    """Alone in the file, and after what was there."""
    for content in (text, SMALL_BOOK[name] + text):
        files = files_with() | {name: content.encode(errors="surrogatepass")}
        checked(read_folder(written(files, tmp_path_factory.mktemp("any"))))


SCALARS = (
    st.none() | st.booleans() | st.integers() | st.floats() | st.sampled_from((*NASTY, "\ud800")) | st.text(max_size=5)
)
KEYS = (
    st.sampled_from(
        ["shop", "policy", "codes", "components", "lines", "name", "rate", "from", "a.b", "\x1b[0m", "\udfff", ""]
    )
    | st.text()
)
DOCUMENTS = st.recursive(SCALARS, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3))


def grafted(document: Any, graft: Any, chance: random.Random) -> Any:
    """The document with something else in one of its places, however deep."""
    if isinstance(document, Mapping) and document and chance.random() < 0.9:
        key = chance.choice(list(document))
        return {**document, key: grafted(document[key], graft, chance)}
    if isinstance(document, list) and document and chance.random() < 0.8:
        place = chance.randrange(len(document))
        return [*document[:place], grafted(document[place], graft, chance), *document[place + 1 :]]
    return graft


@settings(max_examples=150)
@given(st.integers(min_value=0), DOCUMENTS, st.sampled_from(["settings", "tax"]))
def test_settings_of_any_shape(small_raw: RawBook, seed: int, graft: Any, file: str):
    """What a book holds that never was a file, such as one sent over the wire."""
    chance, whole = random.Random(seed), getattr(small_raw, file)
    key = chance.choice([*whole, "other"])
    document = {**whole, key: grafted(whole.get(key), graft, chance)}
    documents = {"settings": small_raw.settings, "tax": small_raw.tax} | {file: document}
    checked(RawBook(documents["settings"], small_raw.tables, documents["tax"]))


@settings(max_examples=150)
@given(st.integers(min_value=0), SCALARS)
def test_cells_of_any_kind(small_raw: RawBook, seed: int, value: Any):
    """Cells that are no text, rows without cells, tables that are not there."""
    chance = random.Random(seed)
    tables: dict[str, Any] = {name: list(rows) for name, rows in small_raw.tables.items()}
    name = chance.choice([name for name, rows in tables.items() if rows])
    place = chance.randrange(len(tables[name]))
    cells = dict(tables[name][place].cells)
    column = chance.choice(list(cells))
    if chance.random() < 0.8:
        cells[column] = value
    else:
        del cells[column]
    tables[name][place] = RawRow(tables[name][place].number, cells)
    if chance.random() < 0.1:
        del tables[chance.choice(list(tables))]
    checked(RawBook(small_raw.settings, tables, small_raw.tax))


@pytest.fixture(scope="module")
def small_raw(tmp_path_factory: pytest.TempPathFactory) -> RawBook:
    """The text of the small book."""
    return read_folder(written(files_with(), tmp_path_factory.mktemp("small")))


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("content", [b"", b"\n", b",", b"\xff", b"\x00", b"x", b'"', b"\xef\xbb\xbf", b"=" * 5000])
def test_a_file_of_hardly_anything_is_one_flaw(flaws_with: Callable[..., list[Flaw]], name: str, content: bytes):
    """And does not make the rest of the book look wrong."""
    found = flaws_with(lambda files: files.update({name: content}))
    assert [flaw.table for flaw in found] == [name.removesuffix(".csv")]


def test_a_folder_that_is_empty_lacks_every_file(tmp_path: Path):
    """Each once, and nothing else is said."""
    (tmp_path / "empty").mkdir()
    found = flaws(read_folder(tmp_path / "empty"))
    assert {flaw.message for flaw in found} == {"the file is missing"}
    assert len(found) == len(SMALL_BOOK) - 1
