"""Sheets that are read: the help, the reason for the advice, the logbook.

Why sheets: the advice card must be read in two seconds; whoever wants the numbers, or all that
was logged line by line, asks for them with one key, which closes the sheet again.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterable
from typing import TYPE_CHECKING, ClassVar

from rich.table import Table
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widget import Widget
from textual.widgets import Static

from knitlog.tui import marks
from knitlog.tui.key_lines import KeyLine
from knitlog.tui.modals.sheet import Sheet
from knitlog.tui.widgets.answer_parts import part_widgets

if TYPE_CHECKING:
    from knitlog.analysis.analysis import Analysis
    from knitlog.journal.project import ProjectState


class ReadingSheet(Sheet[None]):
    """Fills the screen; the arrows scroll it."""

    HINT = "↑ ↓ scroll · Esc back"
    DEFAULT_CSS = """
    ReadingSheet {
        background: $ground;
        & .sheet { height: 100%; max-width: 100; }
        & .head { text-style: bold; color: $key; margin: 1 0 0 0; }
        & .apart { margin: 1 0 0 0; }
    }
    """

    @abstractmethod
    def written(self) -> Iterable[Widget]:
        """What there is to read."""

    def compose(self) -> ComposeResult:
        """All of it, in a frame that scrolls."""
        with VerticalScroll(classes="sheet") as sheet:
            self.entitle(sheet)
            yield from self.written()


class HelpSheet(ReadingSheet):
    """What a screen is for and its keys, from its own bindings, so that none can be missing."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f1,question_mark", "leave", "Back", show=False),
    ]

    def __init__(self, title: str, about: str, keys: list[KeyLine], *, chart: bool = False) -> None:
        """``chart``: whether the marks on the chart are explained too."""
        super().__init__(f"Help: {title}", about)
        self._keys, self._chart = keys, chart

    def written(self) -> Iterable[Widget]:
        """What the screen is for, its keys, and the marks if it has a chart."""
        yield Static(self.about, markup=False)
        yield Static("Keys", classes="head")
        yield Static(_two_columns(self._keys))
        if self._chart:
            yield Static("Marks on the chart", classes="head")
            yield Static(_two_columns(list(marks.LEGEND)))


class WhySheet(ReadingSheet):
    """Reason, remedies side by side, numbers; Escape or ``w`` closes it."""

    TITLE_WORDS = "Why"
    BINDINGS: ClassVar[list[BindingType]] = [Binding("w", "leave", "Back", show=False)]

    def __init__(self, view: Analysis) -> None:
        super().__init__()
        self._view = view

    def written(self) -> Iterable[Widget]:
        """The reason first, the numbers last."""
        from knitlog.report.look_parts import (
            number_parts,
            problem_parts,
            remedy_parts,
            to_come,
            work_part,
        )
        from knitlog.report.parts import Part
        from knitlog.report.verdict_words import verdict

        view = self._view
        yield Static(verdict(view), classes="strong", markup=False)
        coming = [Part(said=said)] if (said := tuple(to_come(view))) else []
        parts = [*remedy_parts(view), *coming, *number_parts(view), *problem_parts(view)]
        if view.advice is not None:
            parts.append(work_part(view.state))
        yield from part_widgets(parts, self.app.size.width)
        if view.fit is None and view.advice is None:
            yield Static("Log a few rounds first: then there is something to explain.")


class LogbookSheet(ReadingSheet):
    """Everything logged, in words, the newest first; Escape or ``l`` closes it."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("l", "leave", "Back", show=False)]

    def __init__(self, state: ProjectState) -> None:
        super().__init__(f"Logbook of {state.name}")
        self._state = state

    def written(self) -> Iterable[Widget]:
        """One line each."""
        from knitlog.report.look_parts import log_parts

        _, *parts = log_parts(self._state)
        yield from part_widgets(parts, self.app.size.width)


def _two_columns(lines: list[tuple[str, str]]) -> Table:
    table = Table.grid(padding=(0, 2), expand=False)
    table.add_column(style="bold", no_wrap=True)
    table.add_column()
    for left, right in lines:
        table.add_row(left, right)
    return table
