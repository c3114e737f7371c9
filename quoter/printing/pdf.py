"""Sheets as PDF: tagged, with a language and a title, and byte for byte the same for the same sheet."""

import datetime as dt
import logging
import threading
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import orjson

from quoter.printing.fonts import fonts
from quoter.printing.qr import qr_of

if TYPE_CHECKING:
    import typst

TEMPLATES = Path(__file__).with_name("templates")

PAPERS = {"a4": "a4", "letter": "us-letter"}

ACCESSIBLE = ("ua-1",)
"""PDF/UA-1, ISO 14289. A letter that no font has (an emoji in a name) does not meet it; then it is only tagged."""

log = logging.getLogger(__name__)


def pdf_of(sheet: Mapping[str, Any], *, paper: str, made_at: str) -> bytes:
    """A sheet as PDF; its `copy` says which template draws it. `made_at` is what the file says of its time."""
    import typst  # large, and not needed by a service that nobody asks for papers

    inputs = {
        "sheet": orjson.dumps(sheet).decode(),
        "paper": PAPERS[paper],
        "qr": qr_of(sheet),
    }
    moment = dt.datetime.fromisoformat(made_at).replace(microsecond=0)
    template = str(TEMPLATES / f"{sheet['copy']}.typ")
    try:
        return _compiled(template, inputs, moment, ACCESSIBLE)
    except typst.TypstError as error:
        log.info("%s is printed without the standard for accessibility: %s", sheet["title"], error.message)
        return _compiled(template, inputs, moment, ())


def _compiled(template: str, inputs: dict[str, str], moment: dt.datetime, standards: tuple[Any, ...]) -> bytes:
    made = _compiler().compile(
        template, format="pdf", sys_inputs=inputs, pdf_standards=list(standards), timestamp=moment
    )
    assert isinstance(made, bytes)
    return made


class _OfThread(threading.local):
    """A compiler is for one thread: shared, it fails with "Already borrowed"."""

    compiler: "typst.Compiler | None" = None


_OF_THREAD = _OfThread()


def _compiler() -> "typst.Compiler":
    import typst

    if _OF_THREAD.compiler is None:
        _OF_THREAD.compiler = typst.Compiler(root=str(TEMPLATES), font_paths=fonts())
    return _OF_THREAD.compiler
