"""A link as a code to scan."""

from collections.abc import Mapping
from io import BytesIO
from typing import Any

import segno

QUIET_ZONE = 4
"""Modules of light around the code, ISO/IEC 18004 section 6.3.8."""


def qr_of(sheet: Mapping[str, Any]) -> str:
    """The code of a sheet's link; nothing for one without."""
    link = sheet.get("online", {}).get("text", "")
    return qr_svg(link) if link else ""


def qr_svg(link: str) -> str:
    """An SVG element, black on white wherever it stands, without a size of its own."""
    drawn = BytesIO()
    code = segno.make_qr(link, error="m")
    code.save(drawn, kind="svg", xmldecl=False, border=QUIET_ZONE, omitsize=True, light="#ffffff", nl=False)
    return drawn.getvalue().decode()
