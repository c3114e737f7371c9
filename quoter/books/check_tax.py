"""The flaws of a tax profile."""

from collections.abc import Iterator, Mapping
from typing import Any

from quoter.books import cells
from quoter.books.reading import ReadBook, dotted_keys, read_settings
from quoter.books.settings import COMPONENT_SETTINGS, TAX_SETTINGS, Setting
from quoter.job import CUSTOMER_KINDS
from quoter.problems import Flaw
from quoter.quote import TAXED_KINDS

RECLASS_WHEN = ("any_part", "part_share")


def tax_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Unreadable rates, codes that are not there, kinds of line without a code, keys that mean nothing."""
    tax = book.raw.tax
    if not tax:
        return
    file = f"tax/{book.settings.get('tax_profile', '')}.toml"
    checks = (_key_flaws, _combined_flaws, _code_flaws, _line_flaws, _customer_flaws, _reclass_flaws)
    for check in checks:
        yield from check(tax, file)


def _key_flaws(tax: Mapping[str, Any], file: str) -> Iterator[Flaw]:
    known = {setting.key for setting in TAX_SETTINGS} | {"combined", "reclass"}
    for key in dotted_keys(tax):
        if key not in known and key.partition(".")[0] not in ("codes", "lines", "customers"):
            yield Flaw(file, key, "there is no such setting")


def _combined_flaws(tax: Mapping[str, Any], file: str) -> Iterator[Flaw]:
    if not isinstance(tax.get("combined"), bool):
        yield Flaw(file, "combined", "must be given", value=str(tax.get("combined", "")), suggestion="true or false")


def codes_in(tax: Mapping[str, Any]) -> Mapping[str, Any]:
    """The codes of a profile with their components, as they stand in the file."""
    codes = tax.get("codes", {})
    return codes if isinstance(codes, Mapping) else {}


def _code_flaws(tax: Mapping[str, Any], file: str) -> Iterator[Flaw]:
    codes = codes_in(tax)
    if not codes:
        yield Flaw(file, "codes", "must be given", suggestion="[codes.CODE] with components")
    for code, content in codes.items():
        components = content.get("components") if isinstance(content, Mapping) else None
        if not isinstance(components, list) or not all(isinstance(each, Mapping) for each in components):
            yield Flaw(file, f"codes.{code}.components", "must be a list", suggestion="[{name, rate, from}, …]")
            continue
        found: list[Flaw] = []
        for number, component in enumerate(components, start=1):
            read_settings(component, COMPONENT_SETTINGS, file, found, f"codes.{code}.components {number}.")
        yield from found


def _line_flaws(tax: Mapping[str, Any], file: str) -> Iterator[Flaw]:
    lines = tax.get("lines")
    lines = lines if isinstance(lines, Mapping) else {}
    for kind in TAXED_KINDS:
        if kind not in lines:
            yield Flaw(file, f"lines.{kind}", "must be given", suggestion=_one_of(codes_in(tax)))
    for kind, code in lines.items():
        if kind not in TAXED_KINDS:
            yield Flaw(file, f"lines.{kind}", "there is no such kind of line", suggestion=_one_of(TAXED_KINDS))
        elif code not in codes_in(tax):
            yield _unknown_code(file, f"lines.{kind}", code, tax)


def _customer_flaws(tax: Mapping[str, Any], file: str) -> Iterator[Flaw]:
    customers = tax.get("customers", {})
    for kind, rule in customers.items() if isinstance(customers, Mapping) else ():
        at = f"customers.{kind}"
        if kind not in CUSTOMER_KINDS:
            yield Flaw(file, at, "there is no such kind of customer", suggestion=_one_of(CUSTOMER_KINDS))
        code = rule.get("code") if isinstance(rule, Mapping) else None
        if code not in codes_in(tax):
            yield _unknown_code(file, f"{at}.code", code, tax)


def _reclass_flaws(tax: Mapping[str, Any], file: str) -> Iterator[Flaw]:
    rules = tax.get("reclass", [])
    for number, rule in enumerate(rules if isinstance(rules, list) else (), start=1):
        at = f"reclass {number}."
        if not isinstance(rule, Mapping):
            yield Flaw(file, at, "must be a table", suggestion="[[reclass]] with when, lines and code")
            continue
        found: list[Flaw] = []
        read_settings(rule, _reclass_settings(rule), file, found, at)
        yield from found
        lines = rule.get("lines")
        if not isinstance(lines, list) or not lines or not all(kind in TAXED_KINDS for kind in lines):
            yield Flaw(file, f"{at}lines", "not kinds of line", value=str(lines), suggestion=_one_of(TAXED_KINDS))
        if rule.get("code") not in codes_in(tax):
            yield _unknown_code(file, f"{at}code", rule.get("code"), tax)


def _reclass_settings(rule: Mapping[str, Any]) -> tuple[Setting, ...]:
    when = Setting("when", cells.one_of(*RECLASS_WHEN), "what the whole job must be like")
    above = Setting("above", cells.SHARE, "share of parts above which it counts")
    return (when, above) if rule.get("when") == "part_share" else (when,)


def _unknown_code(file: str, at: str, code: Any, tax: Mapping[str, Any]) -> Flaw:
    return Flaw(file, at, "there is no such tax code", value=str(code or ""), suggestion=_one_of(codes_in(tax)))


def _one_of(words: Any) -> str:
    return "one of " + ", ".join(words)
