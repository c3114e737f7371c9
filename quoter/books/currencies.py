"""ISO 4217: the currencies of the standard's own list, through the `iso4217` package."""

from functools import lru_cache

from iso4217 import Currency as Listed


@lru_cache(maxsize=1024)
def minor_unit(code: str) -> int | None:
    """The number of decimals of a currency by the standard; None where it is no currency that money comes in."""
    try:
        listed = Listed(code)
    except ValueError:
        return None
    return listed.exponent if listed.code == code else None
