"""One question of a form: what is asked, where it is answered, what was wrong.

Why typed: a question reads its own answer (``152cm``, ``US 7``) into a number
with its unit, so that the form that asks never parses.  What is wrong stands
right under the answer, in one sentence.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Container, Vertical
from textual.widget import Widget
from textual.widgets import Input, Label, Static

Answer = TypeVar("Answer")


class Question(Vertical, Generic[Answer]):
    """A label, a line to answer on, and a line for what was wrong."""

    DEFAULT_CSS = """
    Question {
        height: auto;
        & .ask { height: auto; layout: vertical; }
        & Label { color: $ink; }
        &.-inline .ask { layout: horizontal; height: 1; }
        &.-inline Label { width: 36; }
        &.-inline Input { width: 1fr; }
        & Input {
            height: 1;
            border: none;
            padding: 0 1;
            background: $cloth;
            color: $ink;
        }
        & Input:focus { border: none; background: $band; text-style: bold; }
        & Input:focus { background-tint: $ground 0%; }
        & Input:focus:ansi { text-style: bold reverse; }
        & .input--placeholder { color: $faint; text-style: none; }
        & .wrong { height: auto; color: $act; display: none; }
        & .wrong.-shown { display: block; }
    }
    """

    def __init__(
        self,
        label: str,
        read: Callable[[str], Answer],
        *,
        id: str,
        value: str = "",
        placeholder: str = "",
        about: str = "",
        picture: str = "",
        inline: bool = False,
    ) -> None:
        """Ask ``label``; ``read`` turns what was typed into the answer or raises ValueError."""
        super().__init__(id=id, classes="-inline" if inline else None)
        self._label, self._read = label, read
        self._value, self._placeholder = value, placeholder
        self.about = about
        """What it means, in a sentence or two."""
        self.picture = picture
        """A small picture of it, for a fixed-width screen."""

    def compose(self) -> ComposeResult:
        """Label, answer, and what was wrong."""
        with Container(classes="ask"):
            yield Label(self._label, markup=False)
            yield Input(self._value, placeholder=self._placeholder, select_on_focus=True)
        yield Static(classes="wrong", markup=False)

    @property
    def field(self) -> Input:
        """The line it is answered on."""
        return self.query_one(Input)

    @property
    def touched(self) -> bool:
        """Whether it now says something else than it began with."""
        return self.field.value.strip() != self._value

    def answer(self) -> Answer:
        """Read the answer.

        Raises:
            ValueError: it cannot be read; the sentence is shown under it as well.
        """
        try:
            return self._read(self.field.value.strip())
        except ValueError as error:
            self._say(str(error))
            raise

    def set_value(self, value: str) -> None:
        """Fill the answer in."""
        self.field.value = value
        self.field.cursor_position = len(value)

    @on(Input.Changed)
    def _typing(self) -> None:
        self._say("")

    @on(Input.Blurred)
    def _left(self) -> None:
        if self.field.value.strip():
            try:
                self.answer()
            except ValueError:
                return

    def _say(self, sentence: str) -> None:
        wrong = self.query_one(".wrong", Static)
        wrong.update(f"! {sentence}" if sentence else "")
        wrong.set_class(bool(sentence), "-shown")


def entered(form: Widget, line: Input) -> bool:
    """Read the question of ``form`` that was answered on ``line``; False if it was wrong.

    What was wrong then stands under it.
    """
    for question in form.query(Question):
        if question.field is line:
            try:
                question.answer()
            except ValueError:
                return False
    return True
