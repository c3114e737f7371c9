"""The locales that there are formats for, by BCP 47 tag."""

import re
from collections.abc import Mapping
from functools import cache, lru_cache
from pathlib import Path
from types import MappingProxyType

from babel import Locale, localedata
from babel.core import get_global

_USUAL_TAG = re.compile(r"[a-z]{2,3}(-[A-Z][a-z]{3})?(-([A-Z]{2}|[0-9]{3}))?", re.ASCII)


def known_locale(tag: str) -> bool:
    """Is this the tag of a locale with formats of its own? en-ZZ is not, though Babel reads it as en-US."""
    return _name_of(tag) is not None


def canonical(tag: str) -> str:
    """A known tag in full: EN-ie is en-IE, zh-TW is zh-Hant-TW. ValueError for one that is not known."""
    name = _name_of(tag)
    if name is None:
        raise ValueError(f"{tag!r} is not the tag of a known locale, such as en-IE")
    return _tag(name)


def locale_of(tag: str) -> Locale:
    """Babel's locale of a known tag; ValueError for one that is not known."""
    return Locale.parse(canonical(tag), sep="-")


@lru_cache(maxsize=1000)
def _name_of(tag: str) -> str | None:
    """Babel's name of the locale. Most tags are written as it names its file; to list all takes a program's start."""
    name = tag.replace("-", "_")
    if _USUAL_TAG.fullmatch(tag) and Path(localedata.resolve_locale_filename(name)).exists():
        return name
    return _names_by_tag().get(tag.lower())


@cache
def _names_by_tag() -> Mapping[str, str]:
    """Babel's name of each locale by its tag in lower case, with and without a script that needs no saying.

    Babel's own search guesses, and walks through a cache that other threads may be filling.
    """
    names = localedata.locale_identifiers()
    shortened = {_tag(_without_likely_script(name)).lower(): name for name in names}
    return MappingProxyType(shortened | {_tag(name).lower(): name for name in names})


def _tag(name: str) -> str:
    return name.replace("_", "-")


def _without_likely_script(name: str) -> str:
    """zh_TW for zh_Hant_TW, which is how Taiwan writes; a name whose script must be said stays as it is."""
    match name.split("_"):
        case [language, script, territory] if len(script) == 4:
            likely = get_global("likely_subtags")
            usual = likely.get(f"{language}_{territory}") or likely.get(language, "")
            return f"{language}_{territory}" if usual.startswith(f"{language}_{script}_") else name
    return name
