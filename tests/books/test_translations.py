"""The texts of a book in other languages: what is found, in which language, and what is wrong with a row."""

import json
from collections.abc import Callable

import pytest

from books.conftest import Files, files_with, saved, the_one, written
from books.test_optional_columns import with_column
from quoter.books.compare import compare
from quoter.books.compile import compiled
from quoter.books.draft import draft_data, draft_from, draft_of, raw_of
from quoter.books.load import read_folder
from quoter.books.raw import RawBook
from quoter.problems import Flaw

HEADER = "table,key,column,language,text\n"


def translated(*rows: str) -> Callable[[Files], None]:
    """A file of translations with these rows."""
    return saved("translations.csv", HEADER + "".join(f"{row}\n" for row in rows))


def test_a_book_without_the_file_is_the_book_that_it_was(raw_with: Callable[..., RawBook]) -> None:
    """And so is one whose file has no rows."""
    bare, empty = raw_with(), raw_with(translated())
    assert (compiled(bare).digest, compiled(bare).translations) == (compiled(empty).digest, {})
    assert compare(bare, empty) == ()


def test_texts_are_found_by_language_and_place(raw_with: Callable[..., RawBook]) -> None:
    """Titles, both columns of a caution, and tools one by one."""
    rows = (
        "procedures,battery,title,de,Akku",
        "steps,warm,title,de,Abdeckung anwärmen",
        "cautions,hot,text,de,Die Matte ist heiß",
        "cautions,hot,customer,de,Vorsicht",
        "tools,heating mat,name,de,Heizmatte",
        "procedures,battery,title,fr,Batterie",
    )
    book = compiled(raw_with(translated(*rows), with_column("steps", "tools", "heating mat, card")))
    assert list(book.translations) == ["de", "fr"]
    assert book.translations["de"]["tools", "heating mat", "name"] == "Heizmatte"
    assert book.text_in("de", ("cautions", "hot", "customer"), "Careful") == "Vorsicht"
    assert book.text_in("fr", ("cautions", "hot", "customer"), "Careful") == "Careful"


@pytest.mark.parametrize(
    ("tag", "text"),
    [
        ("de", "Akku"),
        ("de-AT", "Batterie"),
        ("de-CH", "Akku"),
        ("de-Latn-AT", "Akku"),
        ("nl-BE", "Battery"),
        ("pt-BR", "Bateria"),
        ("pt", "Battery"),
        ("", "Battery"),
    ],
)
def test_a_language_without_a_text_takes_that_of_the_wider_one(
    raw_with: Callable[..., RawBook], tag: str, text: str
) -> None:
    """RFC 4647, 3.4: the tag is shortened from its end until something is found; else the book's own text."""
    rows = ("de,Akku", "de-AT,Batterie", "pt-br,Bateria")
    book = compiled(raw_with(translated(*(f"procedures,battery,title,{row}" for row in rows))))
    assert book.text_in(tag, ("procedures", "battery", "title"), "Battery") == text


@pytest.mark.parametrize(
    ("row", "column", "right"),
    [
        ("stepz,warm,title,de,Wärmen", "table", "one of difficulty, procedures, steps, tools"),
        ("devices,slate,title,de,Schiefer", "table", "one of difficulty, procedures, steps, tools"),
        ("steps,warm,text,de,Wärmen", "column", "title"),
        ("cautions,hot,title,de,Heiß", "column", "text or customer"),
        ("steps,warm,low,de,2", "column", "one of title, name, text, customer"),
        ("steps,wram,title,de,Wärmen", "key", "perhaps warm"),
        ("parts,b1,title,de,Akku", "key", "perhaps B1"),
        ("tools,heating matt,name,de,Heizmatte", "key", "perhaps heating mat"),
        ("tools,crowbar,name,de,Brechstange", "key", "a tool that the column tools of steps.csv names"),
        ("grades,royal,title,de,königlich", "key", "a grade that parts.csv names"),
        ("shop,name,text,de,Werkstatt", "key", "contact or handover or loan_device"),
        ("shop,handover,title,de,Am Tresen", "column", "text"),
        ("steps,warm,title,qq,Wärmen", "language", "an ISO 639 code"),
        ("steps,warm,title,german,Wärmen", "language", "a language and a territory"),
        ("steps,warm,title,de,", "text", "what stands there in this language"),
    ],
)
def test_a_row_that_translates_nothing_is_one_flaw(
    flaws_with: Callable[..., list[Flaw]], row: str, column: str, right: str
) -> None:
    """At the cell that is wrong, with what was probably meant."""
    flaw = the_one(flaws_with(with_column("steps", "tools", "heating mat"), translated(row)))
    assert (flaw.table, flaw.row, flaw.column) == ("translations", 2, column)
    assert flaw.suggestion.startswith(right)


@pytest.mark.parametrize(
    ("second", "column", "message"),
    [
        ("steps,warm,title,de,Heizen", "table", "the key is already in row 2"),
        ("steps,warm,title,DE,Heizen", "language", "the same language as in row 2"),
    ],
)
def test_a_text_is_translated_once_into_a_language(
    flaws_with: Callable[..., list[Flaw]], second: str, column: str, message: str
) -> None:
    """However the language is spelt."""
    flaw = the_one(flaws_with(translated("steps,warm,title,de,Wärmen", second)))
    assert (flaw.row, flaw.column, flaw.message) == (3, column, message)


def test_nothing_is_said_of_keys_whose_table_cannot_be_read(flaws_with: Callable[..., list[Flaw]]) -> None:
    """One fault is one flaw: what is translated may well be there."""
    flaw = the_one(flaws_with(saved("warranty.csv", b"\xff"), translated("warranty,year,title,de,Ein Jahr")))
    assert flaw.table == "warranty"


def test_a_file_that_is_there_must_be_one(tmp_path) -> None:
    """Only one that is absent goes without a word."""
    folder = written(files_with(), tmp_path)
    (folder / "translations.csv").mkdir()
    assert "not a file" in [flaw.message for flaw in read_folder(folder).flaws if flaw.table == "translations"]


def test_a_draft_that_was_kept_before_there_was_the_table_is_read(raw_with: Callable[..., RawBook]) -> None:
    """With no rows in it."""
    kept = json.loads(json.dumps(draft_data(draft_of(raw_with()))))
    del kept["tables"]["translations"]
    assert raw_of(draft_from(kept)).tables["translations"] == ()
