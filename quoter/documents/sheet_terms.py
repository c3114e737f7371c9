"""What stands below the price on a customer's copy: surprises, warranty, cautions, notices of the law."""

from collections.abc import Mapping
from typing import Any

from quoter.documents.reading import Data, Reading
from quoter.words.catalogues import ENGLISH


def contingencies(read: Reading) -> Data:
    """What the price becomes where the bench finds more. A finding that stops has no price."""
    say, figures = read.wording.say, read.figures
    rows = [
        {
            "finding": each["finding"],
            "price": each.get("gross") or say("The work would stop."),
            "difference": each.get("difference", ""),
        }
        for each in figures["contingencies"]
    ]
    ceiling = figures["ceiling"] if rows else {}
    return {
        "heading": say("If we find more on opening"),
        "columns": [say("What is found"), read.total_label(), say("Difference")],
        "rows": rows,
        "ceiling": {
            "label": say("With all of these, at most"),
            "text": ceiling.get("gross", ""),
            "difference": ceiling.get("difference", ""),
        },
    }


def warranty(read: Reading) -> Data:
    """For each repair its terms, what they cover and what they leave out."""
    say, shown = read.wording.say, read.figures["warranty"]
    items = [
        {
            "repair": formatted["procedure"],
            "terms": [
                {
                    "text": text,
                    "covers": [_scope(read, code) for code in term["covers"]],
                    "excludes": [_scope(read, code) for code in term["excludes"]],
                }
                for term, text in zip(each["terms"], formatted["terms"], strict=True)
            ],
        }
        for each, formatted in zip(read.result["warranty"], shown, strict=True)
        if each["terms"]
    ]
    return {
        "heading": say("Warranty"),
        "covers": say("Covers"),
        "excludes": say("Does not cover"),
        "items": items,
    }


def _scope(read: Reading, code: str) -> str:
    """A word of a warranty's scope: the owner's translation, else ours for the usual ones, else as it is."""
    say, translated = read.wording.say, read.wording.of_book(code)
    usual = {
        "part": say("the part"),
        "labour": say("our work"),
        "impact": say("a fall or a blow"),
        "liquid": say("liquid"),
        "opened-by-others": say("opening by others"),
        "earlier-work": say("earlier work by others"),
        "corrosion": say("corrosion"),
    }
    return translated if translated != code else usual.get(code, code.replace("-", " "))


def cautions(read: Reading) -> Data:
    """Warnings in words for the customer."""
    texts = [each.get("customer") or each["text"] for each in read.cautions()]
    return {"heading": read.wording.say("Please note"), "items": read.book_texts(texts)}


def notices(read: Reading) -> Data:
    """What the law of the place wants to be said; what no adviser has reviewed carries a mark."""
    say, law = read.wording.say, read.result.get("law") or {}
    is_draft = bool(law) and not law.get("reviewed")
    mark = say("Template: to be reviewed by the shop's own adviser") if is_draft else ""
    texts = [in_language(each["texts"], read.wording.tag) for each in law.get("notices", ())]
    return {"heading": say("Your rights"), "items": [{"text": text, "mark": mark} for text in texts if text]}


def in_language(texts: Mapping[str, Any], tag: str) -> str:
    """The text for a locale, else for its language, else in English, else in whichever there is."""
    wanted = (tag, tag.partition("-")[0], ENGLISH)
    return str(next((texts[each] for each in wanted if each in texts), next(iter(texts.values()), "")))
