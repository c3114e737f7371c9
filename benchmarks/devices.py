"""Finding a device by a few words: how long a keystroke takes, and how that grows with the book."""

from dataclasses import replace
from functools import partial

from benchmarks.clock import Subject, interleaved
from benchmarks.figures import Section, in_unit, ratio
from benchmarks.generated_book import BookSize, raw_book
from benchmarks.scale import Scale
from quoter.book import Memory, RateBook
from quoter.books.compile import compiled
from quoter.service.rates.device_search import device_index, ranked

TYPED = {
    "one letter": "q",
    "two words": "quel phone 7",
    "a slip": "quellimar phnoe 42",
    "nothing like it": "zzzz",
}
"""What is looked for; the last letters of a word are seldom typed."""


def devices(scale: Scale) -> Section:
    """All of them with a warm index, as a desk has it from the second keystroke on."""
    subjects = {}
    for size in scale.searched:
        book = book_of(size)
        subjects[_name(size, "index")] = Subject(partial(_indexed, book))
        for name, words in TYPED.items():
            subjects[_name(size, name)] = Subject(partial(ranked, words, book))
    took = interleaved(subjects, scale.rounds, scale.block_seconds)
    smallest = scale.searched[0]
    return Section(
        "Devices: found by words",
        (
            *(in_unit(name, each, "ms", _aim(name)) for name, each in took.items()),
            *(
                ratio(f"{name}, {size:,} ÷ {smallest:,}", took[_name(size, name)], took[_name(smallest, name)])
                for size in scale.searched[1:]
                for name in ("index", *TYPED)
            ),
        ),
        ("The index is made once for each version of a book.",),
    )


def _name(size: int, subject: str) -> str:
    return f"{size:,} devices, {subject}"


def _aim(subject: str) -> str:
    return "under 50 ms" if subject.startswith("5,000 ") and not subject.endswith("index") else ""


def _indexed(book: RateBook) -> object:
    return device_index(replace(book, memory=Memory()))


def book_of(size: int) -> RateBook:
    """A book with so many devices. Only its devices are looked at, so nothing is offered for most of them."""
    book = compiled(raw_book(BookSize(1, 1, 1)))
    pattern = next(iter(book.devices.values()))
    makers, kinds = ("Quellimar", "Brontec", "Ostervane"), ("phone", "phone", "tablet", "wearable")
    made = (
        replace(
            pattern,
            code=f"device-{number:05}",
            maker=makers[number % len(makers)],
            model=f"{kinds[number % len(kinds)].capitalize()} {number}",
            kind=kinds[number % len(kinds)],
        )
        for number in range(size)
    )
    return replace(book, devices={device.code: device for device in made}, memory=Memory())
