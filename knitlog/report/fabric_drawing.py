"""A fabric drawn in character cells from its first round to its last.

In blocks of the yarn's own colours where the terminal has both, every round seen for itself; in
letters elsewhere, a line a round.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from knitlog.report.drawing import Means, Stroke, wrapped_key
from knitlog.report.fabric_cells import (
    FabricScale,
    extent,
    fitting_zoom,
    lettered_line,
    letters_of,
    line_of,
    painted_line,
    round_label,
    scale_of,
    stitch_ruler,
)
from knitlog.report.fabric_text import key_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from knitlog.plan.stitch_colours import Fabric

_NUMBERS = 6
"""Columns at the right for the numbers of the rounds."""
_NO_LIMIT = 10**9


@dataclass(frozen=True, slots=True)
class FabricDrawing:
    """One fabric, the whole round wide, its colours named below."""

    fabric: Fabric
    aspect: float
    """Height of a stitch over its width."""
    knitted: int = 0
    """Rounds knitted so far, to be marked."""
    keyed: bool = True
    """Whether its colours are named."""

    @property
    def palette(self) -> tuple[str, ...]:
        """The yarn's colours."""
        return self.fabric.palette

    def lines(self, width: int, height: int, means: Means) -> Iterator[list[Stroke]]:
        """Draw it; all rounds, whatever ``height`` is."""
        shown, painted = self.fabric, means.sharp and means.colour
        room = max(width - _NUMBERS, 8)
        zoom = fitting_zoom(shown.stitches, 1, self.aspect, room, _NO_LIMIT)
        scale = scale_of(zoom, self.aspect, least_lines=0.5 if painted else 1.0)
        columns = min(extent(shown, scale)[0], room)
        lines = extent(shown, scale)[1] if painted else line_of(scale, shown.rounds) + 1
        for line in range(lines - 1, -1, -1):
            now = 0 < self.knitted < shown.rounds and line == line_of(scale, self.knitted)
            label = round_label(scale, shown.rounds, line)
            told = f"{'┤' if now and painted else ' '}{'' if label is None else label}"
            told += " < knitted so far" if now and not painted else ""
            yield [*cloth_strokes(shown, scale, line, columns, painted=painted), Stroke(told)]
        yield [Stroke(stitch_ruler(scale, shown.stitches, columns), "faint")]
        if self.keyed:
            yield from colour_key(shown, width)


def cloth_strokes(
    fabric: Fabric, scale: FabricScale, line: int, columns: int, *, painted: bool
) -> list[Stroke]:
    """One line of the cloth itself, in blocks or in letters on their colours."""
    if painted:
        pieces = painted_line(fabric, scale, line, columns)
    else:
        pieces = lettered_line(fabric, letters_of(fabric), scale, line, columns)
    colours = fabric.palette
    return [
        Stroke(
            piece.text,
            "" if piece.ink is None else colours[piece.ink],
            "" if piece.ground is None else colours[piece.ground],
        )
        for piece in pieces
    ]


def colour_key(fabric: Fabric, width: int) -> Iterator[list[Stroke]]:
    """Each colour once: its letter on it, its name, its value."""
    key = [
        (f" {letter} ", fabric.palette[index], f"{name} {fabric.palette[index]}")
        for letter, name, index in key_words(fabric)
    ]
    for line in wrapped_key(key, width):
        yield [Stroke(s.text, "", s.ink) if s.ink.startswith("#") else s for s in line]
