"""Sheets as a page that is read on a screen and printed from a browser: no script, no style of its own."""

from collections.abc import Mapping
from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from quoter.printing.qr import qr_of


def html_of(sheet: Mapping[str, Any]) -> str:
    """A sheet as a whole page; its `copy` says which template draws it."""
    return _templates().get_template(f"{sheet['copy']}.html").render(sheet=sheet, qr=qr_of(sheet))


@cache
def _templates() -> Environment:
    loader = PackageLoader("quoter.printing")
    return Environment(loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True)
