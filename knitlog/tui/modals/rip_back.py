"""The rip-back sheet: returns the last round still on the needles.

Enter saves, Escape leaves.
"""

from __future__ import annotations

from functools import partial

from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Input, Static

from knitlog.tui import answers
from knitlog.tui.modals.sheet import Sheet
from knitlog.tui.widgets.question import Question


class RipBackSheet(Sheet[int]):
    """Asks down to which round the knitting was ripped back."""

    def __init__(self, last_round: int) -> None:
        super().__init__()
        self._last_round = last_round

    def compose(self) -> ComposeResult:
        """One question."""
        with Vertical(classes="sheet") as sheet:
            sheet.border_title = "Whole rounds ripped back"
            sheet.border_subtitle = "Enter saves · Esc leaves"
            yield Static(
                "What was logged above it stays in the journal but no longer counts. "
                "Undo brings it back.",
                classes="faint",
            )
            yield Question(
                "The last round still on the needles (0 to begin again)",
                partial(
                    answers.whole, what="the round", example=max(self._last_round - 2, 0), least=0
                ),
                id="to-round",
                value=str(max(self._last_round - 1, 0)),
            )

    @on(Input.Submitted)
    def _save(self) -> None:
        question: Question[int] = self.query_one("#to-round", Question)
        try:
            self.dismiss(question.answer())
        except ValueError:
            return  # the question says what was wrong
