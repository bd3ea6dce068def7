"""The drift history drawn in character cells: offset, drift and fabric over the same rounds.

Rounds go upward and what is past its place stands to the left, as on a knitting chart (common
practice).  Every picture of a project here has its round 1 on the same line, so that a slide, its
fix and the stripe it made are seen beside each other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from knitlog.report.drawing import (
    ACROSS,
    DOWN,
    Axis,
    Cells,
    Dots,
    Means,
    Stroke,
    tick_step,
    wrapped_key,
)
from knitlog.report.fabric_cells import FabricScale
from knitlog.report.fabric_drawing import cloth_strokes, colour_key
from knitlog.report.history import MARKS, What

if TYPE_CHECKING:
    from collections.abc import Iterator

    from knitlog.drift.fit_result import FloatArray
    from knitlog.report.history import FabricPair, RoundHistory

_GUTTER = 4
"""Columns at the left for what happened in the rounds of a line."""
_NUMBERS = 6
"""Columns at the right for the number of the round."""
_BETWEEN = 2
_MOST_DRIFT_SHARE = 0.36
_FEWEST = 10
"""Columns of a plot."""
_LABEL_LINES = 4


@dataclass(frozen=True, slots=True)
class Rows:
    """Which rounds are drawn on which line; lines count from the bottom, from 0."""

    first: int
    last: int
    each: int
    """Rounds a line."""

    @property
    def lines(self) -> int:
        """Lines they take."""
        return -(-(self.last - self.first + 1) // self.each)

    def line_of(self, round_number: int) -> int:
        """The line of a round; one below the first or above the last is on theirs."""
        return (min(max(round_number, self.first), self.last) - self.first) // self.each

    def span(self, line: int) -> tuple[int, int]:
        """First and last index (from 0) of the rounds on a line."""
        begin = line * self.each
        return begin, min(begin + self.each - 1, self.last - self.first)

    def label(self, line: int) -> str:
        """The number at the right of a line: the last, the first, round ones between them."""
        if line in (0, self.lines - 1):
            return str(self.first if line == 0 else self.last)
        step = int(tick_step(self.each, _LABEL_LINES))
        begin, end = (self.first + index for index in self.span(line))
        due = end // step * step
        return str(due) if due >= begin and 1 < line < self.lines - 2 else ""


def rows_of(first: int, last: int, height: int, *, most_a_line: int = 10**9) -> Rows:
    """Rounds on at most ``height`` lines, a whole number on each, and no more than told.

    >>> rows_of(1, 60, 15).each, rows_of(1, 12, 15).lines, rows_of(1, 60, 15, most_a_line=2).lines
    (4, 12, 30)
    """
    return Rows(first, last, min(-(-(last - first + 1) // height), most_a_line))


@dataclass(frozen=True, slots=True)
class HistoryDrawing:
    """Where the colours fell, and beside it the drift, round by round."""

    history: RoundHistory
    palette: tuple[str, ...] = ()

    def lines(self, width: int, height: int, means: Means) -> Iterator[list[Stroke]]:
        """Draw it: headings, the plots, their scales, what the marks mean."""
        told = self.history
        room = max(width - _GUTTER - _NUMBERS - _BETWEEN, 2 * _FEWEST)
        right = max(int(room * _MOST_DRIFT_SHARE), _FEWEST)
        plots = (_offsets(told, room - right), _drifts(told, right))
        rows = rows_of(int(told.rounds[0]), int(told.rounds[-1]), height)
        gap, turn = Stroke(" " * _BETWEEN), "row" if told.flat else "round"
        yield [
            Stroke(" " * _GUTTER),
            *_titles(plots, means),
            Stroke(f"{turn:>{_NUMBERS}}", "faint"),
        ]
        for line in range(rows.lines - 1, -1, -1):
            drawn = [plot.line(rows, line, means) for plot in plots]
            number = Stroke(f"{rows.label(line):>{_NUMBERS}}", "faint")
            yield [_marked(told, rows, line, means), *drawn[0], gap, *drawn[1], number]
        rulers = (" " * _BETWEEN).join(plot.axis.ruler(sign="+") for plot in plots)
        yield [Stroke(f"{'':{_GUTTER}}{rulers}".rstrip(), "faint")]
        yield from wrapped_key(list(self._key(rows, means)), width)

    def _key(self, rows: Rows, means: Means) -> Iterator[tuple[str, str, str]]:
        told = self.history
        turn = "rows" if told.flat else "rounds"
        dot, haze, edge = ("●", "░", ":") if means.sharp else ("o", "-", ":")
        if means.sharp and rows.each > 1:
            dot = "⠂"
        yield dot, "ink", "as read"
        yield haze, "expected", "as fitted, 19 times in 20"
        yield edge, "faint", f"within {told.tolerance:g} stitches"
        for what in dict.fromkeys(found.what for found in told.marks):
            sharp, letter, words = MARKS[what]
            yield sharp if means.sharp else letter, _ink_of(what), words
        if rows.each > 1:
            yield "", "", f"({rows.each} {turn} a line)"


@dataclass(frozen=True, slots=True)
class _Plot:
    """One quantity over the rounds, with its 95 % interval."""

    title: str
    history: RoundHistory
    axis: Axis
    middle: FloatArray
    low: FloatArray
    high: FloatArray
    lines_at: tuple[tuple[float, str, str], ...]
    """Lines upward: where, in marks and in ASCII."""
    read: bool
    """Whether the readings are of this quantity."""

    def line(self, rows: Rows, line: int, means: Means) -> list[Stroke]:
        """Draw one line of the plot."""
        cells = Cells(self.axis.width)
        for at, mark, letter in self.lines_at:
            cells.put(self.axis.column(at), mark if means.sharp else letter, "faint")
        begin, end = rows.span(line)
        high, low = float(self.high[begin : end + 1].max()), float(self.low[begin : end + 1].min())
        for column in range(max(self.axis.column(high), 0), self.axis.column(low) + 1):
            cells.put(column, "░" if means.sharp else "-", "expected")
        if means.sharp:
            self._path(cells, rows, line)
        else:
            for index in range(begin, end + 1):
                cells.put(self.axis.column(float(self.middle[index])), ".", "expected")
        if self.read:
            self._readings(cells, rows, line, means)
        return cells.runs()

    def _path(self, cells: Cells, rows: Rows, line: int) -> None:
        """The fitted path in dots, what lies between two of them joined up."""
        dots, most = Dots(self.axis.width), len(self.middle) - 1
        for down in range(DOWN):
            # the round under this dot, and under the one above it
            here, above = (
                min(int((line + (DOWN - 0.5 - down + step) / DOWN) * rows.each), most)
                for step in (0, 1)
            )
            ends = [self._across(float(self.middle[index])) for index in (here, above)]
            if abs(ends[1] - ends[0]) <= 1:
                ends[1] = ends[0]
            for across in range(min(ends), max(ends) + 1):
                dots.put(across, down)
        for column, mark in dots.marks():
            cells.put(column, mark, "expected")

    def _readings(self, cells: Cells, rows: Rows, line: int, means: Means) -> None:
        told = [r for r in self.history.readings if rows.line_of(r.round) == line]
        dots = Dots(self.axis.width)
        for reading in told:
            if reading.doubtful:
                column = self.axis.column(reading.offset)
                cells.put(min(max(column, 0), self.axis.width - 1), "?", "watch")
            elif not means.sharp or rows.each <= 1:
                cells.put(self.axis.column(reading.offset), "●" if means.sharp else "o", "ink")
            else:
                up = (reading.round - rows.first + 0.5) / rows.each - line
                down = DOWN - 1 - min(max(int(up * DOWN), 0), DOWN - 1)
                dots.put(self._across(reading.offset), down)
        for column, mark in dots.marks():
            cells.put(column, mark, "ink")

    def _across(self, number: float) -> int:
        return min(math.floor(self.axis.at(number) * ACROSS), self.axis.width * ACROSS - 1)


def _offsets(told: RoundHistory, width: int) -> _Plot:
    band = told.tolerance
    read = [r.offset for r in told.readings if not r.doubtful]
    low = min(-1.3 * band, float(told.offset_low95.min()), *read)
    high = max(1.3 * band, float(told.offset_high95.max()), *read)
    return _Plot(
        "stitches off: < past, short >",
        told,
        Axis(high, low, width),
        told.offset,
        told.offset_low95,
        told.offset_high95,
        ((band, ":", ":"), (-band, ":", ":"), (0.0, "│", "|")),
        read=True,
    )


def _drifts(told: RoundHistory, width: int) -> _Plot:
    # the wide ends of a few rounds give way to what most of them say
    low = float(min(np.quantile(told.drift_low95, 0.05), told.drift.min(), told.target_drift - 0.5))
    high = float(
        max(np.quantile(told.drift_high95, 0.95), told.drift.max(), told.target_drift + 0.5)
    )
    return _Plot(
        f"drift, a {'row' if told.flat else 'round'}",
        told,
        Axis(high, low, width),
        told.drift,
        told.drift_low95,
        told.drift_high95,
        ((told.target_drift, "│", "|"),),
        read=False,
    )


def _titles(plots: tuple[_Plot, _Plot], means: Means) -> list[Stroke]:
    words = [plot.title[: plot.axis.width].ljust(plot.axis.width) for plot in plots]
    if means.sharp:
        words = [text.replace("<", "←").replace(">", "→") for text in words]
    return [Stroke((" " * _BETWEEN).join(words), "faint")]


def _ink_of(what: What) -> str:
    return "watch" if what in (What.MISCOUNT, What.UNLOGGED) else "deed"


def _marked(told: RoundHistory, rows: Rows, line: int, means: Means) -> Stroke:
    """What happened in the rounds of a line, a mark each."""
    found = [
        MARKS[one.what][0 if means.sharp else 1]
        for one in told.marks
        if rows.line_of(one.round) == line
    ]
    marks = "".join(dict.fromkeys(found))
    if len(marks) > _GUTTER - 1:
        marks = marks[: _GUTTER - 2] + "+"
    return Stroke(f"{marks:{_GUTTER}}", "deed" if found else "")


@dataclass(frozen=True, slots=True)
class PairDrawing:
    """The fabric as knitted beside as planned, the whole round wide."""

    pair: FabricPair
    history: RoundHistory

    @property
    def palette(self) -> tuple[str, ...]:
        """The yarn's colours."""
        return self.pair.knitted.palette

    def lines(self, width: int, height: int, means: Means) -> Iterator[list[Stroke]]:
        """Draw both, in blocks where there are colours and parts of blocks, else in letters."""
        columns = max((width - _GUTTER - _NUMBERS - _BETWEEN) // 2, _FEWEST)
        told, fabrics = self.history, (self.pair.knitted, self.pair.planned)
        # rows of the two sides differ: worked flat, each is seen for itself
        rows = rows_of(1, fabrics[0].rounds, height, most_a_line=2 if told.flat else 10**9)
        painted = means.sharp and means.colour
        gap = Stroke(" " * _BETWEEN)
        names = [name.ljust(columns) for name in ("as knitted", "as planned")]
        yield [Stroke(" " * _GUTTER + (" " * _BETWEEN).join(names).rstrip(), "faint")]
        for line in range(rows.lines - 1, -1, -1):
            drawn = [
                cloth_strokes(
                    fabric,
                    FabricScale(columns / fabric.stitches, 1 / rows.each),
                    line,
                    columns,
                    painted=painted,
                )
                for fabric in fabrics
            ]
            number = Stroke(f"{rows.label(line):>{_NUMBERS}}", "faint")
            yield [_marked(told, rows, line, means), *drawn[0], gap, *drawn[1], number]
        yield from colour_key(fabrics[0], width)
