"""A sheet that is a form: what it asks, and what becomes of the answers.

Enter goes from question to question and saves on the last one, Ctrl+S saves at once, Escape
leaves, F1 says what each question means.  A sheet that does no more is a call of
:class:`FormSheet`; one that asks and answers at once, of :class:`LiveSheet`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, ClassVar, TypeVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widget import Widget
from textual.widgets import Input, Static

from knitlog.tui.form import Field, read_form
from knitlog.tui.key_lines import KeyLine
from knitlog.tui.modals.sheet import Sheet
from knitlog.tui.widgets.question import Form
from knitlog.typed.text import as_sentence

Value = TypeVar("Value")
Told = dict[str, Any]
"""The answers by the keys of their questions."""


class FormSheet(Sheet[Value]):
    """Asks some fields and gives one value back."""

    HINT = "Enter next, then saves · F1 help · Esc leaves"

    BINDINGS: ClassVar[list[BindingType]] = [Binding("ctrl+s", "save", "Save", show=False)]

    DEFAULT_CSS = """
    FormSheet {
        & #about { margin: 0 0 1 0; }
        & #said { margin: 1 0 0 0; text-style: bold; display: none; }
        & #said.-shown { display: block; }
        & .sheet Question { margin: 0; }
        & .sheet Question.-apart { margin: 1 0 0 0; }
    }
    """

    def __init__(
        self,
        fields: Iterable[Field],
        title: str = "",
        about: str = "",
        *,
        value: Callable[[Told], Value] | None = None,
        hint: str = "",
        inline: bool = True,
    ) -> None:
        """Ask ``fields``; ``value`` makes one of the answers, or raises what is missing."""
        super().__init__(title, about, hint)
        self.fields = tuple(fields)
        self._value, self._inline = value, inline

    def help_lines(self) -> list[KeyLine]:
        """What each question means, and how to go on."""
        fields = map(self.form.in_her_words, self.fields)
        asked = [(f.label, f.about or f.placeholder) for f in fields]
        return [
            *((label, words) for label, words in asked if words),
            ("Enter", "On to the next question; on the last one, saves."),
            ("Ctrl+S", "Save at once."),
        ]

    def value(self, told: Told) -> Value:
        """What the answers amount to.

        Raises:
            ValueError: something is missing; the sentence is shown below the questions.

        """
        if self._value is None:
            raise NotImplementedError
        return self._value(told)

    def said(self, told: Told) -> str:
        """What is said below while she types; ``told`` holds None for what cannot be read."""
        return ""

    def above(self) -> Iterable[Widget]:
        """What stands above the questions: what the sheet is about."""
        if self.about:
            yield Static(self.about, id="about", classes="faint", markup=False)

    def below(self) -> Iterable[Widget]:
        """What stands between the questions and what they come to."""
        return ()

    def compose(self) -> ComposeResult:
        """What it is about, the questions, what they come to."""
        with VerticalScroll(classes="sheet", can_focus=False) as sheet:
            self.entitle(sheet)
            yield from self.above()
            yield Form(self.fields, inline=self._inline)
            yield from self.below()
            yield Static(id="said", markup=False)

    @property
    def form(self) -> Form:
        """The questions."""
        return self.query_one(Form)

    def on_mount(self) -> None:
        """Begin."""
        self.start()
        self._follow()

    def start(self) -> None:
        """Where she begins: on the first question."""
        self.form.begin()

    @on(Input.Changed)
    def _follow(self) -> None:
        self.tell(self.said(read_form(self.fields, self.form.texts())))

    def tell(self, sentence: str) -> None:
        """Say something below the questions; nothing if empty."""
        place = self.query_one("#said", Static)
        place.update(sentence)
        place.set_class(bool(sentence), "-shown")

    @on(Form.Done)
    def _done(self) -> None:
        self.done()

    def done(self) -> None:
        """Go on from the last question: save."""
        self.action_save()

    def action_save(self) -> None:
        """Give the value back, or say what is missing."""
        told = self.form.answers()
        if told is None:
            return
        try:
            self.dismiss(self.value(told))
        except ValueError as error:
            self.tell(f"! {as_sentence(error)}")


class LiveSheet(FormSheet[None]):
    """A sheet whose answer stands below at once; nothing is saved."""

    HINT = "Enter next · F1 help · Esc back"

    def __init__(
        self, fields: Iterable[Field], title: str, about: str, work_out: Callable[[Told], str]
    ) -> None:
        """``work_out``: the answer in words; it raises ValueError with what is missing."""
        super().__init__(fields, title, about)
        self._work_out = work_out

    def said(self, told: Told) -> str:
        """The answer, or what is missing."""
        try:
            return self._work_out(told)
        except ValueError as error:
            return as_sentence(error)

    def action_save(self) -> None:
        """There is nothing to save: back to the first question."""
        self.form.begin()
