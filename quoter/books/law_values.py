"""A law profile's file as values: settings, notices and the texts of each, read by their declarations."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from quoter.books.cells import WrongCell, language_tag
from quoter.books.setting_values import read_settings, read_table, read_value, setting_flaw, shown
from quoter.books.settings import LAW_SECTIONS, LAW_SETTINGS, NOTICE_SETTINGS, NOTICE_TEXT
from quoter.problems import Flaw

Values = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class ReadLaw:
    """A profile whose values have been read. What could not be read is not among them, or None among the texts."""

    file: str
    settings: Values
    notices: Mapping[str, Values]


def read_law(document: Values, file: str, flaws: list[Flaw]) -> ReadLaw:
    """Reads every value. Finds and never raises."""
    settings = read_settings(document, (*LAW_SETTINGS, *LAW_SECTIONS), file, flaws)
    notices = settings.pop("notices", {})
    return ReadLaw(file, settings, {code: _notice(code, content, file, flaws) for code, content in notices.items()})


def _notice(code: str, content: Any, file: str, flaws: list[Flaw]) -> dict[str, Any]:
    at = f"notices.{code}"
    notice = read_table(content, NOTICE_SETTINGS, file, at, flaws)
    if "texts" in notice:
        notice["texts"] = _texts(notice["texts"], file, f"{at}.texts", flaws)
    return notice


def _texts(found: Values, file: str, within: str, flaws: list[Flaw]) -> dict[str, str | None]:
    """The text of each language; of one that is written in two ways the first, and a flaw."""
    texts: dict[str, str | None] = {}
    for tag, content in found.items():
        usual, text = _text(tag, content, file, within, flaws)
        if usual in texts:
            message, right = f"the language is there already, as {usual}", "one text for a language"
            flaws.append(setting_flaw(file, f"{within}.{tag}", message, shown(content), right))
        texts.setdefault(usual, text)
    return texts


def _text(tag: str, found: Any, file: str, within: str, flaws: list[Flaw]) -> tuple[str, str | None]:
    """The text under its language in the usual case, de-AT."""
    at = f"{within}.{tag}"
    try:
        usual = language_tag(tag)
    except WrongCell as wrong:
        flaws.append(setting_flaw(file, at, wrong.message, shown(tag), wrong.suggestion))
        return tag, None
    return usual, read_value(found, NOTICE_TEXT, file, at, flaws)
