"""A tax profile's file as values: each code, kind of line, kind of customer and rule read by its declaration."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from quoter.books.setting_values import read_settings, read_table, read_value
from quoter.books.settings import (
    CODE_SETTINGS,
    COMPONENT_SETTINGS,
    CUSTOMER_SETTINGS,
    LINE_CODE,
    RECLASS_SETTINGS,
    TAX_SECTIONS,
    TAX_SETTINGS,
    Setting,
)
from quoter.problems import Flaw

Values = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class ReadTax:
    """A profile whose values have been read. What could not be read is not among them, or None among `lines`."""

    file: str
    settings: Values
    codes: Mapping[str, tuple[Values, ...]]
    lines: Mapping[str, str | None]
    customers: Mapping[str, Values]
    reclass: tuple[Values, ...]
    sections: frozenset[str]
    """Which of codes, lines, customers and reclass could be read at all."""


def read_tax(document: Values, file: str, flaws: list[Flaw]) -> ReadTax:
    """Reads every value. Finds and never raises."""
    settings = read_settings(document, (*TAX_SETTINGS, *TAX_SECTIONS), file, flaws)
    read = {section.key: settings.pop(section.key) for section in TAX_SECTIONS if section.key in settings}
    return ReadTax(
        file=file,
        settings=settings,
        codes={code: _components(code, content, file, flaws) for code, content in read.get("codes", {}).items()},
        lines={
            kind: read_value(code, LINE_CODE, file, f"lines.{kind}", flaws)
            for kind, code in read.get("lines", {}).items()
        },
        customers=_customers(read.get("customers", {}), file, flaws),
        reclass=read_list(read.get("reclass", ()), RECLASS_SETTINGS, file, "reclass", flaws),
        sections=frozenset(read),
    )


def read_list(
    items: Any, settings: tuple[Setting, ...], file: str, at: str, flaws: list[Flaw]
) -> tuple[dict[str, Any], ...]:
    """The tables of a TOML list, counted from 1; one that is no table is a flaw and reads as empty."""
    return tuple(
        read_table(item, settings, file, f"{at} {number}", flaws) for number, item in enumerate(items, start=1)
    )


def _components(code: str, content: Any, file: str, flaws: list[Flaw]) -> tuple[dict[str, Any], ...]:
    at = f"codes.{code}"
    read = read_table(content, CODE_SETTINGS, file, at, flaws)
    return read_list(read.get("components", ()), COMPONENT_SETTINGS, file, f"{at}.components", flaws)


def _customers(customers: Values, file: str, flaws: list[Flaw]) -> dict[str, dict[str, Any]]:
    return {
        kind: read_table(rule, CUSTOMER_SETTINGS, file, f"customers.{kind}", flaws) for kind, rule in customers.items()
    }
