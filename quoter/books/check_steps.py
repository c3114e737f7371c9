"""Steps that wait for each other, as they are or once findings or missing parts have changed them."""

from collections.abc import Iterable, Iterator, Mapping

from quoter.books.reading import ReadBook, ReadRow
from quoter.problems import Flaw


def step_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Circles in `needs`, in `without_part`, and in `needs` under the replacements of each finding."""
    rows = {row.values["code"]: row for row in book.tables["steps"] if row.has("code")}
    needs = {code: row.values.get("needs", ()) for code, row in rows.items()}
    stand_ins = {code: tuple(filter(None, [row.values.get("without_part")])) for code, row in rows.items()}
    own = circle(needs)
    if own:
        yield _circle_flaw(rows, own, "needs", "the steps wait for each other")
        return
    swapped = circle(stand_ins)
    if swapped:
        yield _circle_flaw(rows, swapped, "without_part", "the steps stand in for each other")
    for row in book.tables["findings"]:
        replaced = dict(row.values.get("replaces", ()))
        found = circle({code: tuple(replaced.get(need, need) for need in needs[code]) for code in needs})
        if replaced and found:
            message = f"replaced like this, the steps wait for each other: {' → '.join(found)}"
            yield Flaw("findings", "replaces", message, row.number, row.key)


def _circle_flaw(rows: Mapping[str, ReadRow], found: list[str], column: str, message: str) -> Flaw:
    row = rows[found[0]]
    return Flaw("steps", column, message, row.number, row.key, " → ".join(found), "take one of these needs out")


def circle(needs: Mapping[str, Iterable[str]]) -> list[str]:
    """A circle in a graph as the codes along it, the first again at the end; empty where there is none."""
    finished: set[str] = set()
    for start in needs:
        trail: list[str] = []
        branches = [iter((start,))]
        while branches:
            code = next(branches[-1], None)
            if code is None:
                branches.pop()
                if trail:
                    finished.add(trail.pop())
            elif code in trail:
                return [*trail[trail.index(code) :], code]
            elif code in needs and code not in finished:
                trail.append(code)
                branches.append(iter(needs[code]))
    return []
