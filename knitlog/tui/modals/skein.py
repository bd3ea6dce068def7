"""The skein sheet: returns where a new skein was joined.

Enter saves, Escape leaves.
"""

from __future__ import annotations

from dataclasses import dataclass

from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Input

from knitlog.tui import answers
from knitlog.tui.modals.sheet import Sheet
from knitlog.tui.widgets.question import Question


@dataclass(frozen=True, slots=True)
class Join:
    """A new skein."""

    stitch: float | None
    """Where in the round, if noted."""


class SkeinSheet(Sheet[Join]):
    """Asks at which stitch the new skein was joined."""

    def __init__(self, round_number: int) -> None:
        super().__init__()
        self._round = round_number

    def compose(self) -> ComposeResult:
        """One question, which may be left empty."""
        with Vertical(classes="sheet") as sheet:
            sheet.border_title = f"A new skein joined in round {self._round}"
            sheet.border_subtitle = "Enter saves · Esc leaves"
            yield Question(
                "At which stitch (may be left empty)",
                _stitch,
                id="stitch",
                placeholder="such as 64",
            )

    @on(Input.Submitted)
    def _save(self) -> None:
        question: Question[float | None] = self.query_one("#stitch", Question)
        try:
            self.dismiss(Join(question.answer()))
        except ValueError:
            return  # the question says what was wrong


def _stitch(text: str) -> float | None:
    return answers.number(text, what="the stitch", example="64") if text else None
