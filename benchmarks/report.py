"""The figures as a table for people and as JSON for programs."""

from collections.abc import Iterator, Mapping
from typing import Any

from benchmarks.figures import Figure, Section

Run = Mapping[str, Any]
"""When, on what and how a run was made."""


def table(run: Run, sections: Mapping[str, Section]) -> str:
    """Aligned columns: name, median, half of the distance between the quartiles, unit, aim."""
    figures = [figure for section in sections.values() for figure in section.figures]
    width = max(len(figure.name) for figure in figures)
    return "\n".join([*_head(run), *(line for section in sections.values() for line in _block(section, width))])


def document(run: Run, sections: Mapping[str, Section]) -> dict[str, Any]:
    """All of it, with every sample."""
    return {**run, "sections": {name: _section(section) for name, section in sections.items()}}


def _head(run: Run) -> Iterator[str]:
    machine = run["machine"]
    yield f"{run['date']}, {machine['cores']} cores, {machine['processor']}, {machine['system']}"
    yield f"{run['python']}, " + ", ".join(f"{name} {version}" for name, version in run["packages"].items())
    yield "Medians, ± half of the distance between the quartiles. Ratios (×) are of one round each."
    if run["quick"]:
        yield "QUICK: everything runs once or twice on next to nothing; the figures mean nothing."


def _block(section: Section, width: int) -> Iterator[str]:
    yield ""
    yield section.title
    for figure in section.figures:
        aim = f"   aim: {figure.aim}" if figure.aim else ""
        line = f"  {figure.name:<{width}}  {_short(figure.median):>9} {_spread(figure):>7}  {figure.unit:<9}{aim}"
        yield line.rstrip()
    yield from (f"  {note}" for note in section.notes)


def _short(value: float) -> str:
    """Three digits at least, all of those before the point."""
    size = abs(value)
    decimals = 0 if size >= 100 else 1 if size >= 10 else 2
    return f"{value:,.{decimals}f}"


def _spread(figure: Figure) -> str:
    if len(figure.samples) < 2 or not figure.median:
        return ""
    low, high = figure.quartiles
    return f"±{abs((high - low) / 2 / figure.median):.1%}"


def _section(section: Section) -> dict[str, Any]:
    return {
        "title": section.title,
        "figures": {f"{figure.name} [{figure.unit}]": _figure(figure) for figure in section.figures},
        "notes": list(section.notes),
    }


def _figure(figure: Figure) -> dict[str, Any]:
    low, high = figure.quartiles
    return {
        "name": figure.name,
        "unit": figure.unit,
        "median": figure.median,
        "quartiles": [low, high],
        "samples": list(figure.samples),
        "aim": figure.aim or None,
    }
