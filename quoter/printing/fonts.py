"""The fonts that papers are set in: Latin, Greek, Cyrillic, Arabic, Hebrew and Thai, and Japanese beside them.

They come with the packages pymupdf-fonts (FiraGO) and pylopdf-fonts-cjk (Noto Sans JP), both under the OFL 1.1.
"""

import tempfile
import threading
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pylopdf_fonts_cjk
import pymupdf_fonts

if TYPE_CHECKING:
    import typst

FACES = ("figo", "figbo", "figit")
"""Upright, bold and italic, as pymupdf-fonts calls them."""

SAMPLE = b'#set text(font: ("FiraGO", "Noto Sans JP"))\nupright *bold* _italic_ \xe6\x97\xa5'
"""A letter of each face."""

_MAKING = threading.Lock()


def fonts() -> "typst.Fonts":
    """All faces, for every compiler of this process."""
    with _MAKING:
        return _fonts()


@cache
def _fonts() -> "typst.Fonts":
    """Read from a folder, which the library insists on. A face is read when it is first used, and then kept.

    So each is used once, and nothing is left behind that somebody could tidy away or put something else in place of.
    """
    import typst

    with tempfile.TemporaryDirectory(prefix="quoter-fonts-") as folder:
        for face in FACES:
            (Path(folder) / f"{face}.ttf").write_bytes(pymupdf_fonts.myfont(face))
        japanese = pylopdf_fonts_cjk.sans_path().parent
        made = typst.Fonts(False, False, [folder, str(japanese)])
        typst.Compiler(SAMPLE, font_paths=made).compile(format="pdf")
    return made
