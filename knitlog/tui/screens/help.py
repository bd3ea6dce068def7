"""The help screen: the keys of the screen it was called from, and the chart's marks.

Why built from the screen's own bindings: a key can then never be missing here.
"""

from __future__ import annotations

from typing import ClassVar

from rich.table import Table
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from knitlog.tui import marks
from knitlog.tui.key_lines import KeyLine
from knitlog.tui.modals.sheet import Sheet


class HelpSheet(Sheet[None]):
    """Keys and marks; Escape, F1 or ``?`` closes it, the arrows scroll it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1,question_mark", "leave", "Back", show=False),
    ]

    DEFAULT_CSS = """
    HelpSheet { background: $ground; }
    HelpSheet .sheet { height: 100%; }
    HelpSheet .head { text-style: bold; color: $key; margin: 1 0 0 0; }
    """

    def __init__(self, title: str, about: str, keys: list[KeyLine], *, chart: bool) -> None:
        super().__init__()
        self._title, self._about, self._keys, self._chart = title, about, keys, chart

    def compose(self) -> ComposeResult:
        """What the screen is for, its keys, and the marks if it has a chart."""
        with VerticalScroll(classes="sheet") as sheet:
            sheet.border_title = f"Help: {self._title}"
            sheet.border_subtitle = "↑ ↓ scroll · Esc back"
            yield Static(self._about, markup=False)
            yield Static("Keys", classes="head")
            yield Static(_two_columns(self._keys))
            if self._chart:
                yield Static("Marks on the chart", classes="head")
                yield Static(_two_columns(list(marks.LEGEND)))


def _two_columns(lines: list[tuple[str, str]]) -> Table:
    table = Table.grid(padding=(0, 2), expand=False)
    table.add_column(style="bold", no_wrap=True)
    table.add_column()
    for left, right in lines:
        table.add_row(left, right)
    return table
