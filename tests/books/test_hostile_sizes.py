"""Books made to waste time: the work is bounded, whatever the rows say."""

from collections.abc import Callable

import pytest

from books.conftest import SMALL_BOOK, Change, Files, saved
from quoter.books import check_steps, suggest
from quoter.books.check import MOST_IN_ONE_PLACE
from quoter.problems import Flaw

HEADERS = {name: text.partition("\n")[0] for name, text in SMALL_BOOK.items()}
ROWS = 6000


def table(name: str, row: Callable[[int], str]) -> Change:
    """Six thousand rows."""
    return saved(f"{name}.csv", "\n".join([HEADERS[f"{name}.csv"], *map(row, range(ROWS)), ""]))


def test_many_misspelt_codes_against_many_right_ones(
    flaws_with: Callable[..., list[Flaw]], monkeypatch: pytest.MonkeyPatch
):
    """Thirty-six million pairs of words, of which a few thousand are compared."""
    compared: list[int] = []

    def counted(word: str, known: list[str], n: int) -> list[str]:
        compared.append(len(known))
        return known[:n]

    monkeypatch.setattr(suggest, "get_close_matches", counted)
    found = flaws_with(
        table("devices", lambda n: f"device-{n:05},M,M,phone,60,120,3"),
        table("parts", lambda n: f"P{n},T,screen,g,devise-{n:05} devise-{n:05}x,1,,,,,,"),
    )
    assert len([flaw for flaw in found if flaw.table == "parts"]) == MOST_IN_ONE_PLACE + 1
    assert 0 < sum(compared) < 12 * suggest.COMPARISONS


def every_cell_wrong(number: int) -> str:
    """Twelve flaws."""
    return f"s:{number},,a b,,devise-{number},1x,usd,-1,zz,step-{number},war-{number},2"


def test_a_table_in_which_every_cell_is_wrong(flaws_with: Callable[..., list[Flaw]]):
    """Seventy-two thousand flaws: a thousand of each column, and a count of the others."""
    found = [flaw for flaw in flaws_with(table("parts", every_cell_wrong)) if flaw.table == "parts"]
    assert len(found) == 12 * (MOST_IN_ONE_PLACE + 1)
    assert {flaw.message for flaw in found if flaw.row is None} == {f"{ROWS - MOST_IN_ONE_PLACE} more flaws here"}


def steps(*needs: Callable[[int], int]) -> Callable[[Files], None]:
    """Six thousand steps, each of which needs the ones with these numbers."""
    return table("steps", lambda n: f"s{n},T,1,2,3,,{' '.join(f's{need(n) % ROWS}' for need in needs)},,,")


@pytest.mark.parametrize(
    ("change", "circles"),
    [
        (steps(lambda n: n + 1), 1),
        (steps(lambda n: n), ROWS),
        (steps(lambda n: n ^ 1), ROWS // 2),
        (steps(lambda n: 0, lambda n: n - 1, lambda n: n + 1), 2),
    ],
    ids=["one ring of all", "each by itself", "in pairs", "all of them entangled"],
)
def test_steps_in_circles(flaws_with: Callable[..., list[Flaw]], change: Change, circles: int):
    """Neither too deep to be walked nor walked again for each circle."""
    found = [flaw for flaw in flaws_with(change) if flaw.message == "the steps wait for each other"]
    assert len(found) >= min(circles, MOST_IN_ONE_PLACE)


def test_findings_that_replace_steps_of_a_long_chain(
    flaws_with: Callable[..., list[Flaw]], monkeypatch: pytest.MonkeyPatch
):
    """Eighteen million visits if each finding were followed to the end: the search is given up, and says so."""
    monkeypatch.setattr(check_steps, "MOST_VISITS", check_steps.MOST_VISITS // 10)
    found = flaws_with(
        table("steps", lambda n: f"s{n},T,1,2,3,,{f's{n + 1}' if n + 1 < ROWS else ''},,,"),
        table("findings", lambda n: f"f{n},T,,,,,s{n}:s{(n + 1) % ROWS},,,,,,,,"),
    )
    assert "too many steps to tell whether they wait for each other" in {flaw.message for flaw in found}
