"""Looks into a PDF with programs that had no part in making it."""

import re
from io import BytesIO
from typing import Any

import pypdfium2
from pypdf import PdfReader

NOT_SEEN = re.compile("[\u00ad\u200b-\u200f\u2028-\u202e\u2060-\u2069]")
"""Marks of direction and places to break, which a reader does not see."""


def reader_of(pdf: bytes) -> PdfReader:
    """The structure of the file."""
    return PdfReader(BytesIO(pdf), strict=True)


def text_of(pdf: bytes) -> str:
    """All that is written, without spaces: where lines break is the printer's business."""
    return squeezed("".join(page.extract_text() for page in reader_of(pdf).pages))


def squeezed(text: str) -> str:
    """Without spaces and without what is not seen."""
    return NOT_SEEN.sub("", re.sub(r"\s", "", text))


def fonts_of(pdf: bytes) -> dict[str, bool]:
    """The fonts that are used by name, and whether each is in the file."""
    found: dict[str, bool] = {}
    for page in reader_of(pdf).pages:
        for reference in page["/Resources"].get("/Font", {}).values():
            font = reference.get_object()
            below = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
            held = below["/FontDescriptor"].get_object()
            found[font["/BaseFont"]] = any(f"/FontFile{kind}" in held for kind in ("", "2", "3"))
    return found


def shares_of_ink(pdf: bytes) -> list[float]:
    """How much of each page is not white, as another program draws it."""
    shares = []
    with pypdfium2.PdfDocument(pdf) as document:
        for page in document:
            drawn = bytes(page.render(scale=0.5, grayscale=True).buffer)
            shares.append(sum(dot < 200 for dot in drawn) / len(drawn))
    return shares


def links_of(pdf: bytes) -> list[str]:
    """Where its links lead."""
    found: list[Any] = []
    for page in reader_of(pdf).pages:
        found += [note.get_object()["/A"]["/URI"] for note in page.get("/Annots", ())]
    return [str(each) for each in found]


def page_sizes(pdf: bytes) -> set[tuple[int, int]]:
    """In points, whole ones."""
    return {(round(page.mediabox.width), round(page.mediabox.height)) for page in reader_of(pdf).pages}
