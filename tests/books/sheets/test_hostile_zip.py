"""Zip files that mean harm, or are no book at all: each ends as one flaw that says what would be right."""

import io
import stat
import struct
import zipfile

import pytest

from books.sheets.made import small_zip, unzipped, zipped
from books.sheets.refusals import Content, assert_refused, made
from quoter.books.sheets.archive import from_zip

OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2000)


def changed(content: bytes, mark: bytes, offset: int, data: bytes) -> bytes:
    """Other bytes in every header of a zip file that begins with this mark."""
    pieces = content.split(mark)
    assert len(pieces) > 1
    return mark.join(
        [pieces[0], *(piece[: offset - 4] + data + piece[offset - 4 + len(data) :] for piece in pieces[1:])]
    )


def with_entry(info: zipfile.ZipInfo, data: bytes = b"x") -> bytes:
    """The small book's zip file with one more entry."""
    content = io.BytesIO(small_zip())
    with zipfile.ZipFile(content, "a") as archive:
        archive.writestr(info, data)
    return content.getvalue()


def a_link() -> zipfile.ZipInfo:
    """A symbolic link."""
    info = zipfile.ZipInfo("small/link")
    info.external_attr = (stat.S_IFLNK | 0o777) << 16
    return info


def packed_with(method: int) -> bytes:
    """The small book packed in another way."""
    return zipped(unzipped(small_zip()), method)


CENTRAL, LOCAL = b"PK\x01\x02", b"PK\x03\x04"

ZIP_FILES = [
    ("empty", b"", "this is not a zip file", "a zip file with book.toml"),
    ("text", b"sku,title\n", "this is not a zip file", "a zip file with book.toml"),
    ("old workbook", OLE, "old .xls workbook", "a zip file with book.toml"),
    ("RAR", b"Rar!\x1a\x07", "a RAR file", "a zip file with book.toml"),
    ("truncated", small_zip()[:-30], "damaged or only a part", "a zip file with book.toml"),
    ("first half", small_zip()[:3000], "damaged or only a part", "a zip file with book.toml"),
    ("wrong CRC", changed(small_zip(), CENTRAL, 16, b"\1\2\3\4"), "is damaged", "make the file again"),
    ("shorter than it says", changed(small_zip(), CENTRAL, 24, struct.pack("<I", 9000)), "not as long", "again"),
    ("longer than it says", changed(small_zip(), CENTRAL, 24, struct.pack("<I", 3)), "is damaged", "again"),
    ("encrypted", changed(small_zip(), CENTRAL, 8, b"\1\0"), "is encrypted", "without a password"),
    ("LZMA", lambda: packed_with(zipfile.ZIP_LZMA), "packed in an unusual way", "deflate"),
    ("bzip2", lambda: packed_with(zipfile.ZIP_BZIP2), "packed in an unusual way", "deflate"),
    ("a link", with_entry(a_link(), b"/etc/passwd"), "a link to another file", "the file itself"),
    ("absolute", with_entry(zipfile.ZipInfo("/etc/x.csv")), "lies outside", "one folder"),
    ("a drive", with_entry(zipfile.ZipInfo("C:/x.csv")), "lies outside", "one folder"),
    ("above", with_entry(zipfile.ZipInfo("small/../../x.csv")), "lies outside", "one folder"),
    ("above, from Windows", with_entry(zipfile.ZipInfo("..\\x.csv")), "lies outside", "one folder"),
    ("nowhere", with_entry(zipfile.ZipInfo("a//x.csv")), "lies outside", "one folder"),
    ("twice, in capitals", with_entry(zipfile.ZipInfo("Small/Parts.csv")), "twice", "each file once"),
    ("201 entries", zipped({f"small/{n}": b"" for n in range(201)}), "too many entries", "at most 200"),
    ("100,000 entries", lambda: CENTRAL * 100_000, "too many entries", "at most 200"),
    (
        "one large entry",
        lambda: zipped({"book.toml": bytes(32_000_001)}, zipfile.ZIP_STORED),
        "too large",
        "at most 32 MB",
    ),
    ("too large in all", lambda: zipped({n: bytes(31_000_000) for n in "abc"}), "too large unpacked", "at most 64 MB"),
    ("made to burst", lambda: zipped({"book.toml": bytes(20_000_000)}), "made to burst", "the tables of a book"),
    ("a large file", lambda: bytes(64_000_001), "the file is too large", "at most 64 MB"),
]


@pytest.mark.parametrize(
    ("content", "message", "suggestion"), [each[1:] for each in ZIP_FILES], ids=[e[0] for e in ZIP_FILES]
)
def test_a_zip_file_that_cannot_be_trusted_is_not_unpacked(content: Content, message: str, suggestion: str) -> None:
    """One flaw about the whole, and no book."""
    assert_refused(from_zip(made(content)), message, suggestion)


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_name_that_is_there_twice_is_refused() -> None:
    """One program would read the first, another the second."""
    assert_refused(from_zip(with_entry(zipfile.ZipInfo("small/parts.csv"))), "twice", "each file once")
