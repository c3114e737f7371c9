"""Finds devices by a few words, typed in haste: any order, unfinished, misspelt, the best match first."""

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from rapidfuzz import process
from rapidfuzz.distance import OSA

from quoter.book import Device, RateBook
from quoter.engine.memory import remembered

Token = str
Points = dict[int, int]
"""What devices, by their place in the book, have earned."""

WHOLE, BEGINNING, INSIDE, ALIKE = 100, 80, 60, 40
"""Points of a device for a word that it has, one that begins so, one with this in it, one that is spelt alike."""
EACH_SLIP = 10
NAMED = 50
"""More points for a device whose model or code is all that was typed."""

SLIPS_BY_LENGTH = (0, 0, 1, 1, 1, 1, 2)
"""Letters that may be wrong in a word of so many letters; as many as in the last one in all longer words."""

MOST_WORDS = 10
"""Words that are looked for; those after them are ignored."""

_WORD = re.compile(r"\w+")
_PLAIN = str.maketrans({"ł": "l", "ø": "o", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i", "_": " "})


@dataclass(frozen=True, slots=True)
class Index:
    """The words of a book's devices, each with the places of the devices that have it."""

    devices: tuple[Device, ...]
    places: Mapping[Token, tuple[int, ...]]
    names: Mapping[str, tuple[int, ...]]


def ranked(words: str, book: RateBook) -> list[Device]:
    """The devices that the words mean, the best match first and equals in the owner's order; all, without words.

    A word that is in the book counts as it is written, others as what is spelt alike. Where no device has all words,
    those that have most of them are meant.
    """
    wanted = list(dict.fromkeys(tokens(words)))[:MOST_WORDS]
    index = device_index(book)
    if not wanted:
        return list(index.devices)
    as_written = [_as_written(word, index) for word in wanted]
    found = _with_all([each or _alike(word, book) for word, each in zip(wanted, as_written, strict=True)])
    if not found:
        lenient = [{**_alike(word, book), **each} for word, each in zip(wanted, as_written, strict=True)]
        found = _with_all(lenient) or _with_most(lenient)
    for place in index.names.get("".join(tokens(words)), ()):
        if place in found:
            found[place] += NAMED
    return [index.devices[place] for place in sorted(found, key=lambda place: (-found[place], place))]


def tokens(text: str) -> list[Token]:
    """The words of a text without case and accents."""
    folded = text.casefold()
    if not folded.isascii():
        decomposed = unicodedata.normalize("NFKD", folded)
        folded = "".join(sign for sign in decomposed if not unicodedata.combining(sign))
    return _WORD.findall(folded.translate(_PLAIN))


@remembered
def device_index(book: RateBook) -> Index:
    """Of all devices of a book."""
    places: dict[Token, list[int]] = {}
    names: dict[str, list[int]] = {}
    for place, device in enumerate(book.devices.values()):
        own_names = _names(device)
        for name in own_names:
            names.setdefault(name, []).append(place)
        for token in {*tokens(_text(device)), *own_names}:
            places.setdefault(token, []).append(place)
    return Index(tuple(book.devices.values()), _frozen(places), _frozen(names))


def _frozen(lists: Mapping[str, list[int]]) -> Mapping[str, tuple[int, ...]]:
    return {name: tuple(each) for name, each in lists.items()}


def _text(device: Device) -> str:
    return f"{device.maker} {device.model} {device.code} {device.kind} {device.year or ''}"


def _names(device: Device) -> set[str]:
    """What the device is called, run together: who types without blanks finds it too."""
    maker, model, code = ("".join(tokens(name)) for name in (device.maker, device.model, device.code))
    return {model, code, maker + model}


def _as_written(word: Token, index: Index) -> Points:
    """Devices that have the word, or one that begins with it or has it inside."""
    points: Points = {}
    for token, places in index.places.items():
        if word in token:
            worth = WHOLE if token == word else BEGINNING if token.startswith(word) else INSIDE
            _give(points, places, worth)
    return points


def _alike(word: Token, book: RateBook) -> Points:
    """Devices that have a word, or the beginning of one, that is spelt like this but for a slip or two."""
    points: Points = {}
    places, slips = device_index(book).places, SLIPS_BY_LENGTH[min(len(word), len(SLIPS_BY_LENGTH) - 1)]
    for length in range(max(1, len(word) - slips), len(word) + slips + 1) if slips else ():
        beginnings = _beginnings(book, length)
        near = process.extract(word, beginnings.keys(), scorer=OSA.distance, score_cutoff=slips, limit=None)
        for beginning, distance, _ in near:
            for token in beginnings[beginning]:
                _give(points, places[token], ALIKE - EACH_SLIP * int(distance) + (len(token) == length))
    return points


@remembered
def _beginnings(book: RateBook, length: int) -> Mapping[str, tuple[Token, ...]]:
    """The words by their first letters."""
    found: dict[str, list[Token]] = {}
    for token in device_index(book).places:
        if len(token) >= length:
            found.setdefault(token[:length], []).append(token)
    return {beginning: tuple(each) for beginning, each in found.items()}


def _give(points: Points, places: Iterable[int], worth: int) -> None:
    for place in places:
        if points.get(place, 0) < worth:
            points[place] = worth


def _with_all(by_word: list[Points]) -> Points:
    first, *others = sorted(by_word, key=len)
    return {
        place: worth + sum(points[place] for points in others)
        for place, worth in first.items()
        if all(place in points for points in others)
    }


def _with_most(by_word: list[Points]) -> Points:
    counts: Points = {}
    sums: Points = {}
    for points in by_word:
        for place, worth in points.items():
            counts[place] = counts.get(place, 0) + 1
            sums[place] = sums.get(place, 0) + worth
    most = max(counts.values(), default=0)
    return {place: sums[place] for place, count in counts.items() if count == most}
