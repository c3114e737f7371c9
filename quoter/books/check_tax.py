"""The flaws of a tax profile beyond its single values: codes that are not there, kinds of line without one."""

from collections.abc import Iterable, Iterator

from quoter.books.reading import ReadBook
from quoter.books.setting_values import setting_flaw
from quoter.books.suggest import Suggestions
from quoter.books.tax_values import ReadTax
from quoter.job import CUSTOMER_KINDS
from quoter.problems import Flaw
from quoter.quote import TAXED_KINDS

WORDS_LISTED = 12


def tax_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Rates given twice, codes that are not there, kinds of line without a code, kinds that mean nothing."""
    if book.tax:
        for check in (_component_flaws, _line_flaws, _customer_flaws, _reclass_flaws, _code_flaws):
            yield from check(book.tax)


def _component_flaws(tax: ReadTax) -> Iterator[Flaw]:
    for code, components in tax.codes.items():
        first: dict[object, int] = {}
        for number, component in enumerate(components, start=1):
            if {"name", "from"} <= component.keys():
                earlier = first.setdefault((component["name"], component["from"]), number)
                if earlier != number:
                    at = f"codes.{code}.components {number}.from"
                    message = f"component {earlier} has the same name and the same first day"
                    yield setting_flaw(
                        tax.file, at, message, str(component["from"]), "another day, or one of them less"
                    )


def _line_flaws(tax: ReadTax) -> Iterator[Flaw]:
    """A misspelt kind speaks for the one that it was meant to be."""
    if "lines" not in tax.sections:
        return
    missing = [kind for kind in TAXED_KINDS if kind not in tax.lines]
    likely = Suggestions(missing)
    unknown = [kind for kind in tax.lines if kind not in TAXED_KINDS]
    for kind in unknown:
        right = likely.perhaps(kind, one_of(TAXED_KINDS))
        yield setting_flaw(tax.file, f"lines.{kind}", "there is no such kind of line", "", right)
    meant = {likely.nearest(kind) for kind in unknown}
    for kind in (kind for kind in missing if kind not in meant):
        yield setting_flaw(tax.file, f"lines.{kind}", "must be given", "", one_of(tax.codes))


def _customer_flaws(tax: ReadTax) -> Iterator[Flaw]:
    for kind in tax.customers:
        if kind not in CUSTOMER_KINDS:
            right = Suggestions(CUSTOMER_KINDS).perhaps(kind, one_of(CUSTOMER_KINDS))
            yield setting_flaw(tax.file, f"customers.{kind}", "there is no such kind of customer", "", right)


def _reclass_flaws(tax: ReadTax) -> Iterator[Flaw]:
    for number, rule in enumerate(tax.reclass, start=1):
        if rule.get("when") == "part_share" and "above" in rule and rule["above"] is None:
            message, right = "must be given where when is part_share", "a share from 0 to 1"
            yield setting_flaw(tax.file, f"reclass {number}.above", message, "", right)


def _code_flaws(tax: ReadTax) -> Iterator[Flaw]:
    """Without readable codes none can be called unknown."""
    likely = Suggestions(tax.codes)
    for at, code in _codes_used(tax) if tax.codes else ():
        if code not in tax.codes:
            right = likely.perhaps(code, one_of(tax.codes))
            yield setting_flaw(tax.file, at, "there is no such tax code", code, right)


def _codes_used(tax: ReadTax) -> Iterator[tuple[str, str]]:
    for kind, code in tax.lines.items():
        if code is not None and kind in TAXED_KINDS:
            yield f"lines.{kind}", code
    for kind, rule in tax.customers.items():
        if "code" in rule:
            yield f"customers.{kind}.code", rule["code"]
    for number, rule in enumerate(tax.reclass, start=1):
        if "code" in rule:
            yield f"reclass {number}.code", rule["code"]


def one_of(words: Iterable[str]) -> str:
    """The words that would be right, where they are few enough to be read."""
    listed = list(words)
    more = ", …" if len(listed) > WORDS_LISTED else ""
    return f"one of {', '.join(listed[:WORDS_LISTED])}{more}"
