"""The parts of an answer on a screen: headings, sentences, pictures, tables, in one column."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.cells import cell_len
from rich.table import Table
from rich.text import Text
from textual.widgets import Static

from knitlog.tui.widgets.drawn import DrawnPart

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from textual.widget import Widget

    from knitlog.report.parts import Part

_BESIDE = 5
"""Columns of a screen that no table gets: its margins and the scroll bar."""


def part_widgets(parts: Iterable[Part], width: int, *, lettered: bool = False) -> Iterator[Widget]:
    """Yield the pieces of an answer for a screen of ``width`` columns.

    A heading has the class ``head``; what follows without one, ``apart``.  Pictures are
    ``lettered`` where she has asked for it.
    """
    for part in parts:
        apart = "" if part.heading else "apart"
        if part.heading:
            yield Static(part.heading, classes="head", markup=False)
        if part.said:
            yield Static("\n".join(part.said), classes=apart, markup=False)
        if part.drawing is not None:
            yield DrawnPart(part.drawing, lettered=lettered, classes="" if part.said else apart)
        if part.rows:
            yield Static(part_table(part, width), classes="" if part.said else apart)
        if part.after:
            yield Static("\n".join(part.after), markup=False)


def part_table(part: Part, width: int) -> Table:
    """The rows of a part as a table that gives way to a screen of ``width`` columns."""
    from knitlog.report.parts import is_number

    rows = [row for row in (part.head, *part.rows) if row]
    widest = [max(cell_len(row[place]) for row in rows) for place in range(len(rows[0]))]
    between = 2 if sum(widest) + 2 * len(widest) <= width - _BESIDE else 1
    table = Table(
        box=None, padding=(0, between, 0, 0), show_header=bool(part.head), header_style="bold"
    )
    for place, name in enumerate(rows[0]):
        numbers = all(is_number(row[place]) for row in part.rows)
        table.add_column(
            name if part.head else "",
            overflow="fold",
            no_wrap=place == 0 and bool(part.head),
            justify="right" if place and numbers else "left",
        )
    for number, (first, *rest) in enumerate(part.rows):
        strong = number == part.strong
        mark = "" if part.strong is None else "► " if strong else "  "
        table.add_row(*map(Text, (mark + first, *rest)), style="bold" if strong else "")
    return table
