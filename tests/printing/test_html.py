"""Papers as pages: whole, without scripts or styles of their own, and text whatever is typed."""

from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

import pytest
from documents.quotes import CUTS, LAW, LINK, NOW, a_quote, with_shop

from quoter.documents.bench_sheet import bench_sheet
from quoter.documents.sheet import quote_sheet
from quoter.printing.html import html_of
from quoter.records.quotes import Contact, IssuedQuote
from quoter.words.wording import wording_for


class Seen(HTMLParser):
    """What is in a page: its elements with their attributes, and its text."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Kept."""
        self.elements.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        """Kept."""
        self.text += data


def customer_page(quote: IssuedQuote, tag: str = "en-IE") -> str:
    """The customer's copy."""
    return html_of(quote_sheet(quote, wording_for(tag), now=NOW, link=LINK))


def pages() -> list[str]:
    """Both copies, with all that there is to draw."""
    quote = a_quote(law=LAW, cuts=CUTS)
    return [customer_page(quote), html_of(bench_sheet(quote, wording_for("ar-EG")))]


def texts(data: Any) -> list[str]:
    """All texts of a sheet."""
    if isinstance(data, dict):
        return [text for each in data.values() for text in texts(each)]
    return [text for each in data for text in texts(each)] if isinstance(data, list) else [data]


def test_everything_that_the_sheet_says_is_on_the_page():
    """Line by line."""
    quote = a_quote(law=LAW)
    sheet = quote_sheet(quote, wording_for("de-DE"), now=NOW, link=LINK)
    seen = Seen(html_of(sheet)).text
    drawn = {name: part for name, part in sheet.items() if name in ("shop", "lines", "totals", "practical", "facts")}
    said = [text for text in texts({name: _without_keys(part) for name, part in drawn.items()}) if text not in seen]
    assert said == ["Nummer"]  # the number itself stands beside the label of the paper


def _without_keys(data: Any) -> Any:
    """Without the members that are for whoever draws."""
    if isinstance(data, dict):
        return {name: _without_keys(each) for name, each in data.items() if name != "key"}
    return [_without_keys(each) for each in data] if isinstance(data, list) else data


@pytest.mark.parametrize("page", pages(), ids=["customer", "bench"])
def test_a_strict_policy_lets_it_all_through(page: str):
    """Neither script nor style, in an element or in an attribute; one style sheet of our own."""
    elements = Seen(page).elements
    assert {tag for tag, _ in elements} & {"script", "style", "iframe", "object", "form"} == set()
    assert not [name for _, attributes in elements for name in attributes if name == "style" or name.startswith("on")]
    sheets = [attributes["href"] for tag, attributes in elements if attributes.get("rel") == "stylesheet"]
    assert sheets == ["/static/paper.css"]


def test_a_page_says_which_copy_it_is():
    """By a class of its body, which the style sheet asks for; a sheet is a dict, and `sheet.copy` is its method."""
    bodies = [dict(Seen(page).elements)["body"] for page in pages()]
    assert bodies == [{"class": "customer"}, {"class": "bench"}]


def test_the_code_to_scan_and_the_drawing_say_what_they_are():
    """To whoever does not see them."""
    customer, bench = map(Seen, pages())
    labels = [attributes.get("aria-label", "") for _, attributes in customer.elements]
    assert f"A code to scan that leads to {LINK}" in labels
    assert f"1 × 412.5 مم · {wording_for('ar').say('corners')}" in bench.text


def test_what_people_type_is_text():
    """Names that would be elements, attributes or templates."""
    words = '"><img src=x onerror=alert(1)>{{ 7*7 }}</title><script>'
    quote = replace(with_shop(a_quote(), name=words, contact=words), contact=Contact(name=words))
    seen = Seen(customer_page(quote))
    assert seen.text.count(words) == 3
    assert "img" not in {tag for tag, _ in seen.elements}


@pytest.mark.parametrize(("tag", "direction"), [("de-DE", "ltr"), ("ar-EG", "rtl")])
def test_the_page_says_its_language_and_direction(tag: str, direction: str):
    """To browsers and screen readers."""
    (attributes,) = [found for name, found in Seen(customer_page(a_quote(), tag)).elements if name == "html"]
    assert attributes == {"lang": tag.partition("-")[0], "dir": direction}
