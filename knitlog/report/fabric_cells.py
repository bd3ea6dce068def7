"""A fabric laid out in character cells, for the screens and the command line alike.

A stitch is wider than tall (its height over its width is the gauge's, about 3 to 4 in
plain knitting), a character cell about twice as tall as wide (common practice; terminals
differ by a tenth).  So a stitch c columns wide is c * aspect / 2 lines tall, rarely a
whole number.  Within a cell the edge between two rounds is drawn with the lower eighth
blocks (U+2581 to U+2587): the lower round is the ink, the upper one the ground.  That
places the edge to an eighth of a line, where half blocks would leave every second round
half again as tall as its neighbours.  So every round is seen as long as a line holds two or
fewer.  Seen from farther off, half a cell stands for several stitches or rounds and shows
the commonest colour among all of them: picking some would make a scramble look like stripes.

Lines count from the bottom and columns from the right, both from 0: round 1 is at the
bottom and stitch 1 at the right, as knitting charts are drawn (common practice).
"""

import math
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import numpy.typing as npt

from knitlog.plan.run_notation import lettered
from knitlog.plan.stitch_colours import NO_STITCH, Fabric

IntArray = npt.NDArray[np.int64]

CELL_ASPECT = 2.0
"""Height of a character cell over its width."""
ZOOMS = (1 / 8, 1 / 6, 1 / 4, 1 / 3, 1 / 2, 2 / 3, 1.0, 4 / 3, 2.0, 3.0, 4.0, 6.0, 8.0)
"""Columns a stitch may take, smallest first."""
_BLOCKS = "▁▂▃▄▅▆▇"
_STEPS = (1, 2, 5)
_LABEL_COLUMNS = 6
_LABEL_LINES = 2
_HALF = 0.5


@dataclass(frozen=True, slots=True)
class FabricScale:
    """How large a stitch is drawn."""

    columns: float
    """Columns a stitch."""
    lines: float
    """Lines a round."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A run of characters in one pair of colours."""

    text: str
    ink: int | None
    """Index into the fabric's palette for the characters; None for the reader's own."""
    ground: int | None
    """Index into the fabric's palette behind them; None for the reader's own."""


def scale_of(columns: float, aspect: float, least_lines: float = 0.0) -> FabricScale:
    """The scale at which a stitch takes ``columns``; ``aspect`` is its height over its width.

    ``least_lines``: lines a round takes at least, though it then looks taller than it is.

    >>> scale_of(4, 0.75), scale_of(0.5, 0.75, 0.5)
    (FabricScale(columns=4, lines=1.5), FabricScale(columns=0.5, lines=0.5))
    """
    # lines = columns * aspect / (height of a cell over its width)
    return FabricScale(columns, max(columns * aspect / CELL_ASPECT, least_lines))


def rounds_in_half_cell(scale: FabricScale) -> int:
    """How many rounds share half a cell at most; 1 where every round is seen for itself.

    >>> rounds_in_half_cell(FabricScale(2, 0.75)), rounds_in_half_cell(FabricScale(0.5, 0.19))
    (1, 3)
    """
    return max(math.ceil(_HALF / scale.lines - 1e-9), 1)


def extent(fabric: Fabric, scale: FabricScale) -> tuple[int, int]:
    """Columns and lines the whole fabric takes."""
    wide = math.ceil(fabric.stitches * scale.columns - 1e-9)
    return wide, math.ceil(fabric.rounds * scale.lines - 1e-9)


def fitting_zoom(stitches: int, rounds: int, aspect: float, columns: float, lines: float) -> float:
    """The largest of :data:`ZOOMS` at which so much fits; the smallest if none does."""
    fits = [
        zoom
        for zoom in ZOOMS
        if stitches * zoom <= columns and rounds * scale_of(zoom, aspect).lines <= lines
    ]
    return fits[-1] if fits else ZOOMS[0]


def stitches_at(scale: FabricScale, columns: IntArray) -> IntArray:
    """Stitch (from 0) under the middle of each column; columns count from the right."""
    under: IntArray = np.floor((columns + 0.5) / scale.columns).astype(np.int64)
    return under


def column_of(scale: FabricScale, stitch: float) -> int:
    """Column (from the right) of a stitch (from 1), its middle."""
    return math.floor((stitch - 0.5) * scale.columns)


def round_at(scale: FabricScale, line: int) -> int:
    """Round (from 1) under the middle of a line."""
    return math.floor((line + 0.5) / scale.lines) + 1


def line_of(scale: FabricScale, round_number: int) -> int:
    """Line on which the middle of a round (from 1) lies."""
    return math.floor((round_number - 0.5) * scale.lines)


def rounds_in(scale: FabricScale, line: int) -> tuple[int, int, int]:
    """Lower and upper row (from 0) of a line, and how many eighths of it the lower one takes.

    For scales at which every round is seen: half a line a round or more.
    """
    lower = math.floor((line + 0.25) / scale.lines)
    upper = math.floor((line + 0.75) / scale.lines)
    if upper == lower:
        # one round reaches over both halves: look for an edge nearer the line's ends
        below = math.floor((line + 1 / 16) / scale.lines)
        above = math.floor((line + 15 / 16) / scale.lines)
        lower, upper = (below, lower) if below < lower else (lower, above)
    if upper == lower:
        return lower, upper, 8
    edge = (lower + 1) * scale.lines - line
    return lower, upper, min(max(round(8 * edge), 1), 7)


def painted_line(
    fabric: Fabric, scale: FabricScale, line: int, width: int, skip: int = 0
) -> list[Piece]:
    """One line of the fabric in blocks, from left to right.

    Args:
        fabric: what is drawn.
        scale: how large.
        line: from the bottom, from 0.
        width: columns to fill.
        skip: columns left out at the right.

    """
    if scale.lines >= _HALF:
        lower, upper, eighths = rounds_in(scale, line)
        rows = [(lower, lower + 1), (upper, upper + 1)]
    else:
        eighths = 4
        rows = [_rows_within(scale, line + part, _HALF) for part in (0.0, _HALF)]
    below, above = (_commonest(fabric, *span, scale, width, skip) for span in rows)
    return [
        _block(low, high, len(list(cells)), eighths)
        for (low, high), cells in groupby(zip(below, above, strict=True))
    ]


def lettered_line(
    fabric: Fabric,
    letters: tuple[str, ...],
    scale: FabricScale,
    line: int,
    width: int,
    skip: int = 0,
) -> list[Piece]:
    """One line of the fabric in letters on their own colours, from left to right.

    ``letters``: one for each colour of the palette, see :func:`letters_of`; the rest as in
    :func:`painted_line`.
    """
    if scale.lines >= 1:
        number = round_at(scale, line)
        if line == line_of(scale, fabric.rounds):
            number = min(number, fabric.rounds)  # its middle is on this line, if not under it
        span = (number - 1, number)
    else:
        span = _rows_within(scale, line, 1.0)
    pieces = []
    for index, cells in groupby(_commonest(fabric, *span, scale, width, skip)):
        length = len(list(cells))
        if index == NO_STITCH:
            pieces.append(Piece(" " * length, None, None))
        else:
            pieces.append(Piece(letters[index] * length, None, index))
    return pieces


def letters_of(fabric: Fabric) -> tuple[str, ...]:
    """A letter for every colour of the palette (see :func:`knitlog.plan.run_notation.lettered`)."""
    return lettered(fabric.names)


def stitch_ruler(scale: FabricScale, stitches: int, width: int, skip: int = 0) -> str:
    """Numbers under the columns of stitches 1, 10, 20 and so on, as wide as asked."""
    cells = [" "] * width
    step = label_step(scale.columns, _LABEL_COLUMNS)
    free = width
    for number in _labelled(stitches, step):
        text = str(number)
        # the middle of the number over the middle of the stitch
        end = width - 1 - (column_of(scale, number) - skip) + len(text) // 2
        begin = end - len(text) + 1
        if end >= width and number == 1 and skip == 0:
            begin, end = width - len(text), width - 1
        if begin < 0 or end >= free:
            continue
        cells[begin : end + 1] = text
        free = begin - 1
    return "".join(cells)


def round_label(scale: FabricScale, rounds: int, line: int) -> int | None:
    """The round to number beside a line, if one is due there."""
    step = label_step(scale.lines, _LABEL_LINES)
    first = round_at(scale, line)
    for number in (max(first // step * step, 1), (first // step + 1) * step):
        due = number % step == 0 or line_of(scale, step) > 0
        if due and number <= rounds and line_of(scale, number) == line:
            return number
    return None


def label_step(size: float, room: float) -> int:
    """The smallest of 1, 2, 5, 10, 20, ... whose labels stand at least ``room`` apart."""
    power = 1
    while True:
        for step in _STEPS:
            if step * power * size >= room:
                return step * power
        power *= 10


def _labelled(count: int, step: int) -> list[int]:
    """1, then every ``step``."""
    return [1, *(n for n in range(step, count + 1, step) if n > 1)]


def _rows_within(scale: FabricScale, begin: float, lines: float) -> tuple[int, int]:
    """First row (from 0) whose middle lies at or past a line, and the first past its end."""
    first = math.ceil(begin / scale.lines - 0.5)
    return first, math.ceil((begin + lines) / scale.lines - 0.5)


def _commonest(
    fabric: Fabric, first: int, end: int, scale: FabricScale, width: int, skip: int
) -> list[int]:
    """The commonest palette index under each column, left to right, in rows first to end - 1.

    Each stitch and each row counts in one cell; no stitch outside the fabric.  Of colours as
    common as each other the one that comes first in the run is shown.
    """
    columns = np.arange(width - 1, -1, -1) + skip
    first, end = max(first, 0), min(end, fabric.rounds)
    if first >= end:
        return [NO_STITCH] * width
    # the same colour met twice in a run is one
    same = np.array([*(fabric.names.index(name) for name in fabric.names), NO_STITCH])
    rows = same[fabric.cells[first:end]]
    if scale.columns < 1:
        shown, at = _counted(rows, len(same) - 1, scale.columns), columns
    else:
        shown = rows[0] if end == first + 1 else _counted(rows, len(same) - 1)
        at = stitches_at(scale, columns)
    inside = (at >= 0) & (at < len(shown))
    cells: list[int] = np.where(inside, shown[np.where(inside, at, 0)], NO_STITCH).tolist()
    return cells


def _counted(rows: IntArray, colours: int, columns: float = 1.0) -> IntArray:
    """The commonest colour of each stitch in all rows, or of each column of several stitches.

    No stitch counts as a colour of its own.
    """
    counts = np.stack([(rows == index).sum(axis=0) for index in range(NO_STITCH, colours)])
    if columns < 1:
        # column c has the stitches j (from 0) with c <= (j + 1/2) columns < c + 1
        width = math.ceil(rows.shape[1] * columns - 1e-9)
        starts = np.ceil(np.arange(width) / columns - 0.5).astype(np.int64)
        counts = np.add.reduceat(counts, starts[starts < rows.shape[1]], axis=1)
    commonest: IntArray = counts.argmax(axis=0) + NO_STITCH
    return commonest


def _block(low: int, high: int, length: int, eighths: int) -> Piece:
    """Blocks with ``low`` filling the lower eighths and ``high`` the rest."""
    ground = None if high == NO_STITCH else high
    if low == high:
        return Piece(" " * length, None, ground)
    if low == NO_STITCH:
        # only where a round is narrower than the next: the upper one cannot be the ink
        return Piece(" " * length, None, ground if eighths < 4 else None)
    return Piece(_BLOCKS[eighths - 1] * length, low, ground)
