"""Two revisions of a quote beside each other, from what was stored of them: nothing is priced."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from quoter.quote import LINE_KINDS
from quoter.records.quotes import IssuedQuote

Data = dict[str, Any]
Row = Mapping[str, Any]

TOTALS = ("net", "tax", "gross")
SHOWN_OF_LINE = ("quantity", "unit", "unit_price", "net")


def side_by_side(old: IssuedQuote, new: IssuedQuote) -> Data:
    """Lines, totals, time, findings and warranty of both, with what differs. Amounts stay text."""
    return {
        "old": old.revision,
        "new": new.revision,
        "lines": _lines(old.result["lines"], new.result["lines"]),
        "totals": {name: _both(old.result["totals"][name], new.result["totals"][name]) for name in TOTALS},
        "time": {name: _both(minutes, new.result["time"][name]) for name, minutes in old.result["time"].items()},
        "findings": _findings(old.job["findings"], new.job["findings"]),
        "warranty": _warranty(old.result["warranty"], new.result["warranty"]),
    }


def _lines(old: Iterable[Row], new: Iterable[Row]) -> list[Data]:
    """Lines that are for the same stand together, in the order of a quote; the second for the same is a second pair."""
    before, after = _numbered(old), _numbered(new)
    together = sorted({**before, **after}, key=lambda key: LINE_KINDS.index(key[0]))
    return [_pair(before.get(key), after.get(key)) for key in together]


def _numbered(lines: Iterable[Row]) -> dict[tuple[str, str, int], Row]:
    """Lines by kind, what they are for, and how many of those came before."""
    numbered: dict[tuple[str, str, int], Row] = {}
    for line in lines:
        count = 0
        while (line["kind"], line["ref"], count) in numbered:
            count += 1
        numbered[line["kind"], line["ref"], count] = line
    return numbered


def _pair(old: Row | None, new: Row | None) -> Data:
    line = new or old or {}
    nets = [Decimal(each["net"]) if each else Decimal(0) for each in (old, new)]
    return {
        "kind": line["kind"],
        "ref": line["ref"],
        "description": line["description"],
        "change": _change(old, new),
        "old": _shown(old),
        "new": _shown(new),
        "difference": format(nets[1] - nets[0], "f"),
    }


def _change(old: Row | None, new: Row | None) -> str:
    if old is None:
        return "added"
    if new is None:
        return "removed"
    return "same" if _shown(old) == _shown(new) and old["description"] == new["description"] else "changed"


def _shown(line: Row | None) -> Data | None:
    return {name: line[name] for name in SHOWN_OF_LINE} if line else None


def _both(old: str, new: str) -> Data:
    return {"old": old, "new": new, "difference": format(Decimal(new) - Decimal(old), "f")}


def _findings(old: Iterable[str], new: Iterable[str]) -> Data:
    before, after = list(old), list(new)
    return {
        "added": [code for code in after if code not in before],
        "removed": [code for code in before if code not in after],
    }


def _warranty(old: Iterable[Row], new: Iterable[Row]) -> list[Data]:
    """Of each repair the terms before and now; null where it is not among the repairs."""
    before, after = ({each["procedure"]: _terms(each["terms"]) for each in repairs} for repairs in (old, new))
    return [
        {"procedure": procedure, "old": before.get(procedure), "new": after.get(procedure)}
        for procedure in {**before, **after}
    ]


def _terms(terms: Iterable[Row]) -> list[Data]:
    return [{name: term[name] for name in ("code", "title", "days")} for term in terms]
