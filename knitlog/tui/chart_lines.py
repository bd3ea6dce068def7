"""Laying out the chart: which character goes where, line by line.

Pure: from :class:`ChartData` and a width to runs of characters, each with the
name of what it is (the widget turns names into colours).  Drawn as knitting
charts are (common practice): round 1 at the bottom, stitch 1 at the right, so
a colour change that falls *past* its place lies to the left of home.  One
line is laid out at a time, so that ten thousand rounds cost no more than the
few on the screen.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Literal

from knitlog.report.words import signed
from knitlog.tui import marks
from knitlog.tui.chart_data import ChartData, Dot, Place

Part = Literal[
    "blank", "home", "edge", "spread", "expected", "reading", "doubt", "deed", "axis", "next"
]
"""What a character on the chart is."""

STEPS = (0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0)
"""Stitches a column may stand for."""
LEFT_GUTTER = 10
"""Columns for what happened in a round."""
RIGHT_GUTTER = 6
"""Columns for the round's number."""
AXIS_LINES = 2
"""Lines of the scale below the plot."""

_HOME_SHARES = (0.5, 0.25, 0.75)
_RECENT_ROUNDS = 40
_TICK_COLUMNS = 6


@dataclass(frozen=True, slots=True)
class Run:
    """Characters of one kind, side by side."""

    text: str
    part: Part
    in_band: bool = False
    """Whether they lie within the tolerance."""


@dataclass(frozen=True, slots=True)
class Scale:
    """How stitches of offset become columns; positive offsets go left."""

    step: float
    """Stitches a column."""
    home: int
    """Column of the home line, from 0 at the left."""
    width: int
    """Columns of the plot."""

    def column(self, offset: float) -> int:
        """Column of ``offset`` (stitches); may lie outside 0 to width - 1."""
        return self.home - math.floor(offset / self.step + 0.5)


def choose_scale(data: ChartData, width: int) -> Scale:
    """The finest scale that shows the tolerance and the recent rounds in ``width`` columns.

    Older and wilder readings may fall off the chart: they are marked at its
    edge.  Home is at the middle, or at a quarter of the width when the colours
    have gone one way, so that the picture does not jump with every round.
    """
    oldest = data.last_round - _RECENT_ROUNDS
    reach = [data.tolerance * 1.4 + 1.0, -data.tolerance * 1.4 - 1.0]
    reach += [
        dot.offset
        for number, dots in data.dots.items()
        if number > oldest
        for dot in dots
        if not dot.doubtful
    ]
    soon = data.last_round + 3
    reach += [place.mean for number, place in data.places.items() if oldest < number <= soon]
    low, high = min(reach), max(reach)
    for step in STEPS:
        for share in _HOME_SHARES:
            home = int(width * share)
            if high / step <= home - 0.5 and -low / step <= width - home - 1.5:
                return Scale(step, home, width)
    return Scale(STEPS[-1], width // 2, width)


def round_line(data: ChartData, scale: Scale, first: int, last: int) -> list[Run]:
    """One line of the chart: the rounds ``first`` to ``last`` (one round, unless zoomed out)."""
    numbers = range(first, last + 1)
    return [*_left_gutter(data, numbers), *_plot(data, scale, numbers), _number(data, first, last)]


def axis_lines(scale: Scale, home_words: str, unit: str = "round") -> tuple[list[Run], list[Run]]:
    """The scale: offsets in stitches, then which way is which."""
    ticks = [" "] * scale.width
    tick = next(
        (t for t in (1, 2, 5, 10, 20, 50, 100, 200, 500) if t / scale.step >= _TICK_COLUMNS), 1000
    )
    reach = math.ceil(scale.width * scale.step / tick)
    for multiple in range(-reach, reach + 1):
        words = signed(multiple * tick)
        start = scale.column(multiple * tick) - len(words) // 2
        if start >= 0 and start + len(words) <= scale.width:
            ticks[start : start + len(words)] = words
    past, short = "← past", "short →"
    start = min(
        max(scale.home - len(home_words) // 2, len(past) + 1),
        scale.width - len(short) - 1 - len(home_words),
    )
    middle = scale.width - len(past) - len(short)
    inner = home_words.rjust(start - len(past) + len(home_words)) if start > len(past) else ""
    ways = past + inner[:middle].ljust(middle) + short
    left = " " * LEFT_GUTTER
    return (
        [Run(left + "".join(ticks) + unit.rjust(RIGHT_GUTTER), "axis")],
        [Run((left + ways).ljust(LEFT_GUTTER + scale.width + RIGHT_GUTTER), "axis")],
    )


def _left_gutter(data: ChartData, numbers: range) -> Iterator[Run]:
    found = [happened for number in numbers for happened in data.happenings.get(number, ())]
    if not found:
        words = ""
    elif len(found) == 1:
        words = f"{found[0].mark} {found[0].words}"
    else:
        words = "".join(dict.fromkeys(happened.mark for happened in found))
    yield Run(words[: LEFT_GUTTER - 1].ljust(LEFT_GUTTER), "deed" if words else "blank")


def _number(data: ChartData, first: int, last: int) -> Run:
    upcoming = data.next_round
    if upcoming is not None and first <= upcoming <= last:
        return Run(f"{upcoming:>5}{marks.OFF_LEFT}", "next")
    return Run(f"{last:>5} ", "axis")


def _plot(data: ChartData, scale: Scale, numbers: range) -> Iterator[Run]:
    width = scale.width
    cells: list[tuple[str, Part]] = [(" ", "blank")] * width

    def put(offset: float, text: str, part: Part) -> None:
        column = scale.column(offset)
        if not 0 <= column < width and part != "doubt":
            text = marks.OFF_LEFT if column < 0 else marks.OFF_RIGHT
        cells[min(max(column, 0), width - 1)] = (text, part)

    band = scale.column(data.tolerance), scale.column(-data.tolerance)
    for column in band:
        if 0 <= column < width:
            cells[column] = (marks.EDGE, "edge")
    cells[scale.home] = (marks.HOME, "home")
    for number in numbers:
        _put_place(data.places.get(number), data.dots.get(number, ()), scale, cells, put)
    for number in numbers:
        for dot in data.dots.get(number, ()):
            if dot.doubtful:
                put(dot.offset, marks.DOUBT, "doubt")
            else:
                put(dot.offset, marks.reading_mark(dot.change), "reading")
    kinds = [(part, band[0] <= column <= band[1]) for column, (_, part) in enumerate(cells)]
    for (part, in_band), group in groupby(range(width), key=kinds.__getitem__):
        yield Run("".join(cells[column][0] for column in group), part, in_band)


def _put_place(
    place: Place | None,
    dots: tuple[Dot, ...],
    scale: Scale,
    cells: list[tuple[str, Part]],
    put: Callable[[float, str, Part], None],
) -> None:
    if place is None:
        return
    if dots:
        column = scale.column(place.mean)
        if all(scale.column(dot.offset) != column for dot in dots):
            put(place.mean, marks.FITTED, "expected")
        return
    first = max(scale.column(place.high), 0)
    last = min(scale.column(place.low), scale.width - 1)
    for column in range(first, last + 1):
        cells[column] = (marks.SPREAD, "spread")
    put(place.mean, marks.EXPECTED, "expected")
