"""From a checked text to the immutable, indexed book that the engine reads."""

import hashlib
import json
from collections.abc import Hashable, Iterable, Mapping
from decimal import Decimal
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
    Usage,
)
from quoter.books.check import flaws_of
from quoter.books.currencies import minor_unit
from quoter.books.load import read_folder
from quoter.books.raw import RawBook
from quoter.books.reading import ReadBook, read, read_settings
from quoter.books.settings import BAND_SETTINGS, COMPONENT_SETTINGS
from quoter.books.tables import TABLE_BY_NAME
from quoter.money import Currency
from quoter.problems import BookFlawed

Row = TypeVar("Row")
Key = TypeVar("Key", bound=Hashable)


def open_book(folder: Path) -> RateBook:
    """The book in a folder. Raises BookFlawed with every fault."""
    return compiled(read_folder(folder))


def compiled(raw: RawBook) -> RateBook:
    """A checked, indexed book. Raises BookFlawed with every fault."""
    book = read(raw)
    found = flaws_of(book)
    if found:
        raise BookFlawed(tuple(found))
    return _indexed(book)


def _indexed(book: ReadBook) -> RateBook:
    settings = book.settings
    difficulties = _ranked(book, "difficulty", "code")
    procedures, steps = _by(_rows(book, "procedures"), "code"), _ranked(book, "steps", "code")
    parts = _by(_rows(book, "parts"), "sku")
    offers = {(offer.device, offer.procedure): offer for offer in _rows(book, "offers")}
    devices = _by(_rows(book, "devices"), "code")
    usage = tuple(Usage(**row.values, row=place) for place, row in enumerate(book.tables["usage"]))
    menu: tuple[MenuPrice, ...] = tuple(_rows(book, "menu"))
    return RateBook(
        code=settings["code"],
        title=settings["title"],
        currency=Currency(settings["currency"], minor_unit(settings["currency"]) or 0),
        locale=settings["locale"],
        shop=_shop(settings),
        policy=_policy(book),
        tax=_tax_profile(book),
        digest=digest(book),
        difficulties=difficulties,
        devices=devices,
        procedures=procedures,
        offers=_frozen(offers),
        steps=steps,
        usage=usage,
        consumables=_by(_rows(book, "consumables"), "code"),
        parts=parts,
        menu=menu,
        findings=_by(_rows(book, "findings"), "code"),
        warranties=_by(_rows(book, "warranty"), "code"),
        cautions=_by(_rows(book, "cautions"), "code"),
        slots=_distinct([*(part.slot for part in parts.values()), *(step.slot for step in steps.values())]),
        grades=_distinct(part.grade for part in parts.values()),
        offered=_offered(devices, offers, procedures),
        fitting=_fitting(parts.values()),
        menu_by_repair=_grouped(((price.device, price.procedure), price) for price in menu),
        usage_by_step=_grouped((row.step, row) for row in usage),
    )


def _rows(book: ReadBook, table: str) -> list[Any]:
    return [TABLE_BY_NAME[table].row(**row.values) for row in book.tables[table]]


def _by(rows: Iterable[Any], key: str) -> Mapping[str, Any]:
    return _frozen({getattr(row, key): row for row in rows})


def _ranked(book: ReadBook, table: str, key: str) -> Mapping[str, Any]:
    rows = (TABLE_BY_NAME[table].row(**row.values, rank=rank) for rank, row in enumerate(book.tables[table]))
    return _by(rows, key)


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


def _shop(settings: Mapping[str, Any]) -> Shop:
    return Shop(**{key.removeprefix("shop."): value for key, value in settings.items() if key.startswith("shop.")})


def _policy(book: ReadBook) -> Policy:
    settings = book.settings
    named = {key.rpartition(".")[2]: value for key, value in settings.items() if key.startswith(("policy.", "labour."))}
    ending = PriceEnding(*(named.pop(key) for key in ("mode", "unit", "minus")))
    return Policy(
        **named,
        z=normal_quantile(settings["labour.confidence"]),
        parts_markup=_bands(book.raw.settings["parts"]["markup"]),
        consumables_markup=settings["consumables.markup"],
        risk_loading=settings["risk.loading"],
        price_ending=ending,
        fx=_frozen({code: Decimal(rate) for code, rate in book.raw.settings.get("fx", {}).items()}),
    )


def normal_quantile(share: Decimal) -> Decimal:
    """The standard normal quantile, by the standard library (Wichura's algorithm AS 241, to about 1e-16).

    The one place where a float occurs: what comes of it is minutes, settled to 6 decimals before it is money.
    """
    return Decimal(repr(NormalDist().inv_cdf(float(share))))


def _bands(bands: Iterable[Mapping[str, Any]]) -> tuple[Band, ...]:
    return tuple(Band(**read_settings(band, BAND_SETTINGS, "", [])) for band in bands)


def _tax_profile(book: ReadBook) -> TaxProfile:
    raw = book.raw.tax
    return TaxProfile(
        **book.tax,
        combined=raw["combined"],
        codes=_frozen({code: _components(content["components"]) for code, content in raw["codes"].items()}),
        lines=_frozen(dict(raw["lines"])),
        customers=_frozen(
            {
                kind: CustomerRule(rule["code"], rule.get("reason", ""))
                for kind, rule in raw.get("customers", {}).items()
            }
        ),
        reclass=tuple(
            Reclass(rule["when"], Decimal(rule.get("above", "0")), tuple(rule["lines"]), rule["code"])
            for rule in raw.get("reclass", [])
        ),
    )


def _components(components: Iterable[Mapping[str, Any]]) -> tuple[Component, ...]:
    values = (read_settings(component, COMPONENT_SETTINGS, "", []) for component in components)
    return tuple(Component(value["name"], value["rate"], value["from"]) for value in values)


def digest(book: ReadBook) -> str:
    """SHA-256 of what the book says, however it is written: 0.10 and 0.1 are one number, blank cells are defaults."""
    content = {
        "settings": book.settings,
        "markup": [read_settings(band, BAND_SETTINGS, "", []) for band in book.raw.settings["parts"]["markup"]],
        "fx": {code: Decimal(rate) for code, rate in book.raw.settings.get("fx", {}).items()},
        "tables": {name: [row.values for row in rows] for name, rows in book.tables.items()},
        "tax": book.raw.tax,
    }
    text = json.dumps(content, default=_plain, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal):
        return format(value.normalize(), "f")
    return dict(value) if isinstance(value, Mapping) else str(value)
