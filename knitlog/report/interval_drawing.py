"""Intervals above each other in character cells: any knitter's, and hers below it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from knitlog.report.drawing import Axis, Cells, Means, Stroke
from knitlog.report.words import between

if TYPE_CHECKING:
    from collections.abc import Iterator

    from knitlog.drift import Estimate

_LABEL = 26
_INDENT = 2
_MARGIN = 0.04
"""Of the picture, left empty at either end."""
_TENTH = 0.1
_BARS = {True: ("╶─╴○", "╺━╸●"), False: ("---o", "===#")}
"""Left end, middle, right end and mean of any knitter's interval, and of hers."""


@dataclass(frozen=True, slots=True)
class Beside:
    """One thing hands do: of any knitter, and of her."""

    label: str
    any_knitter: Estimate
    yours: Estimate


@dataclass(frozen=True, slots=True)
class IntervalDrawing:
    """Things of one unit, on one scale."""

    unit: str
    rows: tuple[Beside, ...]
    at: float | None = None
    """A number that is marked upward."""
    keyed: bool = True
    """Whether it is told which interval is whose."""
    palette: tuple[str, ...] = ()

    def lines(self, width: int, height: int, means: Means) -> Iterator[list[Stroke]]:
        """Draw it; it takes the lines it takes, whatever ``height`` is."""
        ends = [end for row in self.rows for e in (row.any_knitter, row.yours) for end in _ends(e)]
        ends += [0.0] if self.at is None else [self.at]
        spare = _MARGIN * (max(ends) - min(ends))
        axis = Axis(min(ends) - spare, max(ends) + spare, max(width - _LABEL, 12))
        theirs, hers = _BARS[means.sharp]
        if self.keyed:
            yield [
                Stroke(f"{theirs[:2]}{theirs[3]}{theirs[1:3]}", "faint"),
                Stroke(" any knitter   ", "faint"),
                Stroke(f"{hers[:2]}{hers[3]}{hers[1:3]}", "key"),
                Stroke(" you   (19 times in 20)", "faint"),
            ]
        for row in self.rows:
            yield [
                Stroke(f"{_short(row.label):{_LABEL}}"),
                *self._bar(axis, row.any_knitter, means),
            ]
            told = f"{'':{_INDENT}}{between(row.yours, least=_TENTH)}"
            yield [Stroke(f"{told:{_LABEL}}", "key"), *self._bar(axis, row.yours, means, hers=True)]
        yield [Stroke(f"{self.unit:{_LABEL}.{_LABEL - 1}}{axis.ruler()}".rstrip(), "faint")]

    def _bar(self, axis: Axis, e: Estimate, means: Means, *, hers: bool = False) -> list[Stroke]:
        bar = _BARS[means.sharp][hers]
        ink, cells = "key" if hers else "faint", Cells(axis.width)
        if self.at is not None:
            cells.put(axis.column(self.at), "│" if means.sharp else "|", "faint")
        first, last = axis.column(e.low95), axis.column(e.high95)
        for column in range(first, last + 1):
            cells.put(column, bar[1], ink)
        if last > first:
            cells.put(first, bar[0], ink)
            cells.put(last, bar[2], ink)
        cells.put(axis.column(e.mean), bar[3], ink)
        return cells.runs()


def _short(label: str) -> str:
    return label if len(label) < _LABEL else f"{label[: _LABEL - 4]}..."


def _ends(e: Estimate) -> tuple[float, float]:
    return e.low95, e.high95
