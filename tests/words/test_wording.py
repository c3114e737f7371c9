"""Sentences and figures for one reader."""

import pytest

from quoter.messages import Message
from quoter.words.wording import filled, wording_for

ENGLISH = wording_for("en-IE")


def test_a_message_without_a_translation_is_its_english_text() -> None:
    """With its places filled; Dutch has formats of its own and English words."""
    assert ENGLISH.text(Message("Fit {part}", {"part": "screen A1"})) == "Fit screen A1"
    dutch = wording_for("nl-BE")
    assert (dutch.say("Bench time"), dutch.formats.tag, dutch.language) == ("Bench time", "nl-BE", "en")


@pytest.mark.parametrize("text", ["{part}", "{other}", "{", "}}", "{0}", "{part.__class__}", "%s", "<b>"])
def test_what_fills_a_place_stays_as_it_is(text: str) -> None:
    """An owner's words are never read as a template."""
    assert ENGLISH.say("Fit {part}", part=text) == f"Fit {text}"


def test_a_brace_in_a_template_is_doubled() -> None:
    """As in str.format."""
    assert filled("{{{part}}}", {"part": "seal"}) == "{seal}"


def test_a_place_that_nothing_fills_is_named() -> None:
    """With the template, so that it can be found."""
    with pytest.raises(LookupError, match=r"\{grade\} in 'Fit \{part\} of \{grade\}'"):
        filled("Fit {part} of {grade}", {"part": "screen"})


@pytest.mark.parametrize("template", ["Fit {", "Fit }", "Fit {}"])
def test_a_broken_template_is_an_error(template: str) -> None:
    """Templates are ours, so the fault is too."""
    with pytest.raises(ValueError, match=r"[Ff]ormat"):
        filled(template, {})


def test_a_place_is_filled_with_text_only() -> None:
    """A number would come out in no locale's format."""
    with pytest.raises(TypeError, match=r"\{count\}.*wants text, not 3"):
        filled("{count} screws", {"count": 3})  # type: ignore[dict-item]


def test_a_text_of_the_book_is_said_in_the_owners_translation() -> None:
    """The one for the locale itself first, then the one for its language; else as the book says it."""
    glossary = {"de": {"Battery": "Akku", "Screen": "Display"}, "de-AT": {"Screen": "Bildschirm"}}
    austrian = wording_for("de-AT").with_glossary(glossary)
    assert [austrian.of_book(text) for text in ("Battery", "Screen", "Camera")] == ["Akku", "Bildschirm", "Camera"]
    assert ENGLISH.with_glossary(glossary).of_book("Battery") == "Battery"
    assert austrian.text(Message("{part}", {"part": "Battery"})) == "Akku"


@pytest.mark.parametrize(("tag", "direction"), [("ar-EG", "rtl"), ("ar", "rtl"), ("de", "ltr"), ("he-IL", "ltr")])
def test_words_run_in_the_direction_of_their_language(tag: str, direction: str) -> None:
    """Hebrew readers get English words, which run from left to right."""
    assert wording_for(tag).direction == direction
