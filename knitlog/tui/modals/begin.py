"""The begin sheet: a name, and the project of the chosen plan begins.

Returns :class:`Begin`.  Enter on the last line begins, Escape leaves.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from textual import on
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Input, Static

from knitlog.tui import answers
from knitlog.tui.modals.sheet import Sheet
from knitlog.tui.widgets.question import Question


@dataclass(frozen=True, slots=True)
class Begin:
    """What to call it and how long it will be."""

    name: str
    rounds: int | None
    """Rounds planned, if said."""


class BeginSheet(Sheet[Begin]):
    """Asks for the name."""

    def __init__(self, plan: str, if_not: str, rounds: int | None) -> None:
        """``plan``: the choice in words; ``if_not``: what to do if it does not stack."""
        super().__init__()
        self._plan, self._if_not, self._rounds = plan, if_not, rounds

    def compose(self) -> ComposeResult:
        """The choice, then two questions."""
        with VerticalScroll(classes="sheet", can_focus=False) as sheet:
            sheet.border_title = "Begin this project"
            sheet.border_subtitle = "Enter next, begins · Esc back to the plan"
            yield Static(self._plan, classes="strong", markup=False)
            yield Static(self._if_not, classes="faint", markup=False)
            yield Question("Its name", answers.name, id="name", placeholder="such as Red hat")
            yield Question(
                "Rounds planned",
                partial(answers.maybe_whole, what="the rounds", example=60),
                id="rounds",
                value="" if self._rounds is None else str(self._rounds),
                placeholder="may be left empty",
            )

    def on_mount(self) -> None:
        """Begin with the name."""
        self.query_one("#name", Question).field.focus()

    @on(Input.Submitted)
    def _next(self, event: Input.Submitted) -> None:
        event.stop()
        name: Question[str] = self.query_one("#name", Question)
        rounds: Question[int | None] = self.query_one("#rounds", Question)
        try:
            called = name.answer()
        except ValueError:
            name.field.focus()
            return
        if event.input is name.field:
            rounds.field.focus()
            return
        try:
            self.dismiss(Begin(called, rounds.answer()))
        except ValueError:
            return  # the question says what was wrong
