"""The tape sheet: the colours one by one, read off a tape laid along the yarn.

Returns a :class:`~knitlog.yarn.colours.ColourRun`.  Enter after each colour takes it and
asks for the next; Enter with nothing typed is done.  Ctrl+Z takes the last one back.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Input, Static

from knitlog.plan.colour_run import TapeMark, run_from_marks
from knitlog.tui.modals.sheet import Sheet
from knitlog.tui.plan_answers import sentence
from knitlog.tui.run_bar import run_bar, run_key
from knitlog.tui.widgets.question import Question
from knitlog.yarn.colours import ColourRun, parse_colour
from knitlog.yarn.units import format_length, parse_length

if TYPE_CHECKING:
    from collections.abc import Sequence

_BAR = 72


class RunStepsSheet(Sheet[ColourRun]):
    """Asks for a colour's name and where on the tape it ends, again and again."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+z", "back", "Last one back", tooltip="Take the last colour back."),
        Binding("ctrl+b", "fold", "And back", tooltip="The colours turn back at the end, or not."),
        Binding("ctrl+s", "done", "Done", tooltip="These are all."),
    ]

    DEFAULT_CSS = """
    RunStepsSheet {
        & .sheet Question { margin: 0; }
        & #tape { margin: 1 0; text-wrap: nowrap; }
    }
    """

    def __init__(self) -> None:
        super().__init__()
        self._marks: list[TapeMark] = []
        self._folded = False

    def compose(self) -> ComposeResult:
        """What is measured so far, and three short questions."""
        with VerticalScroll(classes="sheet", can_focus=False) as sheet:
            sheet.border_title = "Step by step along a tape"
            sheet.border_subtitle = "Enter takes it · Ctrl+Z back · Ctrl+S done · Esc leaves"
            yield Static(
                "Lay the yarn out relaxed along a tape, 0 where a colour begins. Type each colour "
                "and where on the tape it ends; Enter on an empty colour is done. Ctrl+B if the "
                "colours turn back at the end.",
                classes="faint",
            )
            yield Static(id="tape")
            yield Question("Colour", str, id="name", inline=True, placeholder="such as rose")
            yield Question(
                "Ends on the tape at",
                parse_length,
                id="end",
                inline=True,
                placeholder="such as 30cm or 12in",
            )
            yield Question(
                "Colour value, if you like",
                _maybe_colour,
                id="colour",
                inline=True,
                placeholder="such as #117733 or teal",
            )
            yield Static(id="wrong", markup=False)

    def on_mount(self) -> None:
        """Begin with the first colour's name."""
        self._draw()

    @on(Input.Submitted)
    def _next(self, event: Input.Submitted) -> None:
        event.stop()
        name: Question[str] = self.query_one("#name", Question)
        end: Question[float] = self.query_one("#end", Question)
        colour: Question[str | None] = self.query_one("#colour", Question)
        if event.input is name.field:
            if name.field.value.strip():
                end.field.focus()
            else:
                self.action_done()
            return
        try:
            end.answer()
        except ValueError:
            end.field.focus()
            return
        if event.input is end.field:
            colour.field.focus()
            return
        try:
            mark = TapeMark(name.answer(), end.answer(), colour.answer())
            run_from_marks([*self._marks, mark])
        except ValueError as error:
            self._say(sentence(error))
            end.field.focus()
            return
        self._marks.append(mark)
        for question in (name, end, colour):
            question.set_value("")
        name.field.focus()
        self._draw()

    def action_back(self) -> None:
        """Take the last colour back."""
        if self._marks:
            mark = self._marks.pop()
            self.query_one("#name", Question).set_value(mark.name)
        self._draw()

    def action_fold(self) -> None:
        """The colours turn back at the end, or not."""
        self._folded = not self._folded
        self._draw()

    def action_done(self) -> None:
        """Give the run back."""
        try:
            self.dismiss(run_from_marks(self._marks, palindrome=self._folded))
        except ValueError as error:
            self._say(sentence(error))

    def _say(self, sentence: str) -> None:
        self.query_one("#wrong", Static).update(f"! {sentence}" if sentence else "")

    def _draw(self) -> None:
        self._say("")
        tape = self.query_one("#tape", Static)
        if not self._marks:
            tape.update("Nothing measured yet.")
            return
        run = run_from_marks(self._marks, palindrome=self._folded)
        width = min(_BAR, max(self.app.size.width - 6, 20))
        drawn = run_bar(self.app, run, width)
        drawn.append("\n")
        drawn.append_text(run_key(self.app, run, lengths=True))
        drawn.append(f"\n{_so_far(self._marks)}")
        tape.update(drawn)


def _so_far(marks: Sequence[TapeMark]) -> str:
    return f"The tape stands at {format_length(marks[-1].end_mm)}."


def _maybe_colour(text: str) -> str | None:
    return parse_colour(text) if text else None
