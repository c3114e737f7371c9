"""The units of a rate book in the words of a locale."""

from collections.abc import Mapping, MutableMapping
from types import MappingProxyType
from typing import Any, cast

from babel import Locale
from babel.localedata import LocaleDataDict, load

UnitPatterns = Mapping[str, Mapping[str, str]]
"""By unit and plural form, such as "{0} min"; the form "other" serves for those that are missing."""

CLDR_NAMES = {
    "m": "length-meter",
    "mm": "length-millimeter",
    "ml": "volume-milliliter",
    "m2": "area-square-meter",
    "g": "mass-gram",
    "kg": "mass-kilogram",
    "h": "duration-hour",
    "min": "duration-minute",
    "day": "duration-day",
}
"""Any other unit is the owner's own word and shown as it is."""


def unit_patterns(locale: Locale) -> UnitPatterns:
    """The short patterns of every unit.

    Babel's format_unit takes the unit's name for a form that is missing ("1 horas"), CLDR "other" ("1 h").
    """
    data = cast("MutableMapping[str | int | None, Any]", load(str(locale)))
    patterns = LocaleDataDict(data)["unit_patterns"]
    short = {unit: MappingProxyType(dict(patterns[name]["short"])) for unit, name in CLDR_NAMES.items()}
    return MappingProxyType(short)
