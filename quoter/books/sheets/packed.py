"""Zip files: written as the same bytes every time, and read without believing what they say about themselves."""

import io
import re
import stat
import struct
import zipfile
import zlib
from collections.abc import Collection, Mapping

from quoter.books.cells import WrongCell
from quoter.problems import TooLarge

LARGEST_IN_ALL = 64_000_000
"""Bytes, unpacked and packed."""
LARGEST_ENTRY = 32_000_000
MOST_ENTRIES = 200
HIGHEST_RATIO = 500
"""Of an entry's size to its packed size. Tables rarely exceed 50; what is made to burst reaches 1,000."""

_UNSUSPICIOUS = 1_000_000
"""Bytes below which nobody minds the ratio."""
_UNIX = 3
_ENTRY_MARK = b"PK\x01\x02"
_MANY_MARKS = 5_000
_FOREIGN = (
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "this is an old .xls workbook, or one with a password"),
    (b"%PDF", "this is a PDF file"),
    (b"Rar!", "this is a RAR file"),
    (b"7z\xbc\xaf", "this is a 7z file"),
    (b"\x1f\x8b", "this is a gzip file"),
)
_DRIVE = re.compile(r"[A-Za-z]:")
_OF_NO_INTEREST = re.compile(r"(.*/)?(__macosx/.*|\._[^/]*|\.ds_store|thumbs\.db|desktop\.ini)")
_DAMAGED = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    LookupError,
    NotImplementedError,
    OSError,
    OverflowError,
    RuntimeError,
    ValueError,
)
"""What `zipfile` raises at bytes that are no zip file, or no longer one."""


class Entries:
    """The files in a zip file by name, folders joined by `/`. No two differ by case alone; bytes are read on demand."""

    def __init__(self, archive: zipfile.ZipFile) -> None:
        self._archive = archive
        self._by_name = _by_name(archive.infolist())

    @property
    def names(self) -> Collection[str]:
        """The names in the order of the zip file."""
        return self._by_name.keys()

    def read(self, name: str) -> bytes:
        """The bytes of an entry. Raises WrongCell where they are damaged."""
        info = self._by_name[name]
        try:
            with self._archive.open(info) as file:
                content = file.read(info.file_size + 1)
        except _DAMAGED:
            raise WrongCell(f"{info.filename[:80]!r} in the zip file is damaged", "make the file again") from None
        if len(content) != info.file_size:
            raise WrongCell(f"{info.filename[:80]!r} in the zip file is not as long as it says", "make the file again")
        return content


def entries(content: bytes, right: str) -> Entries:
    """The entries of a zip file that is safe to read. Raises WrongCell; `right` is what it should have been."""
    for start, message in _FOREIGN:
        if content.startswith(start):
            raise WrongCell(message, right)
    if len(content) > LARGEST_IN_ALL:
        raise WrongCell("the file is too large", f"at most {LARGEST_IN_ALL // 1_000_000} MB")
    if content.count(_ENTRY_MARK) > _MANY_MARKS:
        raise _too_many()
    try:
        return Entries(zipfile.ZipFile(io.BytesIO(content)))
    except _DAMAGED:
        is_zip = content.startswith(b"PK")
        message = "the zip file is damaged or only a part of it" if is_zip else "this is not a zip file"
        raise WrongCell(message, right) from None


def packed(files: Mapping[str, bytes]) -> bytes:
    """A zip file with these files in this order. Raises TooLarge where `entries` would refuse it."""
    written = io.BytesIO()
    with zipfile.ZipFile(written, "w") as archive:
        for name, content in files.items():
            info = zipfile.ZipInfo(name)  # of 1 January 1980: when it was made is not a part of it
            info.compress_type, info.create_system = zipfile.ZIP_DEFLATED, _UNIX
            info.external_attr = (stat.S_IFREG | 0o644) << 16
            archive.writestr(info, content)
    try:
        entries(written.getvalue(), "")
    except WrongCell as wrong:
        raise TooLarge(f"{wrong.message}; {wrong.suggestion}") from None
    return written.getvalue()


def _too_many() -> WrongCell:
    return WrongCell("the zip file has too many entries", f"at most {MOST_ENTRIES}")


def _by_name(infos: list[zipfile.ZipInfo]) -> dict[str, zipfile.ZipInfo]:
    if len(infos) > MOST_ENTRIES:
        raise _too_many()
    if sum(info.file_size for info in infos) > LARGEST_IN_ALL:
        raise WrongCell("the zip file is too large unpacked", f"at most {LARGEST_IN_ALL // 1_000_000} MB")
    by_name: dict[str, zipfile.ZipInfo] = {}
    folded: set[str] = set()
    for info in infos:
        name = _safe_name(info)
        if name.endswith("/") or _OF_NO_INTEREST.fullmatch(name.casefold()):
            continue
        _check_packing(info)
        if name.casefold() in folded:
            raise WrongCell(f"{name[:80]!r} is in the zip file twice", "each file once")
        folded.add(name.casefold())
        by_name[name] = info
    return by_name


def _safe_name(info: zipfile.ZipInfo) -> str:
    name = info.filename.replace("\\", "/")
    if name.startswith("/") or _DRIVE.match(name) or not {"", ".", ".."}.isdisjoint(name.removesuffix("/").split("/")):
        raise WrongCell(f"{name[:80]!r} in the zip file lies outside of it", "files in one folder")
    if stat.S_ISLNK(info.external_attr >> 16):
        raise WrongCell(f"{name[:80]!r} in the zip file is a link to another file", "the file itself")
    return name


def _check_packing(info: zipfile.ZipInfo) -> None:
    at = f"{info.filename[:80]!r} in the zip file"
    if info.flag_bits & 1:
        raise WrongCell(f"{at} is encrypted", "a zip file without a password")
    if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise WrongCell(f"{at} is packed in an unusual way", "the usual method, deflate")
    if info.file_size > LARGEST_ENTRY:
        raise WrongCell(f"{at} is too large", f"at most {LARGEST_ENTRY // 1_000_000} MB")
    if info.file_size > max(_UNSUSPICIOUS, info.compress_size * HIGHEST_RATIO):
        raise WrongCell(f"{at} is packed so densely that it looks made to burst", "the tables of a book")
