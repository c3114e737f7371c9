"""Papers as PDF: read back and drawn by other programs, in every language, with anything that people may type."""

import re
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Any

import pypdfium2
import pytest
from documents.quotes import CUTS, LAW, LINK, NOW, a_quote, with_shop

from quoter.documents.bench_sheet import bench_sheet
from quoter.documents.sheet import quote_sheet
from quoter.printing.pdf import pdf_of
from quoter.records.quotes import Contact, IssuedQuote
from quoter.words.catalogues import LANGUAGES
from quoter.words.wording import wording_for

from .reading_pdf import fonts_of, links_of, page_sizes, reader_of, shares_of_ink, squeezed, text_of

LOCALES = ("en-IE", "de-DE", "fr-FR", "es-ES", "pl-PL", "ar-EG", "ja-JP")

A4, LETTER = (595, 842), (612, 792)
"""Points: ISO 216 is 210 × 297 mm, ANSI/ASME Y14.1 is 8.5 × 11 in."""

HOSTILE = [
    '#panic("x") $x^2$ `raw` *bold* _it_ @ref <label> // comment \\ #import "a.typ"',
    "</text><script>alert(1)</script> & < > \" '",
    "{{ 7*7 }} {% raw %} {page} {pages}",
    "\u202eright-to-left override and \u2066an isolate that nobody ends",
    "W" * 200,
    "بطارية" * 40,
    "nothing\x00 seen\x1b here\ufffe",
]


def customer_pdf(quote: IssuedQuote, tag: str = "en-IE", paper: str = "a4") -> bytes:
    """The customer's copy."""
    return pdf_of(quote_sheet(quote, wording_for(tag), now=NOW, link=LINK), paper=paper, made_at=NOW)


def bench_pdf(quote: IssuedQuote, tag: str = "en-IE") -> bytes:
    """The bench copy."""
    return pdf_of(bench_sheet(quote, wording_for(tag)), paper="a4", made_at=NOW)


@pytest.mark.parametrize("tag", ["en-IE", "de-DE", "pl-PL", "ja-JP"])
def test_all_that_is_agreed_can_be_read_back(tag: str):
    """Every line with its figures, every total, each warning and notice, the number, and where the link leads."""
    quote = a_quote(law=LAW)
    sheet = quote_sheet(quote, wording_for(tag), now=NOW, link=LINK)
    text = text_of(customer_pdf(quote, tag))
    lines = [text for row in sheet["lines"]["rows"] for text in row.values()]
    facts = [each["text"] for each in (*sheet["totals"], *sheet["facts"], *sheet["practical"]["facts"])]
    found = [text for row in sheet["contingencies"]["rows"] for text in row.values()]
    notices = [text for each in sheet["notices"]["items"] for text in each.values()]
    said = [*lines, *facts, *found, *notices, *sheet["cautions"]["items"], sheet["label"], sheet["headline"]["text"]]
    assert [each for each in said if squeezed(each) not in text] == []
    assert links_of(customer_pdf(quote, tag)) == [LINK]


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("tag", LOCALES)
def test_a_quote_of_usual_size_is_one_or_two_pages_with_something_on_each(tag: str, paper: str):
    """In every shipped language, on both papers."""
    pdf = customer_pdf(a_quote(law=LAW), tag, paper)
    assert len(reader_of(pdf).pages) <= 2
    assert all(0.005 < share < 0.4 for share in shares_of_ink(pdf))
    assert page_sizes(pdf) == {A4 if paper == "a4" else LETTER}


def test_every_shipped_language_is_among_them():
    """One locale each."""
    assert tuple(tag.partition("-")[0] for tag in LOCALES) == LANGUAGES


QUOTATION = {
    "en": "Quotation",
    "de": "Angebot",
    "fr": "Devis",
    "es": "Presupuesto",
    "pl": "Oferta",
    "ar": "عرض سعر",
    "ja": "見積書",
}
"""What a binding offer is called in the trade of each language. Common practice."""


@pytest.mark.parametrize("tag", LOCALES)
def test_it_says_to_a_screen_reader_what_it_is(tag: str):
    """ISO 14289-1 (PDF/UA): tagged, with a structure, a language and a title that is shown; it claims to be that."""
    reader = reader_of(customer_pdf(a_quote(), tag))
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert "/K" in root["/StructTreeRoot"]
    assert root["/Lang"].partition("-")[0] == tag.partition("-")[0]
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata is not None
    assert reader.metadata.title == f"{QUOTATION[tag.partition('-')[0]]} 2026-00042"
    assert b"<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_data()


def test_tables_pictures_and_headings_are_tagged_as_such():
    """A table has heads, the code to scan and the drawing say what they are, sections have headings."""
    kinds = structure_of(customer_pdf(a_quote()))
    assert {"Table", "TH", "TD", "H1", "H2", "Figure", "Link", "L", "LI"} <= set(kinds)
    assert "A code to scan that leads to" in " ".join(kinds["Figure"])
    drawn = structure_of(bench_pdf(a_quote(cuts=CUTS)))
    assert "412.5 mm" in " ".join(drawn["Figure"])


def structure_of(pdf: bytes) -> dict[str, list[str]]:
    """The kinds of the elements of the structure tree, with the text alternatives of each."""
    found: dict[str, list[str]] = {}

    def walk(element: Any) -> None:
        element = element.get_object()
        if isinstance(element, list):
            for each in element:
                walk(each)
        elif isinstance(element, dict):
            if "/S" in element:
                found.setdefault(str(element["/S"]).lstrip("/"), []).append(str(element.get("/Alt", "")))
            if "/K" in element:
                walk(element["/K"])

    walk(reader_of(pdf).trailer["/Root"]["/StructTreeRoot"]["/K"])
    return found


@pytest.mark.parametrize("tag", ["en-IE", "ar-EG", "ja-JP"])
def test_its_fonts_are_in_it(tag: str):
    """All of them: it looks the same everywhere."""
    held = fonts_of(customer_pdf(a_quote(), tag))
    assert held
    assert all(held.values())


def test_the_foot_of_each_page_says_which_quote_and_how_far():
    """Number of the quote, page and number of pages."""
    pages = reader_of(customer_pdf(a_quote())).pages
    for place, page in enumerate(pages, start=1):
        assert squeezed(f"Quotation 2026-00042 Page {place} of {len(pages)}") in squeezed(page.extract_text())


def test_the_head_of_a_table_comes_again_on_every_page():
    """A quote of 120 lines."""
    quote = a_quote()
    figure = quote.result["lines"][3]
    pages = reader_of(customer_pdf(a_quote(lines=[figure] * 120))).pages
    assert sum("Amount before tax" in page.extract_text() for page in pages) >= 3


def test_the_same_sheet_is_the_same_file():
    """To the byte, whatever was printed in between and in whichever thread."""
    first = customer_pdf(a_quote(), "ja-JP")
    bench_pdf(a_quote())
    with ThreadPoolExecutor(2) as pool:
        again = list(pool.map(lambda _: customer_pdf(a_quote(), "ja-JP"), range(4)))
    assert again == [first] * 4


@pytest.mark.parametrize("words", HOSTILE, ids=range(len(HOSTILE)))
def test_whatever_people_type_stays_text(words: str):
    """Markup of typst, HTML and templates, marks of direction, words without an end, signs that are none."""
    quote = replace(with_shop(a_quote(), name=words, contact=words), contact=Contact(name=words))
    quote = replace(quote, result={**quote.result, "titles": {**quote.result["titles"], "device": words}})
    pdf = customer_pdf(quote)
    seen = squeezed(re.sub(r"[\x00-\x1f\ufffe]", "", words))
    if not re.search(r"[\u0600-\u06ff\u202e]", words):  # those are read back in the order in which they are drawn
        assert text_of(pdf).count(seen) >= 4
    assert len(reader_of(pdf).pages) <= 3
    assert all(share > 0.004 for share in shares_of_ink(pdf))


def test_a_word_without_an_end_is_broken_within_the_page():
    """Nothing is printed in the margins, nor is a link of usual length."""
    assert margins_are_empty(customer_pdf(a_quote(), paper="letter"))
    pdf = customer_pdf(with_shop(a_quote(), name="W" * 200, contact="W" * 200, phone="1" * 200))
    assert margins_are_empty(pdf)
    lines = [{**a_quote().result["lines"][0], "description": {"text": "{part}", "parameters": {"part": "M" * 200}}}]
    assert margins_are_empty(customer_pdf(a_quote(lines=lines)))


def margins_are_empty(pdf: bytes) -> bool:
    """Are 12 mm at both sides white?"""
    with pypdfium2.PdfDocument(pdf) as document:
        for page in document:
            bitmap = page.render(scale=1, grayscale=True)
            drawn, stride, edge = bytes(bitmap.buffer), bitmap.stride, 34
            for row in range(bitmap.height):
                line = drawn[row * stride : row * stride + bitmap.width]
                if min(line[:edge]) < 250 or min(line[-edge:]) < 250:
                    return False
    return True


def test_a_letter_that_no_font_has_is_printed_without_the_claim():
    """An emoji in a name: tagged all the same, no longer said to be PDF/UA."""
    root = reader_of(customer_pdf(with_shop(a_quote(), name="Bench \U0001f50b"))).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert b"pdfuaid:part" not in root["/Metadata"].get_data()


def test_a_shop_that_says_little_of_itself_is_printed_as_well():
    """A name and nothing else, a repair without surprises, warranty or warnings."""
    quote = with_shop(
        a_quote(findings=(), contingencies=[], warranty=[], cautions=[], lead_days=0, tax=[]),
        **dict.fromkeys(("address", "email", "phone", "tax_number"), ""),
    )
    assert "Otterquay" in text_of(customer_pdf(quote))


def test_the_bench_copy_has_steps_and_no_price():
    """Every step in its order, and not one amount of money."""
    quote = a_quote(cuts=CUTS)
    text = text_of(bench_pdf(quote))
    places = [text.index(squeezed(step["title"])) for step in quote.result["plan"]]
    assert places == sorted(places)
    assert "€" not in text
    assert "146mm" in text


def test_right_to_left_papers_begin_at_the_right():
    """The label of an Arabic paper starts in the right half, that of an English one in the left."""
    quote = a_quote()
    assert ink_of_first_half(customer_pdf(quote, "ar-EG")) < ink_of_first_half(customer_pdf(quote, "en-IE"))


def ink_of_first_half(pdf: bytes) -> float:
    """The share of ink in the left half of the uppermost tenth of the first page, where the shop's name stands."""
    with pypdfium2.PdfDocument(pdf) as document:
        bitmap = document[0].render(scale=1, grayscale=True)
        drawn, stride = bytes(bitmap.buffer), bitmap.stride
        rows = [drawn[row * stride : row * stride + bitmap.width // 2] for row in range(40, 60)]
        return sum(dot < 128 for row in rows for dot in row) / sum(map(len, rows))
