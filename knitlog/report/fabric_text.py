"""The fabric as plain text: letters, numbers and words, no colour needed.

For a terminal without colours, a screen reader, a printout: a letter stands for each
colour, the key says which, and any round can be told in words.
"""

from collections.abc import Iterator
from itertools import groupby

from knitlog.plan.stitch_colours import NO_STITCH, Fabric, as_drawn
from knitlog.report.fabric_cells import letters_of


def chart_lines(fabric: Fabric) -> Iterator[str]:
    """The fabric as a chart, a letter a stitch and a line a round, with its key."""
    letters = letters_of(fabric)
    for line, row in enumerate(as_drawn(fabric.cells).tolist()):
        stitches = "".join(" " if index == NO_STITCH else letters[index] for index in row)
        yield f"{fabric.rounds - line:>4} {stitches}"
    yield ""
    for letter, name, index in key_words(fabric):
        yield f"  {letter} {name} {fabric.palette[index]}"


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
