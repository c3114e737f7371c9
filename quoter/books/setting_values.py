"""The values of a TOML document, read by their declarations; what is wrong, absent or unknown becomes a flaw."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from quoter.books.cells import WrongCell
from quoter.books.settings import Setting
from quoter.books.suggest import Suggestions
from quoter.books.tables import REQUIRED
from quoter.problems import Flaw

LONGEST_SHOWN = 80


def read_settings(
    document: Mapping[str, Any],
    settings: Iterable[Setting],
    file: str,
    flaws: list[Flaw],
    within: str = "",
    beside: Iterable[str] = (),
) -> dict[str, Any]:
    """The settings of a TOML table by dotted key, defaults filled in; what is absent, wrong or unknown is a flaw.

    `beside` are the keys that are read elsewhere. A section that is missing or no table is one flaw, not one for each
    of its settings; so is a misspelt key, whose right name is then not called missing.
    """
    declared = tuple(settings)
    known = {setting.key for setting in declared} | set(beside)
    found = [*_unknown_flaws(document, known), *_section_flaws(document, declared)]
    done = {flaw.column for flaw in found} | {flaw.suggestion.removeprefix("perhaps ") for flaw in found}
    flaws += (
        Flaw(file, within + flaw.column, flaw.message, value=flaw.value, suggestion=flaw.suggestion) for flaw in found
    )
    values: dict[str, Any] = {}
    for setting in declared:
        if not done.isdisjoint(_upwards(setting.key)) and dig(document, setting.key) is None:
            continue
        value = dig(document, setting.key)
        try:
            values[setting.key] = _value(value, setting)
        except WrongCell as wrong:
            at = within + setting.key
            flaws.append(Flaw(file, at, wrong.message, value=shown(value), suggestion=wrong.suggestion))
    return values


def read_setting(value: Any, setting: Setting, file: str, at: str, flaws: list[Flaw]) -> Any:
    """One value; None and a flaw where it cannot be read."""
    try:
        return _value(value, setting)
    except WrongCell as wrong:
        flaws.append(Flaw(file, at, wrong.message, value=shown(value), suggestion=wrong.suggestion))
        return None


def _value(found: Any, setting: Setting) -> Any:
    found = found.strip() if isinstance(found, str) else found
    if found is None or found == "":
        if setting.absent is REQUIRED:
            raise WrongCell("must be given", setting.help)
        return setting.reads(setting.absent) if isinstance(setting.absent, str) and setting.absent else setting.absent
    if not isinstance(found, setting.takes):
        raise WrongCell(
            f"not {_WRITTEN[setting.takes][0]}", f"{setting.key.rpartition('.')[2]} = {_WRITTEN[setting.takes][1]}"
        )
    return setting.reads(found)
