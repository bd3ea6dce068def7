"""The fabric as plain text: letters, numbers and words, no colour needed.

For a terminal without colours, a screen reader, a printout: a letter stands for each
colour, the key says which, and any round can be told in words.  The command line prints
exactly what the screens show without colour.
"""

from collections.abc import Iterator
from itertools import groupby

from knitlog.plan.fabric import NO_STITCH, Fabric
from knitlog.report.fabric_cells import (
    extent,
    fitting_zoom,
    lettered_line,
    letters_of,
    line_of,
    round_label,
    scale_of,
    stitch_ruler,
)

LABEL_WIDTH = 6
"""Columns the numbers of the rounds take at the right."""
_NO_LIMIT = 10**9


def fabric_lines(
    fabric: Fabric, aspect: float, width: int = 80, knitted: int | None = None
) -> Iterator[str]:
    """The fabric in letters, as a chart is drawn, with its rulers.

    Args:
        fabric: what is drawn.
        aspect: height of a stitch over its width.
        width: columns to fit it into.
        knitted: rounds knitted so far, to be marked; none if None.

    """
    room = max(width - LABEL_WIDTH, 8)
    zoom = fitting_zoom(fabric.stitches, 1, aspect, room, _NO_LIMIT)
    scale = scale_of(zoom, aspect)
    columns = min(extent(fabric, scale)[0], room)
    letters = letters_of(fabric)
    for line in range(line_of(scale, fabric.rounds), -1, -1):
        cells = "".join(p.text for p in lettered_line(fabric, letters, scale, line, columns))
        label = round_label(scale, fabric.rounds, line)
        text = f"{cells} {'' if label is None else label}"
        if knitted and knitted < fabric.rounds and line == line_of(scale, knitted):
            text += " < knitted so far"
        yield text.rstrip()
    yield stitch_ruler(scale, fabric.stitches, columns).rstrip()


def key_words(fabric: Fabric) -> list[tuple[str, str, int]]:
    """Each colour once: its letter, its name, its index in the palette."""
    found: dict[str, tuple[str, str, int]] = {}
    for index, (letter, name) in enumerate(zip(letters_of(fabric), fabric.names, strict=True)):
        found.setdefault(letter, (letter, name, index))
    return list(found.values())


def round_stretches(fabric: Fabric, round_number: int) -> list[tuple[str, int, int]]:
    """The colours of one round from its right edge on: (name, first stitch, last stitch)."""
    stretches = []
    first = 1
    row = fabric.cells[round_number - 1].tolist()
    names = [None if index == NO_STITCH else fabric.names[index] for index in row]
    for name, cells in groupby(names):
        length = len(list(cells))
        if name is not None:
            stretches.append((name, first, first + length - 1))
        first += length
    return stretches


def round_words(fabric: Fabric, round_number: int) -> str:
    """One round in words, from its right edge on.

    As in "Round 12: rose to stitch 34, moss to 80, snow to 128."
    """
    kind = "Row" if fabric.flat else "Round"
    told = [
        f"{name} to {'stitch ' if number == 0 else ''}{last}"
        for number, (name, _, last) in enumerate(round_stretches(fabric, round_number))
    ]
    return f"{kind} {round_number}: {', '.join(told)}."
