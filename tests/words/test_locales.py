"""Which tags are known."""

import pytest
from babel.localedata import locale_identifiers

from quoter.words.formats import formats_for
from quoter.words.locales import canonical, known_locale


@pytest.mark.parametrize(
    "tag", ["en", "en-IE", "EN-ie", "ar-EG", "ja-JP", "es-419", "zh-TW", "zh-Hant-TW", "sr-Latn-RS"]
)
def test_a_locale_with_data_of_its_own_is_known(tag: str) -> None:
    """In any case, with or without the usual script."""
    assert known_locale(tag)


@pytest.mark.parametrize(
    ("tag", "why"),
    [
        ("en-ZZ", "no such territory; Babel would silently answer with en-US"),
        ("pt-IE", "no such data"),
        ("xx", "no such language"),
        ("root", "no language"),
        ("und", "undetermined; Babel would answer with en-US"),
        ("en_IE", "Babel's way to write it, not BCP 47's"),
        ("de-DE-1996", "no such data"),
        ("en-US-u-nu-arab", "an extension"),
        ("../en", "no tag"),
        ("", "no tag"),
        ("en-IE ", "no tag"),
        ("*", "a range, no tag"),
    ],
)
def test_any_other_tag_is_not_known(tag: str, why: str) -> None:
    """And there are no formats for it."""
    assert not known_locale(tag), why
    with pytest.raises(ValueError, match="known locale"):
        formats_for(tag)


@pytest.mark.parametrize(
    ("tag", "full"), [("en-ie", "en-IE"), ("ZH-tw", "zh-Hant-TW"), ("sr-RS", "sr-Cyrl-RS"), ("de", "de")]
)
def test_a_tag_has_one_full_form(tag: str, full: str) -> None:
    """RFC 5646 section 2.1.1 for the case; the script is the likely one of UTS 35."""
    assert canonical(tag) == full


def test_each_locale_is_known_in_any_case_and_named_alike() -> None:
    """Most are found by the name of their file, the others in the list of all."""
    tags = [name.replace("_", "-") for name in locale_identifiers() if name != "root"]
    assert [canonical(tag) for tag in tags] == tags
    assert [canonical(tag.upper()) for tag in tags] == tags
    assert not any(known_locale(f"{tag}-") or known_locale(f"q{tag}") for tag in tags if len(tag) > 3)
