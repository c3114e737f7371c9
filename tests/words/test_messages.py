"""Messages as text."""

import pytest

from quoter.messages import Message
from quoter.words.formats import formats_for
from quoter.words.messages import rendered

ENGLISH = formats_for("en-IE")
GERMAN = formats_for("de-AT")


class German:
    """A catalogue with one sentence in one language."""

    def translated(self, template: str, tag: str) -> str:
        return {"Fit {part}": "Einbau: {part}"}.get(template, template) if tag.startswith("de") else template


def test_a_message_without_a_translation_is_its_english_text() -> None:
    """With its places filled."""
    assert rendered(Message("Fit {part}", {"part": "screen A1"}), ENGLISH) == "Fit screen A1"
    assert rendered(Message("Bench time"), GERMAN) == "Bench time"


def test_a_message_is_translated_before_its_places_are_filled() -> None:
    """The template is the key, and the tag of the formats says which language."""
    message = Message("Fit {part}", {"part": "screen A1"})
    assert rendered(message, GERMAN, German()) == "Einbau: screen A1"
    assert rendered(message, ENGLISH, German()) == "Fit screen A1"


@pytest.mark.parametrize("text", ["{part}", "{other}", "{", "}}", "{0}", "{part.__class__}", "%s", "<b>"])
def test_what_fills_a_place_stays_as_it_is(text: str) -> None:
    """An owner's words are never read as a template."""
    assert rendered(Message("Fit {part}", {"part": text}), ENGLISH) == f"Fit {text}"


def test_a_brace_in_a_template_is_doubled() -> None:
    """As in str.format."""
    assert rendered(Message("{{{part}}}", {"part": "seal"}), ENGLISH) == "{seal}"


def test_a_place_that_nothing_fills_is_named() -> None:
    """With the template, so that it can be found."""
    with pytest.raises(LookupError, match=r"\{grade\} in 'Fit \{part\} of \{grade\}'"):
        rendered(Message("Fit {part} of {grade}", {"part": "screen"}), ENGLISH)


@pytest.mark.parametrize("template", ["Fit {", "Fit }", "Fit {}"])
def test_a_broken_template_is_an_error(template: str) -> None:
    """Templates are ours, so the fault is too."""
    with pytest.raises(ValueError, match=r"[Ff]ormat"):
        rendered(Message(template), ENGLISH)


def test_a_place_is_filled_with_text_only() -> None:
    """A number would come out in no locale's format."""
    with pytest.raises(TypeError, match=r"\{count\}.*wants text, not 3"):
        rendered(Message("{count} screws", {"count": 3}), ENGLISH)  # type: ignore[dict-item]
