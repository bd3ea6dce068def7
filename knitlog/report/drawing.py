"""A picture in character cells, for the terminal and the screens alike.

Sharp where the terminal can: braille patterns (Unicode 2800 to 28FF) put two by four dots in a
cell.  Where it cannot, and for a screen reader, the same picture is plain ASCII.  A picture is
drawn as lines of runs; what a run is for is named, and the reader of the picture, a terminal or
a screen, has the colour.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from itertools import groupby
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

_BRAILLE = 0x2800
_DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
"""The bit of each dot of a cell, from the top, left and right (the Unicode Standard, 2800)."""
ACROSS, DOWN = 2, 4
"""Dots of a cell."""
_STEPS = (1, 2, 5)
_WITHOUT_BLOCKS = frozenset({"linux", "dumb"})
"""Terminals whose font has neither braille nor eighths of a block."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """Characters side by side that are for one thing."""

    text: str
    ink: str = ""
    """What they are (``expected``, ``deed``, ``faint`` ...), or "#rrggbb"; the reader's own if
    empty."""
    ground: str = ""
    """The same of what is behind them."""


@dataclass(frozen=True, slots=True)
class Means:
    """What a terminal can show."""

    sharp: bool = False
    """Braille and parts of blocks; ASCII where not."""
    colour: bool = False


LETTERS = Means()


class Drawing(Protocol):
    """Something that can be drawn."""

    @property
    def palette(self) -> tuple[str, ...]:
        """The yarn's colours in it, "#rrggbb"."""
        ...

    def lines(self, width: int, height: int, means: Means) -> Iterator[list[Stroke]]:
        """Draw it in ``width`` columns, its plot in about ``height`` lines."""
        ...


def means_of(environ: Mapping[str, str], encoding: str | None, *, colour: bool) -> Means:
    """What a terminal can show, by its name and what its text is written in.

    >>> means_of({"TERM": "xterm"}, "utf-8", colour=True)
    Means(sharp=True, colour=True)
    >>> means_of({"TERM": "linux"}, "utf-8", colour=True).sharp
    False
    """
    written = (encoding or "").lower().replace("-", "").startswith("utf")
    return Means(written and environ.get("TERM", "") not in _WITHOUT_BLOCKS, colour)


@dataclass(slots=True)
class Cells:
    """One line of cells to be filled."""

    width: int
    text: list[str] = field(init=False)
    inks: list[str] = field(init=False)

    def __post_init__(self) -> None:
        self.text = [" "] * self.width
        self.inks = [""] * self.width

    def put(self, column: int, text: str, ink: str = "") -> None:
        """Write one character; what falls outside is left out."""
        if 0 <= column < self.width:
            self.text[column] = text
            self.inks[column] = ink

    def runs(self) -> list[Stroke]:
        """The line, gathered into runs."""
        return [
            Stroke("".join(self.text[column] for column in columns), ink)
            for ink, columns in groupby(range(self.width), key=self.inks.__getitem__)
        ]


@dataclass(frozen=True, slots=True)
class Axis:
    """Numbers across, from one end to the other; either end may be the higher."""

    left: float
    right: float
    width: int
    """Columns."""

    def at(self, number: float) -> float:
        """Columns from the left edge to a number; outside 0 to ``width`` off the picture."""
        return (number - self.left) / (self.right - self.left) * self.width

    def column(self, number: float) -> int:
        """The column a number falls in; the right edge is of the last column."""
        at = self.at(number)
        return self.width - 1 if at == self.width else math.floor(at)

    def ticks(self, room: int = 6) -> list[float]:
        """Round numbers at least ``room`` columns apart."""
        low, high = sorted((self.left, self.right))
        step = tick_step((high - low) / self.width, room)
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        return [number * step for number in range(first, last + 1)]

    def ruler(self, sign: str = "") -> str:
        """The ticks' numbers, each below its place; ``sign`` "+" shows it always."""
        cells = [" "] * self.width
        for number in self.ticks():
            words = f"{number:{sign}.3g}" if abs(number) > 1e-9 else "0"
            begin = self.column(number) - len(words) // 2
            begin = min(max(begin, 0), self.width - len(words))
            clear = cells[max(begin - 1, 0) : begin + len(words) + 1]
            if all(cell == " " for cell in clear):
                cells[begin : begin + len(words)] = words
        return "".join(cells)


def tick_step(each: float, room: int) -> float:
    """The smallest of 0.01, 0.02, 0.05, 0.1 ... that takes ``room`` columns of ``each``.

    >>> tick_step(0.25, 6), tick_step(1.0, 6)
    (2.0, 10.0)
    """
    power = -2
    while True:
        for step in _STEPS:
            if step * 10.0**power >= room * each - 1e-12:
                return step * 10.0**power
        power += 1


class Dots:
    """Dots on a line of cells, two by four in each."""

    def __init__(self, width: int) -> None:
        """None yet."""
        self._cells = [0] * width

    def put(self, across: int, down: int) -> None:
        """Set a dot: ``across`` from the left, ``down`` from the top of the line."""
        cell, side = divmod(across, ACROSS)
        if 0 <= cell < len(self._cells):
            self._cells[cell] |= _DOTS[down][side]

    def marks(self) -> Iterator[tuple[int, str]]:
        """Each column that has dots, and its character."""
        for column, bits in enumerate(self._cells):
            if bits:
                yield column, chr(_BRAILLE + bits)


def wrapped_key(entries: Sequence[tuple[str, str, str]], width: int) -> Iterator[list[Stroke]]:
    """Marks with their meaning, (mark, ink, words), in lines no wider than ``width``."""
    line: list[Stroke] = []
    used = 0
    for mark, ink, words in entries:
        told = f" {words}" if mark else words
        need = len(mark) + len(told)
        if line and used + 3 + need > width:
            yield line
            line, used = [], 0
        if line:
            line.append(Stroke("   "))
            used += 3
        line += [Stroke(mark, ink), Stroke(told, "faint")]
        used += need
    if line:
        yield line
