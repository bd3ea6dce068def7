"""The logbook: everything logged, in words, the newest first.

Why beside the chart: a list can be read line by line, by eye or by a screen
reader, and it is where notes are read again.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.table import Table
from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from knitlog.report.logbook import LogLine, log_lines
from knitlog.tui.modals.sheet import Sheet

if TYPE_CHECKING:
    from knitlog.journal.project import ProjectState


class LogbookSheet(Sheet[None]):
    """Rounds, fixes, changes and notes; Escape or ``l`` closes it."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("l", "leave", "Back", show=False)]

    DEFAULT_CSS = """
    LogbookSheet { background: $ground; }
    LogbookSheet .sheet { height: 100%; }
    """

    def __init__(self, state: ProjectState) -> None:
        super().__init__()
        self._state = state

    def compose(self) -> ComposeResult:
        """One line each."""
        with VerticalScroll(classes="sheet") as sheet:
            sheet.border_title = Text(f"Logbook of {self._state.name}")  # no markup in a name
            sheet.border_subtitle = "↑ ↓ scroll · Esc back"
            yield Static(_table(log_lines(self._state)))


def _table(lines: list[LogLine]) -> Table | Text:
    if not lines:
        return Text("Nothing is logged yet.")
    table = Table(box=None, padding=(0, 1), expand=True, header_style="bold")
    table.add_column("Round", justify="right", no_wrap=True)
    table.add_column("What", ratio=1)
    table.add_column("When", no_wrap=True)
    for number, words, when in lines:
        table.add_row(number, Text(words), when)
    return table
