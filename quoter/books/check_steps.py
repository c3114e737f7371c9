"""Steps that wait for each other, as they are or once findings or missing parts have changed them."""

from collections import Counter, deque
from collections.abc import Iterable, Iterator, Mapping
from itertools import islice

from quoter.books.reading import ReadBook, ReadRow
from quoter.problems import Flaw

MOST_VISITS = 2_000_000
"""Steps that are looked at before the search is given up: some seconds, and far more than a shop's book needs."""

LONGEST_TRAIL = 12

Needs = Mapping[str, tuple[str, ...]]


class _GivenUp(Exception):
    """The book is too tangled to be searched."""


def step_flaws(book: ReadBook) -> Iterator[Flaw]:
    """Circles in `needs`, in `without_part`, and in `needs` once a finding or a missing part has changed them."""
    rows = {row.values["code"]: row for row in book.tables["steps"] if row.has("code")}
    needs: Needs = {code: row.values.get("needs", ()) for code, row in rows.items()}
    waiting = list(circles(needs))
    for found in waiting:
        yield _step_flaw(rows[found[0]], "needs", "the steps wait for each other", found, "take one of these needs out")
    swapped = list(circles(_stand_ins(rows)))
    for found in swapped:
        message = "the steps stand in for each other"
        yield _step_flaw(rows[found[0]], "without_part", message, found, "another step, or a blank in one of them")
    search = _Search(needs, {code for found in waiting for code in found})
    try:
        yield from _stand_in_flaws(rows, search, {code for found in swapped for code in found})
        yield from _replacement_flaws(book.tables["findings"], search)
    except _GivenUp:
        message = "too many steps to tell whether they wait for each other"
        yield Flaw("steps", "needs", message, suggestion="fewer needs, or fewer findings that replace steps")


def _stand_ins(rows: Mapping[str, ReadRow]) -> Needs:
    """Of each step with a slot, the one that is done without a part."""
    return {code: (row.values["without_part"],) for code, row in rows.items() if _stands_in(row)}


def _stands_in(row: ReadRow) -> bool:
    return bool(row.values.get("slot") and row.values.get("without_part"))


def _stand_in_flaws(rows: Mapping[str, ReadRow], search: "_Search", swapped: set[str]) -> Iterator[Flaw]:
    for code, (stand_in,) in _stand_ins(rows).items():
        found = [] if code in swapped else search.way_back(stand_in, {code: stand_in})
        if found:
            message = "without the part, the steps wait for each other"
            yield _step_flaw(rows[code], "without_part", message, found, "a step that does not need this one")


def _replacement_flaws(findings: Iterable[ReadRow], search: "_Search") -> Iterator[Flaw]:
    known: dict[tuple[tuple[str, str], ...], list[str]] = {}
    for row in findings:
        replaces: tuple[tuple[str, str], ...] = row.values.get("replaces", ())
        olds = Counter(old for old, _ in replaces)
        for old in (old for old, times in olds.items() if times > 1):
            right = f"one pair {old}:new"
            yield Flaw("findings", "replaces", "the step is replaced twice", row.number, row.key, old, right)
        if replaces not in known:
            first = dict(reversed(replaces))  # as the engine has it: of two pairs for one step, the first counts
            pairs = {old: first[old] for old in olds}
            known[replaces] = next(filter(None, (search.way_back(new, pairs) for new in pairs.values())), [])
        if known[replaces]:
            message = "replaced like this, the steps wait for each other"
            right = "a step that does not need the one that it replaces"
            yield Flaw("findings", "replaces", message, row.number, row.key, _trail(known[replaces]), right)


def _step_flaw(row: ReadRow, column: str, message: str, found: list[str], right: str) -> Flaw:
    return Flaw("steps", column, message, row.number, row.key, _trail(found), right)


def _trail(codes: list[str]) -> str:
    listed = codes if len(codes) <= LONGEST_TRAIL else [*codes[: LONGEST_TRAIL - 2], "…", codes[-1]]
    return " → ".join(listed)


class _Search:
    """Looks for steps that come to need themselves once others stand in for some. Gives up after so many visits."""

    def __init__(self, needs: Needs, known_to_wait: set[str]) -> None:
        self._needs = {code: () if code in known_to_wait else wanted for code, wanted in needs.items()}
        self._left = MOST_VISITS

    def way_back(self, start: str, stand_ins: Mapping[str, str]) -> list[str]:
        """The shortest way from a step back to itself, the step at both ends; empty where there is none."""
        start = self._really_done(start, stand_ins)
        came_from: dict[str, str] = {}
        waiting = deque([start])
        while waiting:
            code = waiting.popleft()
            for raw in self._needs.get(code, ()):
                self._count()
                need = self._really_done(raw, stand_ins)
                if need == start:
                    return [*_way(code, start, came_from), start]
                if need not in came_from:
                    came_from[need] = code
                    waiting.append(need)
        return []

    def _really_done(self, code: str, stand_ins: Mapping[str, str]) -> str:
        """Follows stand-ins of stand-ins; two that stand in for each other are swapped."""
        seen = {code}
        while stand_ins.get(code, code) not in seen:
            self._count()
            code = stand_ins[code]
            seen.add(code)
        return code

    def _count(self) -> None:
        self._left -= 1
        if self._left < 0:
            raise _GivenUp


def _way(end: str, start: str, came_from: Mapping[str, str]) -> list[str]:
    way = [end]
    while way[-1] != start:
        way.append(came_from[way[-1]])
    return way[::-1]


def circles(needs: Needs) -> Iterator[list[str]]:
    """The circles in a graph as the codes along each, the first again at the end; of those that touch, the first.

    Without recursion: a chain of steps may be as long as the table.
    """
    finished: set[str] = set()
    for start in needs:
        trail: dict[str, int] = {}
        circled: list[int] = []  # at each place of the trail, the last place up to it that is on a circle
        branches = [iter((start,))]
        while branches:
            code = next(branches[-1], None)
            if code is None:
                branches.pop()
                if trail:
                    finished.add(trail.popitem()[0])
                    circled.pop()
            elif code in trail:
                first = trail[code]
                if circled[-1] < first:
                    circled[first:] = range(first, len(trail))
                    yield [*reversed(list(islice(reversed(trail), len(trail) - first))), code]
            elif code in needs and code not in finished:
                circled.append(circled[-1] if circled else -1)
                trail[code] = len(trail)
                branches.append(iter(needs[code]))
