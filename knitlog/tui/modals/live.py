"""What the planning sheets share: a few questions whose answer stands below them at once.

Why live: nothing is saved here, so there is nothing to confirm; the answer changes as she
types.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Input, Static

from knitlog.tui.modals.sheet import Sheet
from knitlog.tui.plan_answers import sentence
from knitlog.tui.widgets.question import Question, entered

Reader = Callable[[str], Any]


class LiveSheet(Sheet[None]):
    """Questions above, what they come to below."""

    TITLE_WORDS: ClassVar[str] = ""
    ABOUT_WORDS: ClassVar[str] = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "app.focus_previous", "Up", show=False),
        Binding("down", "app.focus_next", "Down", show=False),
    ]

    DEFAULT_CSS = """
    LiveSheet {
        & .sheet Question { margin: 0; }
        & #about { margin: 0 0 1 0; }
        & #answer { margin: 1 0 0 0; text-style: bold; min-height: 2; }
    }
    """

    @abstractmethod
    def questions(self) -> tuple[Question[Any], ...]:
        """The questions, each with an id."""

    @abstractmethod
    def readers(self) -> dict[str, Reader]:
        """What reads each answer, by the question's id."""

    @abstractmethod
    def work_out(self, told: dict[str, Any]) -> str:
        """The answer in words; raises ValueError with a sentence that says what is missing."""

    def compose(self) -> ComposeResult:
        """What it is for, the questions, the answer."""
        with VerticalScroll(classes="sheet", can_focus=False) as sheet:
            sheet.border_title = self.TITLE_WORDS
            sheet.border_subtitle = "Enter next · Esc back"
            yield Static(self.ABOUT_WORDS, id="about", classes="faint", markup=False)
            yield from self.questions()
            yield Static(id="answer", markup=False)

    def on_mount(self) -> None:
        """Answer what is filled in already."""
        self._answer()

    @on(Input.Changed)
    def _answer(self) -> None:
        told: dict[str, Any] = {}
        place = self.query_one("#answer", Static)
        for name, read in self.readers().items():
            text = self.query_one(f"#{name}", Question).field.value.strip()
            try:
                told[name] = read(text) if text else None
            except ValueError:
                place.update("")  # the question says what is wrong once it is left
                return
        try:
            place.update(self.work_out(told))
        except ValueError as error:
            place.update(sentence(error))

    @on(Input.Submitted)
    def _next(self, event: Input.Submitted) -> None:
        event.stop()
        if entered(self, event.input):
            self.focus_next()
