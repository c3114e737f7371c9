"""Numbers written in other ways than the format's: what they probably mean."""

import unicodedata
from decimal import Decimal, DecimalException

_LONGEST = 40
_SIGNS = str.maketrans({"−": "-", "٫": ",", "٬": "", "'": "", "’": "", "_": ""})


def meant(cell: str) -> tuple[str, ...]:
    """The plain numbers that 1,5 or 1.234,56 or 1e5 or 20 % or ١٢ may stand for; none where it is no number at all."""
    if len(cell) > _LONGEST:
        return ()
    plain = "".join(map(_sign, cell)).translate(_SIGNS)
    share = plain.endswith("%")
    found = (_plain(reading, share) for reading in _readings(plain.removesuffix("%")))
    return tuple(dict.fromkeys(filter(None, found)))


def _sign(sign: str) -> str:
    """A digit of any script as 0 to 9; nothing for spaces and the signs of currencies."""
    if sign.isspace() or unicodedata.category(sign) == "Sc":
        return ""
    return str(unicodedata.decimal(sign, sign))


def _readings(number: str) -> tuple[str, ...]:
    """With the comma as decimal sign, as thousands separator, or both where 1,234 leaves it open."""
    commas, points = number.count(","), number.count(".")
    if commas and points:
        decimal = max(",", ".", key=number.rfind)
        return (number.replace("," if decimal == "." else ".", "").replace(",", "."),)
    if commas > 1 or points > 1:
        return (number.replace(",", "").replace(".", ""),)
    is_open = commas and len(number.partition(",")[2]) == 3 and not number.startswith("0")
    thousands = (number.replace(",", ""),) if is_open else ()
    return (number.replace(",", "."), *thousands)


def _plain(number: str, share: bool) -> str:
    try:
        value = Decimal(number) / (100 if share else 1)
    except DecimalException:
        return ""
    return format(value, "f") if value.is_finite() and abs(value.adjusted()) < 12 else ""
