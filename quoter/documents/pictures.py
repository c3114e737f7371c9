"""Pictures of the effect of a change, drawn from its figures: see `drawing` for how they are to be served."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal, localcontext

from quoter.documents.bins import Bin, ChangeBins, MarginBins, change_bins, margin_bins
from quoter.documents.change_drawing import ChangeDrawing
from quoter.documents.drawing import Picture, picture, words
from quoter.documents.labels import Labels
from quoter.documents.margin_drawing import MarginDrawing, Margins
from quoter.money import ARITHMETIC, ZERO

Show = Callable[[Decimal], str]

RATE_UNIT = Decimal("0.001")
"""Changes in per cent are not told apart more finely than in tenths."""


def changes_picture(differences: Iterable[Decimal], labels: Labels, unit: Decimal) -> Picture:
    """How many prices rise or fall by how much; `unit` is the currency's minor unit."""
    title = labels.words("How prices change")
    with localcontext(ARITHMETIC):
        return _changes("changes", title, sorted(differences), labels, labels.money, unit)


def relative_changes_picture(differences: Iterable[Decimal], labels: Labels) -> Picture:
    """The same of differences that are shares of the old price."""
    title = labels.words("How prices change, in per cent")
    with localcontext(ARITHMETIC):
        return _changes("relative-changes", title, sorted(differences), labels, labels.percent, RATE_UNIT)


def margins_picture(before: Margins, after: Margins, labels: Labels) -> Picture:
    """Margins before the change to the left, after it to the right, on one scale, with the floors marked."""
    title = labels.words("Margins before and after")
    sides = [replace(side, margins=sorted(side.margins)) for side in (before, after)]
    if not any(side.margins for side in sides):
        return _nothing("margins", title, labels.words("There is nothing to show: no price has a margin."))
    with localcontext(ARITHMETIC):
        floors = [side.floor for side in sides if side.floor is not None]
        bins = margin_bins(sides[0].margins, sides[1].margins, floors)
        drawn = MarginDrawing(bins, sides[0], sides[1], labels)
        description = " ".join(_margin_sentences(bins, sides, labels))
        return picture("margins", title, description, drawn.height, drawn.elements())


def _changes(name: str, title: str, ranked: Sequence[Decimal], labels: Labels, show: Show, unit: Decimal) -> Picture:
    if not ranked:
        return _nothing(name, title, labels.words("There is nothing to show: no price can be compared."))
    bins = change_bins(ranked, unit)
    drawn = ChangeDrawing(bins, labels, show)
    description = " ".join(_change_sentences(bins, ranked, labels, show, unit))
    return picture(name, title, description, drawn.height, drawn.elements())


def _nothing(name: str, title: str, text: str) -> Picture:
    return picture(name, title, text, 40, [words(text, "50%", 20, "middle", "quiet")])


def _median(ranked: Sequence[Decimal], unit: Decimal) -> Decimal:
    twice = ranked[len(ranked) // 2] + ranked[(len(ranked) - 1) // 2]
    return (twice / 2).quantize(unit, ROUND_HALF_UP)


def _change_sentences(
    bins: ChangeBins, ranked: Sequence[Decimal], labels: Labels, show: Show, unit: Decimal
) -> Iterator[str]:
    up, down = (sum(each.count for each in side) for side in (bins.rises, bins.falls))
    yield labels.words(
        "Of {total} prices, {up} become dearer, {down} cheaper, and {same} stay the same.",
        total=labels.count(len(ranked)),
        up=labels.count(up),
        down=labels.count(down),
        same=labels.count(bins.same),
    )
    yield labels.words(
        "The changes go from {smallest} to {largest}; the one in the middle is {median}.",
        smallest=show(ranked[0]),
        largest=show(ranked[-1]),
        median=show(_median(ranked, unit)),
    )
    if up:
        yield labels.words("Dearer: {parts}.", parts="; ".join(_change_parts(bins.rises, labels, show)))
    if down:
        yield labels.words("Cheaper: {parts}.", parts="; ".join(_change_parts(bins.falls, labels, show)))


def _change_parts(side: Iterable[Bin], labels: Labels, show: Show) -> Iterator[str]:
    """The bins of a side that hold anything, by size."""
    for each in side:
        near, *far = sorted(abs(edge) for edge in (each.lower, each.upper) if edge is not None)
        places = {"count": labels.count(each.count), "near": show(near)}
        if each.count and far:
            template = "{count} by more than {near} up to {far}" if near > ZERO else "{count} by up to {far}"
            yield labels.words(template, **places, far=show(far[0]))
        elif each.count:
            yield labels.words("{count} by more than {near}", **places)


def _margin_sentences(bins: MarginBins, sides: Sequence[Margins], labels: Labels) -> Iterator[str]:
    templates = ("Before: {figures}.", "After: {figures}.")
    for template, side, binned in zip(templates, sides, (bins.before, bins.after), strict=True):
        figures = [*_margin_figures(side, labels), *_margin_parts(binned, labels)]
        yield labels.words(template, figures="; ".join(figures))


def _margin_figures(side: Margins, labels: Labels) -> Iterator[str]:
    ranked = side.margins
    yield labels.words("{count} prices", count=labels.count(len(ranked)))
    if ranked:
        yield labels.words(
            "margins from {smallest} to {largest}, in the middle {median}",
            smallest=labels.percent(ranked[0]),
            largest=labels.percent(ranked[-1]),
            median=labels.percent(_median(ranked, RATE_UNIT)),
        )
    below = labels.count(side.below_floor)
    if side.floor is None:
        yield labels.words("{count} below their floor", count=below)
    else:
        yield labels.words("{count} below the floor of {floor}", count=below, floor=labels.percent(side.floor))


def _margin_parts(bins: Iterable[Bin], labels: Labels) -> Iterator[str]:
    """The bins that hold anything, lowest first."""
    for each in bins:
        places = {"count": labels.count(each.count)}
        if each.count and each.lower is None and each.upper is not None:
            yield labels.words("{count} below {upper}", **places, upper=labels.percent(each.upper))
        elif each.count and each.upper is None and each.lower is not None:
            yield labels.words("{count} above {lower}", **places, lower=labels.percent(each.lower))
        elif each.count and each.lower is not None and each.upper is not None:
            edges = {"lower": labels.percent(each.lower), "upper": labels.percent(each.upper)}
            yield labels.words("{count} from {lower} to {upper}", **places, **edges)
