"""From a checked text to the immutable, indexed book that the engine reads."""

import hashlib
import json
from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import asdict
from decimal import Decimal
from functools import partial
from itertools import islice
from pathlib import Path
from statistics import NormalDist
from types import MappingProxyType
from typing import Any, TypeVar

from quoter.book import (
    Band,
    Component,
    CustomerRule,
    MenuPrice,
    OfferedRepair,
    Part,
    Policy,
    PriceEnding,
    RateBook,
    Reclass,
    Shop,
    TaxProfile,
    TextPlace,
    Translation,
)
from quoter.books.check import flaws_of
from quoter.books.currencies import minor_unit
from quoter.books.law_values import ReadLaw
from quoter.books.load import read_folder
from quoter.books.raw import RawBook
from quoter.books.reading import ReadBook, ReadRow, read
from quoter.books.rest import collector_at_rest
from quoter.books.settings import BOOK_SETTINGS
from quoter.books.tables import TABLE_BY_NAME, TABLES, Table
from quoter.books.tax_values import ReadTax
from quoter.law import ConsentRule, Excess, LawNotice, LawProfile
from quoter.money import ARITHMETIC, ZERO, Currency
from quoter.problems import BookFlawed

Row = TypeVar("Row")
Key = TypeVar("Key", bound=Hashable)


def open_book(folder: Path) -> RateBook:
    """The book in a folder. Raises BookFlawed with every fault."""
    with collector_at_rest():
        return compiled(read_folder(folder))


def compiled(raw: RawBook) -> RateBook:
    """A checked, indexed book. Raises BookFlawed with every fault."""
    with collector_at_rest():
        return _checked_and_indexed(read(raw))


def _checked_and_indexed(book: ReadBook) -> RateBook:
    found = flaws_of(book)
    if found or book.tax is None:
        raise BookFlawed(tuple(found))
    return _indexed(book, book.tax)


def _indexed(book: ReadBook, tax: ReadTax) -> RateBook:
    settings = book.settings
    keyed: dict[str, Any] = {
        field: _by(_rows(book, table), TABLE_BY_NAME[table].key[0]) for field, table in _KEYED.items()
    }
    offers = {(offer.device, offer.procedure): offer for offer in _rows(book, "offers")}
    parts = keyed["parts"].values()
    usage = tuple(_rows(book, "usage"))
    menu: tuple[MenuPrice, ...] = tuple(_rows(book, "menu"))
    return RateBook(
        code=settings["code"],
        title=settings["title"],
        currency=Currency(settings["currency"], minor_unit(settings["currency"]) or 0),
        locale=settings["locale"],
        shop=_shop(settings),
        policy=_policy(book),
        tax=_tax_profile(tax),
        digest=digest(book),
        **keyed,
        offers=_frozen(offers),
        usage=usage,
        menu=menu,
        slots=_distinct([*(part.slot for part in parts), *(step.slot for step in keyed["steps"].values())]),
        grades=_distinct(part.grade for part in parts),
        offered=_offered(keyed["devices"], offers, keyed["procedures"]),
        fitting=_fitting(parts),
        translations=_translations(_rows(book, "translations")),
        menu_by_repair=_grouped(((price.device, price.procedure), price) for price in menu),
        usage_by_step=_grouped((row.step, row) for row in usage),
        law=_law_profile(book.law) if book.law else None,
    )


_KEYED = {
    "difficulties": "difficulty",
    "devices": "devices",
    "procedures": "procedures",
    "steps": "steps",
    "consumables": "consumables",
    "parts": "parts",
    "findings": "findings",
    "warranties": "warranty",
    "cautions": "cautions",
}
"""The fields of a book that hold a table's rows by their one key."""

_PLACE = {"difficulty": "rank", "steps": "rank", "usage": "row"}
"""The tables whose rows know their place, and what they call it."""


def _rows(book: ReadBook, table: str) -> list[Any]:
    makes, place = TABLE_BY_NAME[table].row, _PLACE.get(table)
    return [makes(**row.values, **({place: number} if place else {})) for number, row in enumerate(book.tables[table])]


def _by(rows: Iterable[Any], key: str) -> Mapping[str, Any]:
    return _frozen({getattr(row, key): row for row in rows})


def _frozen(mapping: dict[Key, Row]) -> Mapping[Key, Row]:
    return MappingProxyType(mapping)


def _distinct(words: Iterable[str | None]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(word for word in words if word))


def _grouped(pairs: Iterable[tuple[Key, Row]]) -> Mapping[Key, tuple[Row, ...]]:
    groups: dict[Key, list[Row]] = {}
    for key, row in pairs:
        groups.setdefault(key, []).append(row)
    return _frozen({key: tuple(rows) for key, rows in groups.items()})


def _offered(devices: Mapping[str, Any], offers: Mapping[Any, Any], procedures: Mapping[str, Any]) -> Mapping[str, Any]:
    offered: dict[str, dict[str, OfferedRepair]] = {device: {} for device in devices}
    for (device, procedure), offer in offers.items():
        difficulty = offer.difficulty or procedures[procedure].difficulty
        offered[device][procedure] = OfferedRepair(procedure, difficulty, offer.extra_steps)
    return _frozen({device: _frozen(repairs) for device, repairs in offered.items()})


def _fitting(parts: Iterable[Part]) -> Mapping[tuple[str, str], tuple[Part, ...]]:
    return _grouped(((device, part.slot), part) for part in parts for device in dict.fromkeys(part.devices))


def _translations(rows: Iterable[Translation]) -> Mapping[str, Mapping[TextPlace, str]]:
    languages: dict[str, dict[TextPlace, str]] = {}
    for row in rows:
        languages.setdefault(row.language, {})[row.table, row.key, row.column] = row.text
    return _frozen({language: _frozen(texts) for language, texts in languages.items()})


def _shop(settings: Mapping[str, Any]) -> Shop:
    return Shop(**{key.removeprefix("shop."): value for key, value in settings.items() if key.startswith("shop.")})


def _policy(book: ReadBook) -> Policy:
    settings = book.settings
    named = {key.rpartition(".")[2]: value for key, value in settings.items() if key.startswith(("policy.", "labour."))}
    ending = PriceEnding(*(named.pop(key) for key in ("mode", "unit", "minus")))
    return Policy(
        **named,
        z=normal_quantile(settings["labour.confidence"]),
        parts_markup=tuple(Band(**band) for band in book.bands),
        consumables_markup=settings["consumables.markup"],
        risk_loading=settings["risk.loading"],
        price_ending=ending,
        fx=_frozen(dict(book.fx or {})),
    )


def normal_quantile(share: Decimal) -> Decimal:
    """The standard normal quantile, by the standard library (Wichura's algorithm AS 241, to about 1e-16).

    The one place where a float occurs: what comes of it is minutes, settled to 6 decimals before it is money.
    """
    return Decimal(repr(NormalDist().inv_cdf(float(share))))


def _tax_profile(tax: ReadTax) -> TaxProfile:
    customers = {kind: CustomerRule(rule["code"], rule["reason"]) for kind, rule in tax.customers.items()}
    return TaxProfile(
        **tax.settings,
        codes=_frozen({code: _components(components) for code, components in tax.codes.items()}),
        lines=_frozen({kind: str(code) for kind, code in tax.lines.items()}),
        customers=_frozen(customers),
        reclass=tuple(
            Reclass(rule["when"], rule["above"] or ZERO, rule["lines"], rule["code"]) for rule in tax.reclass
        ),
    )


def _components(components: Iterable[Mapping[str, Any]]) -> tuple[Component, ...]:
    return tuple(Component(value["name"], value["rate"], value["from"]) for value in components)


def _law_profile(law: ReadLaw) -> LawProfile:
    plain = {key: value for key, value in law.settings.items() if "." not in key}
    excess, consent = (_section(law, section) for section in ("excess", "consent"))
    return LawProfile(
        **plain,
        excess=Excess(excess["share"], excess["of"], excess["from"]),
        consent=ConsentRule(consent["how"], consent["number"]),
        notices=tuple(
            LawNotice(code, notice["must_be_told"], notice["when"], _frozen(dict(notice["texts"])))
            for code, notice in law.notices.items()
        ),
    )


def _section(law: ReadLaw, name: str) -> dict[str, Any]:
    keys = (key for key in law.settings if key.startswith(f"{name}."))
    return {key.removeprefix(f"{name}."): law.settings[key] for key in keys}


def digest(book: ReadBook) -> str:
    """SHA-256 of what the book says, however it is written: 0.10 and 0.1 are one number, blank cells are defaults."""
    silent = [(setting.key, setting.absent) for setting in BOOK_SETTINGS if setting.is_optional]
    content = {
        "settings": {key: value for key, value in book.settings.items() if (key, value) not in silent},
        "markup": book.bands,
        "fx": book.fx,
        "tables": {
            table.name: map(partial(_said, _silent(table)), book.tables[table.name])
            for table in TABLES
            if book.tables[table.name] or not table.is_optional
        },
        "tax": asdict(book.tax) | {"file": "", "sections": ()} if book.tax else {},
        **({"law": asdict(book.law) | {"file": ""}} if book.law else {}),
    }
    said = hashlib.sha256()
    for piece in _pieces(content):
        said.update(piece.encode(errors="surrogatepass"))
    return said.hexdigest()


def _pieces(value: Any) -> Iterator[str]:
    """JSON with sorted keys, some rows at a time: the whole text of a large book takes more memory than the book."""
    if isinstance(value, dict) and any(isinstance(inner, dict | Iterator) for inner in value.values()):
        for place, name in enumerate(sorted(value)):
            yield f"{',' if place else '{'}{_ENCODER.encode(name)}:"
            yield from _pieces(value[name])
        yield "}"
    elif isinstance(value, Iterator):
        yield "["
        for place, rows in enumerate(_some_at_a_time(value)):
            yield f"{',' if place else ''}{_ENCODER.encode(rows)[1:-1]}"
        yield "]"
    else:
        yield _ENCODER.encode(value)


def _some_at_a_time(rows: Iterator[Any]) -> Iterator[list[Any]]:
    """The encoder takes as long to begin as for a row."""
    while some := list(islice(rows, _AT_A_TIME)):
        yield some


def _silent(table: Table) -> list[tuple[str, Any]]:
    """Optional columns left blank: a book says what it said before there were such columns."""
    return [(column.name, column.blank) for column in table.columns if column.is_optional]


def _said(silent: list[tuple[str, Any]], row: ReadRow) -> Mapping[str, Any]:
    unsaid = {name for name, blank in silent if row.values.get(name) == blank}
    return {name: value for name, value in row.values.items() if name not in unsaid} if unsaid else row.values


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal):
        return format(value.normalize(ARITHMETIC), "f")
    return dict(value) if isinstance(value, Mapping) else str(value)


_AT_A_TIME = 100

_ENCODER = json.JSONEncoder(default=_plain, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
