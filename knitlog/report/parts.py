"""An answer in parts: a heading, sentences, a picture, rows in columns.

What is said is put together once, in parts; the terminal, the screens and the pages each lay
the same parts out.  For text they are lines, tables measured in cells of a terminal by rich.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from knitlog.report.drawing import Drawing, Means, Stroke

Row = tuple[str, ...]

_PICTURE_WIDTH = 78
_PICTURE_LINES = 16


@dataclass(frozen=True, slots=True)
class Part:
    """One part of an answer."""

    heading: str = ""
    """What it is about; empty where it speaks for itself."""
    said: tuple[str, ...] = ()
    """Sentences, each on a line of its own."""
    head: Row = ()
    """Headings of the columns; empty for rows of a name and what it is."""
    rows: tuple[Row, ...] = ()
    after: tuple[str, ...] = ()
    """What else to know of the rows."""
    strong: int | None = None
    """The row that stands out."""
    spare: tuple[int, ...] = ()
    """Columns a narrow page may leave out."""
    drawing: Drawing | None = None
    """A picture, between the sentences and the rows."""


def laid_out(
    parts: Iterable[Part], means: Means, width: int = _PICTURE_WIDTH
) -> Iterator[str | list[Stroke]]:
    """Give an answer as lines: of text, or of the runs of a picture ``width`` columns wide."""
    for number, part in enumerate(parts):
        if number:
            yield ""
        if part.heading:
            yield f"{part.heading}:"
        yield from part.said
        if part.drawing is not None:
            yield from part.drawing.lines(width, _PICTURE_LINES, means)
        indent = "  " if part.heading else ""
        yield from (f"{indent}{line}" for line in table(part.rows, part.head))
        yield from part.after


def table(rows: Sequence[Row], head: Row = ()) -> Iterator[str]:
    """Give rows in columns as wide as their widest cell; a column of numbers stands right.

    >>> list(table([("1-9", "+1.2"), ("10-22", "-0.15")], ("Rounds", "Drift")))
    ['Rounds  Drift', '1-9      +1.2', '10-22   -0.15']
    """
    from rich.cells import cell_len

    if not rows:
        return
    lines = (head, *rows) if head else tuple(rows)
    columns = range(len(rows[0]))
    widths = [max(cell_len(line[column]) for line in lines) for column in columns]
    right = [column > 0 and all(is_number(row[column]) for row in rows) for column in columns]
    for line in lines:
        spaces = [" " * (width - cell_len(cell)) for cell, width in zip(line, widths, strict=True)]
        yield "  ".join(
            space + cell if to_right else cell + space
            for cell, space, to_right in zip(line, spaces, right, strict=True)
        ).rstrip()


def is_number(cell: str) -> bool:
    """Whether a cell is a number, or stands for one that is not known."""
    return cell == "-" or cell.strip("+-%.0123456789 ") == ""
