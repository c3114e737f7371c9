"""Which locale an answer is written in."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoter.words.languages import MAX_HEADER_LENGTH, best_match
from quoter.words.locales import known_locale


@pytest.mark.parametrize(
    ("header", "tag", "why"),
    [
        (None, "en-IE", "no header"),
        ("", "en-IE", "an empty header"),
        ("de-DE", "de-DE", "a known locale"),
        ("de-de", "de-DE", "tags have no case"),
        ("fr-FR, de;q=0.5", "fr-FR", "no weight is the weight 1"),
        ("fr;q=0.3, de;q=0.5", "de", "the greater weight"),
        ("fr;q=0.5, de;q=0.5", "fr", "of equal weights the first"),
        ("fr ; q=0.5 ,de;Q=0.8", "de", "spaces are optional, q has no case"),
        ("da, en-gb;q=0.8, en;q=0.7", "da", "RFC 9110 section 12.5.4"),
        ("xx, fr;q=0.1", "fr", "an unknown language is passed over"),
        ("de-ZZ, fr", "de", "an unknown territory leaves the language (RFC 4647 section 3.4)"),
        ("zh-TW", "zh-Hant-TW", "the script that goes without saying"),
        ("en", "en-IE", "the default falls under the range and knows better how this shop writes days"),
        ("en-ZZ", "en-IE", "and so it does under a shortened one"),
        ("en-US, en;q=0.9", "en-US", "who says American gets American"),
        ("*", "en-IE", "anything"),
        ("xx, *;q=0.5", "en-IE", "anything else"),
        ("de;q=0, *", "en-IE", "anything but German"),
        ("de-ZZ, de;q=0, fr;q=0.1", "fr", "what is refused serves no shortened range"),
        ("en;q=0, en-IE;q=0", "en-IE", "nothing wanted: RFC 9110 lets a server disregard the header"),
        ("de;q=0", "en-IE", "a refusal is no wish"),
        (",, de ,", "de", "RFC 9110 section 5.6.1: empty elements are ignored"),
    ],
)
def test_the_header_chooses(header: str | None, tag: str, why: str) -> None:
    """By weight, then by order; with an Irish shop's default."""
    assert best_match(header, "en-IE") == tag, why


@pytest.mark.parametrize(
    "header",
    [
        "de;q=2",
        "de;q=0.1234",
        "de;q=-1",
        "de;q=",
        "de;q=0,5",
        "de;level=1",
        "de_DE",
        "de;;q=1",
        "toolonglanguage",
        "dé",
        "de\x00",
        "de-" * 200,
        ", ".join(["de"] * MAX_HEADER_LENGTH),
    ],
)
def test_a_malformed_header_is_ignored(header: str) -> None:
    """As a whole, as is one that is too long."""
    assert best_match(header, "en-IE") == "en-IE"


def test_what_was_asked_for_goes_before_the_header() -> None:
    """In its full form."""
    assert best_match("de", "en-IE", requested="FR-ca") == "fr-CA"


def test_a_default_that_serves_is_returned_as_the_book_has_it() -> None:
    """Though its full form is zh-Hant-TW."""
    assert best_match("zh-tw", "zh-TW") == "zh-TW"


@pytest.mark.parametrize("requested", [None, "", "en-ZZ", "xx", "*"])
def test_an_unknown_wish_counts_as_none(requested: str | None) -> None:
    """The edge may refuse it before, by known_locale."""
    assert best_match("de", "en-IE", requested=requested) == "de"


@pytest.mark.parametrize(
    ("header", "tag"),
    [
        ("fr, de-AT;q=0.5", "de-AT"),
        ("fr", "en-IE"),
        ("fr-FR, en;q=0.1", "en-IE"),
        ("en, de;q=0.5", "en-IE"),
        ("zh-TW, de", "de"),
    ],
)
def test_a_header_chooses_among_the_languages_offered(header: str, tag: str) -> None:
    """Any locale of them; the default is always on offer."""
    assert best_match(header, "en-IE", offered={"de"}) == tag


@settings(deadline=None)
@given(st.text(max_size=600) | st.from_regex(r"([a-z]{1,8}(-[A-Z]{2})?(;q=[01](\.\d{0,4})?)?[, ]*){0,20}"))
def test_no_header_makes_trouble(header: str) -> None:
    """Whatever comes, the answer is a locale with formats."""
    assert known_locale(best_match(header, "en-IE"))
