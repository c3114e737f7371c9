"""Files with some bytes changed, left out or put in twice: whatever comes of them is a book or flaws, and no crash."""

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from books.sheets.made import part_of, small_book, small_xlsx, small_zip, unzipped, with_parts
from quoter.books.check import flaws
from quoter.books.raw import RawBook
from quoter.books.sheets.archive import from_zip, to_zip
from quoter.books.sheets.workbook import from_xlsx, to_xlsx

Damage = Callable[[bytes], bytes]
PLACES = st.floats(0, 1, exclude_max=True)


def overwritten(place: float, data: bytes) -> Damage:
    """Other bytes from a place on, which is a share of the whole."""
    return lambda content: _cut(content, place, data, len(data))


def replaced(place: float, data: bytes, length: int) -> Damage:
    """Other bytes instead of so many."""
    return lambda content: _cut(content, place, data, length)


def _cut(content: bytes, place: float, data: bytes, length: int) -> bytes:
    at = int(place * len(content))
    return content[:at] + data + content[at + length :]


def truncated(place: float) -> Damage:
    """Only the beginning."""
    return lambda content: content[: int(place * len(content))]


WORDS = st.sampled_from(
    [b"<", b">", b"</", b'"', b"&", b"&#0;", b"]]>", b"<!--", b'r="A1"', b't="s"', b"<f>", b"\xff\xfe", b"-1", b"1e999"]
)
DAMAGES = st.one_of(
    st.builds(overwritten, PLACES, st.binary(min_size=1, max_size=4)),
    st.builds(replaced, PLACES, st.binary(max_size=4) | WORDS, st.integers(0, 40)),
    st.builds(truncated, PLACES),
)
SOME = st.lists(DAMAGES, min_size=1, max_size=3)


def damaged(content: bytes, damages: list[Damage]) -> bytes:
    """One damage after the other."""
    for damage in damages:
        content = damage(content)
    return content


def is_told(raw: RawBook, writes: Callable[[RawBook], bytes]) -> bool:
    """Whether there is a book or a flaw; what was read can be checked, and exported again."""
    assert writes(raw)
    return bool(flaws(raw)) or set(raw.tables) == set(small_book().tables)


@settings(max_examples=150)
@given(SOME)
def test_a_damaged_zip_file_is_told(damages: list[Damage]) -> None:
    """Bytes of the zip format itself."""
    assert is_told(from_zip(damaged(small_zip(), damages)), to_zip)


@settings(max_examples=80)
@given(st.sampled_from(["small/book.toml", "small/parts.csv", "tax/plain.toml"]), SOME)
def test_a_damaged_file_in_a_zip_file_is_told(name: str, damages: list[Damage]) -> None:
    """Bytes of TOML and CSV."""
    content = with_parts(small_zip(), {name: damaged(unzipped(small_zip())[name], damages)})
    assert is_told(from_zip(content), to_zip)


@settings(max_examples=150)
@given(SOME)
def test_a_damaged_workbook_is_told(damages: list[Damage]) -> None:
    """Bytes of the zip format itself."""
    assert is_told(from_xlsx(damaged(small_xlsx(), damages)), to_zip)


PARTS = [
    *("_rels/.rels", "xl/workbook.xml", "xl/_rels/workbook.xml.rels", "xl/styles.xml"),
    *map(part_of, ("book", "markup", "fx", "parts", "tax")),
]


@settings(max_examples=150)
@given(st.sampled_from(PARTS), SOME)
def test_a_damaged_part_of_a_workbook_is_told(name: str, damages: list[Damage]) -> None:
    """Bytes of XML."""
    content = with_parts(small_xlsx(), {name: damaged(unzipped(small_xlsx())[name], damages)})
    assert is_told(from_xlsx(content), to_zip)


@pytest.mark.parametrize("reads", [from_zip, from_xlsx])
@settings(max_examples=60)
@given(
    st.binary(max_size=400) | st.binary(max_size=200).map(lambda data: b"PK\x03\x04" + data + b"PK\x05\x06" + bytes(18))
)
def test_any_bytes_are_told(reads: Callable[[bytes], RawBook], content: bytes) -> None:
    """Without anything in common with a book."""
    assert flaws(reads(content))


def test_a_book_of_which_little_could_be_read_can_be_exported() -> None:
    """A draft is allowed to be faulty: what is there is written, what is not is blank."""
    empty = RawBook({}, {}, {})
    assert flaws(from_zip(to_zip(empty)))
    assert flaws(from_xlsx(to_xlsx(empty)))
