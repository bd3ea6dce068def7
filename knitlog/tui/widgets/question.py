"""A form's questions: what is asked, where it is answered, what was wrong.

What is wrong stands right under the answer, in one sentence.  Enter goes to the next question
and the last one is done, the arrows go up and down, and the form scrolls with the focus.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Vertical, VerticalScroll
from textual.message import Message
from textual.widgets import Input, Label, Static

from knitlog.report.words import in_rows
from knitlog.tui.form import Field, read_form


class Question(Vertical):
    """A label, a line to answer on, and a line for what was wrong."""

    DEFAULT_CSS = """
    Question {
        height: auto;
        & .ask { height: auto; layout: vertical; }
        & Label { width: 1fr; height: auto; color: $ink; }
        &.-inline .ask { layout: horizontal; height: auto; }
        &.-inline Label { width: 44; padding: 0 1 0 0; }
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

    def __init__(self, asked: Field, *, inline: bool = False) -> None:
        """Ask ``asked``; ``inline`` puts the answer beside the label."""
        super().__init__(id=asked.key, classes="-inline" if inline else None)
        self.asked = asked

    def compose(self) -> ComposeResult:
        """Label, answer, and what was wrong."""
        with Container(classes="ask"):
            yield Label(self.asked.label, markup=False)
            yield Input(self.asked.value, placeholder=self.asked.placeholder, select_on_focus=True)
        yield Static(classes="wrong", markup=False)

    @property
    def field(self) -> Input:
        """The line it is answered on."""
        return self.query_one(Input)

    @property
    def text(self) -> str:
        """What is typed."""
        return self.field.value.strip()

    @property
    def touched(self) -> bool:
        """Whether it now says something else than it began with."""
        return self.text != self.asked.value

    def answer(self) -> Any:
        """Read the answer.

        Raises:
            ValueError: it cannot be read; the sentence is shown under it as well.
        """
        try:
            return self.asked.answer(self.text)
        except ValueError as error:
            self.complain(str(error))
            raise

    def set_value(self, value: str) -> None:
        """Fill the answer in."""
        self.field.value = value
        self.field.cursor_position = len(value)

    def complain(self, sentence: str) -> None:
        """Say what was wrong; nothing if empty."""
        wrong = self.query_one(".wrong", Static)
        wrong.update(f"! {sentence}" if sentence else "")
        wrong.set_class(bool(sentence), "-shown")
        if sentence:
            self.call_after_refresh(wrong.scroll_visible, immediate=True)

    @on(Input.Changed)
    def _typing(self) -> None:
        self.complain("")

    @on(Input.Blurred)
    def _left(self) -> None:
        if self.text and self.touched:
            try:
                self.answer()
            except ValueError:
                return


class Form(VerticalScroll, can_focus=False, inherit_bindings=False):
    """Questions one under the other."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "app.focus_previous", "Up", show=False),
        Binding("down", "app.focus_next", "Down", show=False),
    ]
    DEFAULT_CSS = """
    Form {
        height: auto; scrollbar-size-vertical: 1;
        & > .head { color: $key; text-style: bold; height: auto; margin: 1 0 0 0; }
        & > .head.-first { margin: 0; }
    }
    """

    @dataclass
    class Done(Message):
        """Enter was pressed on the last question, or on an empty one that ends the form."""

    @dataclass
    class At(Message):
        """A question has the focus."""

        asked: Field

    def __init__(self, fields: Iterable[Field], *, inline: bool = False, id: str = "form") -> None:
        super().__init__(id=id)
        self.fields = tuple(fields)
        self._inline, self.flat = inline, False

    def compose(self) -> ComposeResult:
        """Heads and questions."""
        for number, asked in enumerate(self.fields):
            if asked.head:
                yield Static(asked.head, classes="head" if number else "head -first", markup=False)
            yield Question(asked, inline=self._inline)

    @property
    def questions(self) -> tuple[Question, ...]:
        """In the order asked."""
        return tuple(self.query(Question))

    def question(self, key: str) -> Question:
        """The question that asks ``key``."""
        return self.query_one(f"#{key}", Question)

    def texts(self) -> dict[str, str]:
        """What is typed, by key."""
        return {question.asked.key: question.text for question in self.questions}

    def on_mount(self) -> None:
        """Speak as she does."""
        self._reword()

    @on(Input.Changed)
    def _reword(self) -> None:
        """Speak of rows where the work is flat, of rounds where it is not."""
        telling = [field for field in self.fields if field.tells_flat]
        told = read_form(telling, self.texts()).values()
        flat = any(answer in ("flat", {"flat": True}) for answer in told)
        if flat != self.flat:
            self.flat = flat
            for question in self.questions:
                question.query_one(Label).update(self.in_her_words(question.asked).label)

    def in_her_words(self, field: Field) -> Field:
        """The field, with rows for rounds where the work is flat and it does not ask that."""
        flat = self.flat and not field.tells_flat
        return replace(field, label=in_rows(field.label, flat), about=in_rows(field.about, flat))

    def begin(self) -> None:
        """To the first question."""
        self.questions[0].field.focus()

    def answers(self, *, touched: bool = False) -> dict[str, Any] | None:
        """Read them all, or those ``touched``; None, and to the first wrong one, if one is."""
        told: dict[str, Any] = {}
        for question in self.questions:
            if touched and not question.touched:
                continue  # as it was: shown rounded, and left alone to the last digit
            try:
                told[question.asked.key] = question.answer()
            except ValueError:
                question.field.focus()
                return None
        return told

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """Scroll to the question in focus, and say which it is."""
        for question in self.questions:
            if question.field is event.widget:
                # a scroll put off would take effect after she has gone on to the next
                self.call_after_refresh(self._bring_into_view, question)
                self.post_message(self.At(self.in_her_words(question.asked)))

    def _bring_into_view(self, question: Question) -> None:
        if not question.field.has_focus:
            return
        if question.asked is self.fields[0]:
            self.scroll_home(animate=False)  # with its head, after the scroll of the focus itself
        else:
            question.scroll_visible(immediate=True)

    @on(Input.Submitted)
    def _next(self, event: Input.Submitted) -> None:
        event.stop()
        fields = [question.field for question in self.questions]
        here = fields.index(event.input)
        try:
            self.questions[here].answer()
        except ValueError:
            return  # the question says what was wrong
        ends = self.questions[here].asked.ends and not self.questions[here].text
        if here + 1 < len(fields) and not ends:
            fields[here + 1].focus()
        else:
            self.post_message(self.Done())
