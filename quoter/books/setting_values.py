"""The values of a TOML document, read by their declarations; what is wrong, absent or unknown becomes a flaw."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from quoter.books.cells import WrongCell
from quoter.books.settings import Setting
from quoter.books.suggest import Suggestions
from quoter.books.tables import REQUIRED
from quoter.problems import Flaw

LONGEST_SHOWN = 80
LONGEST_KEY = 160


def read_settings(
    document: Mapping[str, Any], settings: Iterable[Setting], file: str, flaws: list[Flaw], within: str = ""
) -> dict[str, Any]:
    """The settings of a TOML table by dotted key, defaults filled in; what is absent, wrong or unknown is a flaw.

    One fault is one flaw: a section that is missing or no table speaks for its settings, and a misspelt key for the
    one that it was meant to be.
    """
    declared = tuple(settings)
    found = list(_unknown_keys(document, declared))
    spoken_for = {meant for _, meant in found}
    found += _wrong_sections(document, declared, spoken_for)
    spoken_for |= {section for _, section in found}
    flaws += (replace(flaw, table=file, column=(within + flaw.column)[:LONGEST_KEY]) for flaw, _ in found)
    values: dict[str, Any] = {}
    for setting in declared:
        if spoken_for.isdisjoint(_with_sections(setting.key)):
            value, at = dig(document, setting.key), within + setting.key
            try:
                values[setting.key] = _value(value, setting, at)
            except WrongCell as wrong:
                flaws.append(_wrong(file, at, value, wrong, setting))
    return values


def read_value(found: Any, setting: Setting, file: str, at: str, flaws: list[Flaw]) -> Any:
    """One value that must be given; None and a flaw where it cannot be read."""
    try:
        return _value(found, setting, at)
    except WrongCell as wrong:
        flaws.append(_wrong(file, at, found, wrong, setting))
        return None


def _wrong(file: str, at: str, found: Any, wrong: WrongCell, setting: Setting) -> Flaw:
    return setting_flaw(file, at, wrong.message, shown(found), wrong.suggestion or setting.help)


def read_table(item: Any, settings: tuple[Setting, ...], file: str, at: str, flaws: list[Flaw]) -> dict[str, Any]:
    """A table below a key or in a list; one that is no table is a flaw and reads as empty."""
    if isinstance(item, Mapping):
        return read_settings(item, settings, file, flaws, f"{at}.")
    flaws.append(setting_flaw(file, at, "not a table", shown(item), ", ".join(setting.key for setting in settings)))
    return {}


def setting_flaw(file: str, at: str, message: str, value: str = "", suggestion: str = "") -> Flaw:
    """A flaw at a dotted key of a TOML file."""
    return Flaw(file, at[:LONGEST_KEY], message, value=value, suggestion=suggestion)


def shown(value: Any) -> str:
    """A value as a flaw shows it."""
    if value is None or isinstance(value, bool):
        return "" if value is None else str(value).lower()
    if isinstance(value, str):
        return value[:LONGEST_SHOWN]
    if isinstance(value, list | Mapping):
        return "[…]" if isinstance(value, list) else "{…}"
    return str(value)[:LONGEST_SHOWN]


def dig(document: Mapping[str, Any], key: str) -> Any:
    """What stands under a dotted key, or None."""
    found: Any = document
    for word in key.split("."):
        if not isinstance(found, Mapping):
            return None
        found = found.get(word)
    return found


def _value(found: Any, setting: Setting, at: str) -> Any:
    found = found.strip() if isinstance(found, str) else found
    if found is None or found == "":
        if setting.absent is REQUIRED:
            raise WrongCell("must be given")
        return setting.reads(setting.absent) if isinstance(setting.absent, str) and setting.absent else setting.absent
    if not isinstance(found, setting.takes):
        raise _not_written_like(setting, at.rpartition(".")[2])
    return setting.reads(found)


def _not_written_like(setting: Setting, key: str) -> WrongCell:
    if setting.takes is str:
        return WrongCell("not text", f'{key} = "…"')
    if setting.takes is bool:
        return WrongCell("neither true nor false", f"{key} = true or {key} = false, without quotation marks")
    return WrongCell("not a list" if setting.takes is list else "not a table")


def _with_sections(key: str) -> Iterator[str]:
    """policy.price_ending.unit, policy.price_ending, policy."""
    while key:
        yield key
        key = key.rpartition(".")[0]


def _sections(settings: Iterable[Setting]) -> dict[str, list[Setting]]:
    """The settings below each section, outer sections first."""
    sections: dict[str, list[Setting]] = {}
    for setting in settings:
        for section in reversed([*_with_sections(setting.key)][1:]):
            sections.setdefault(section, []).append(setting)
    return sections


def _unknown_keys(document: Mapping[str, Any], settings: tuple[Setting, ...]) -> Iterator[tuple[Flaw, str]]:
    """A flaw for every key that means nothing, with the absent key that it was probably meant to be."""
    known = {setting.key for setting in settings}
    everything = known | _sections(settings).keys()
    likely = Suggestions(everything)
    for key in _undeclared(document, known, everything):
        meant = likely.nearest(key)
        flaw = setting_flaw("", key or '""', "there is no such setting", "", likely.perhaps(key, "leave it out"))
        yield flaw, meant if dig(document, meant) is None else ""


def _undeclared(document: Mapping[str, Any], known: set[str], everything: set[str], within: str = "") -> Iterator[str]:
    for key, value in document.items():
        dotted = within + key
        if "." in key or dotted not in everything:
            yield dotted
        elif dotted not in known and isinstance(value, Mapping):
            yield from _undeclared(value, known, everything, dotted + ".")


def _wrong_sections(
    document: Mapping[str, Any], settings: tuple[Setting, ...], spoken_for: set[str]
) -> Iterator[tuple[Flaw, str]]:
    """A flaw for every section that is no table, or that is missing with several settings that must be given."""
    for section, inside in _sections(settings).items():
        found = dig(document, section)
        needed = [
            each for each in inside if each.absent is REQUIRED and spoken_for.isdisjoint(_with_sections(each.key))
        ]
        right = f"[{section}] with {', '.join(each.key.removeprefix(f'{section}.') for each in needed or inside)}"
        if found is not None and not isinstance(found, Mapping):
            yield setting_flaw("", section, "not a table", shown(found), right), section
        elif found is None and len(needed) > 1:
            yield setting_flaw("", section, "the section is missing", "", right), section
