"""The fonts that papers are set in: Latin, Greek, Cyrillic, Arabic, Hebrew and Thai, and Japanese beside them.

They come with the packages pymupdf-fonts (FiraGO) and pylopdf-fonts-cjk (Noto Sans JP), both under the OFL 1.1.
"""

import tempfile
from functools import cache
from pathlib import Path

import typst

FACES = ("figo", "figbo", "figit")
"""Upright, bold and italic, as pymupdf-fonts calls them."""


@cache
def fonts() -> typst.Fonts:
    """All faces. They are written to a folder of this process alone, and read before it goes."""
    import pylopdf_fonts_cjk
    import pymupdf_fonts

    folder = _folder()
    for face in FACES:
        (Path(folder.name) / f"{face}.ttf").write_bytes(pymupdf_fonts.myfont(face))
    japanese = pylopdf_fonts_cjk.sans_path().parent
    return typst.Fonts(False, False, [folder.name, str(japanese)])


@cache
def _folder() -> tempfile.TemporaryDirectory[str]:
    """Kept until the process ends: a font is read when it is first needed."""
    return tempfile.TemporaryDirectory(prefix="quoter-fonts-")
