"""The colours sheet: the yarn's colours along one repeat.

Returns a :class:`~knitlog.yarn.colours.ColourRun`.  Three ways to describe it: choose
one kept before, type it in one line, or step by step with a tape along the yarn.  What
is typed is drawn at once as a bar, with its sum and what a check of it found.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual import on
from textual.binding import Binding, BindingType
from textual.widget import Widget
from textual.widgets import Static
from textual.widgets.option_list import Option

from knitlog.journal.errors import JournalError
from knitlog.plan.colour_checks import check_colour_run
from knitlog.plan.run_notation import TapeMark, format_colour_run, parse_colour_run, run_from_marks
from knitlog.report.plan_words import finding_words
from knitlog.tui.form import Field
from knitlog.tui.modals.form_sheet import FormSheet, Told
from knitlog.tui.run_bar import run_bar, run_key
from knitlog.tui.widgets.choices import Choices
from knitlog.typed.measures import parse_length
from knitlog.typed.text import as_sentence
from knitlog.yarn.colours import ColourRun, parse_colour
from knitlog.yarn.units import format_length

if TYPE_CHECKING:
    from knitlog.journal.colour_runs import ColourRunBook, KeptRun

_BAR = 72


class DrawnRunSheet(FormSheet[ColourRun]):
    """Asks for colours and draws them as a bar."""

    DEFAULT_CSS = "DrawnRunSheet #bar { margin: 1 0 0 0; text-wrap: nowrap; }"

    def drawn(self, run: ColourRun) -> Text:
        """The run as a bar, and the key to it."""
        bar = run_bar(self.app, run, min(_BAR, max(self.app.size.width - 6, 20)))
        return bar.append("\n").append_text(run_key(self.app, run, lengths=True))


class ColourRunSheet(DrawnRunSheet):
    """Asks for the colours in one line."""

    TITLE_WORDS = "The colours along one repeat"
    HINT = "Ctrl+T step by step · Ctrl+S saves · F1 help · Esc leaves"

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+t", "steps", "Step by step", tooltip="Read them off a tape, one by one."),
    ]

    DEFAULT_CSS = """
    ColourRunSheet {
        & Choices { max-height: 5; }
        & #said { color: $faint; text-style: none; margin: 0; }
    }
    """

    def __init__(
        self,
        book: ColourRunBook,
        run: ColourRun | None = None,
        *,
        repeat_mm: float | None = None,
    ) -> None:
        """Begin with ``run``; ``repeat_mm`` is the length of the repeat the project has."""
        super().__init__(_fields(run), inline=False)
        self._book, self._repeat = book, repeat_mm
        self._kept: tuple[KeptRun, ...] = ()
        self._trouble = ""
        try:
            self._kept = book.runs()
        except JournalError as error:
            self._trouble = str(error)

    def above(self) -> Iterable[Widget]:
        """Runs kept before."""
        if self._kept:
            yield Static("Kept before (↑, then Enter takes one)", classes="faint")
            yield Choices(*(Option(kept.name) for kept in self._kept), markup=False)

    def below(self) -> Iterable[Widget]:
        """The picture of what is typed."""
        yield Static(id="bar")

    def said(self, told: Told) -> str:
        """What a check of it found; draws it too."""
        run: ColourRun | None = told["run"]
        self.query_one("#bar", Static).update("" if run is None else self.drawn(run))
        if run is None:
            return "" if self.form.question("run").text else self._trouble
        return "\n".join(self._findings(run, told["turn"]))

    def _findings(self, run: ColourRun, turn: float | None) -> list[str]:
        found = [f"One repeat is {format_length(run.repeat_length_mm)}."]
        for check in check_colour_run(run, turn):
            found.append(f"{'! ' if check.serious else ''}{finding_words(check)}")
        if self._repeat is not None and abs(run.repeat_length_mm / self._repeat - 1) > 0.02:
            found.append(
                f"The project's repeat is {format_length(self._repeat)}; the fabric is drawn with "
                "these colours stretched to it."
            )
        return found

    @on(Choices.OptionSelected)
    def _take(self, event: Choices.OptionSelected) -> None:
        self._fill(self._kept[event.option_index].run)

    def _fill(self, run: ColourRun | None) -> None:
        if run is not None:
            self.form.question("run").set_value(format_colour_run(run))
            self.form.begin()

    def action_steps(self) -> None:
        """Read the colours off a tape, one by one."""
        self.app.push_screen(RunStepsSheet(), self._fill)

    def value(self, told: Told) -> ColourRun:
        """The colours; kept too if a name was typed."""
        run: ColourRun = told["run"]
        if told["keep"]:
            self._book.keep(told["keep"], run)
        return run


class RunStepsSheet(DrawnRunSheet):
    """Asks for a colour's name and where on the tape it ends, again and again."""

    TITLE_WORDS = "Step by step along a tape"
    HINT = "Enter takes it · Ctrl+Z back · Ctrl+S done · F1 help · Esc leaves"
    ABOUT = (
        "Lay the yarn out relaxed along a tape, 0 where a colour begins. Type each colour "
        "and where on the tape it ends; Enter on an empty colour is done. Ctrl+B if the "
        "colours turn back at the end."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+z", "back", "Last one back", tooltip="Take the last colour back."),
        Binding("ctrl+b", "fold", "And back", tooltip="The colours turn back at the end, or not."),
        Binding("ctrl+s", "save", "Done", tooltip="These are all."),
    ]

    DEFAULT_CSS = "RunStepsSheet #bar { margin: 0 0 1 0; }"

    def __init__(self) -> None:
        super().__init__(_STEPS)
        self._marks: list[TapeMark] = []
        self._folded = False

    def above(self) -> Iterable[Widget]:
        """What it is about, and what is measured so far."""
        yield from super().above()
        yield Static("Nothing measured yet.", id="bar")

    def done(self) -> None:
        """Take the colour and ask for the next; done where there is none."""
        told = self.form.answers() if self.form.question("name").text else {}
        if told is None:
            return
        if not told:
            self.action_save()
            return
        mark = TapeMark(**told)
        try:
            run_from_marks([*self._marks, mark])
        except ValueError as error:
            self.form.question("end_mm").field.focus()
            self.tell(f"! {as_sentence(error)}")
            return
        self._marks.append(mark)
        for question in self.form.questions:
            question.set_value("")
        self.form.begin()
        self._draw()

    def action_back(self) -> None:
        """Take the last colour back."""
        if self._marks:
            self.form.question("name").set_value(self._marks.pop().name)
        self._draw()

    def action_fold(self) -> None:
        """The colours turn back at the end, or not."""
        self._folded = not self._folded
        self._draw()

    def action_save(self) -> None:
        """Give the run back."""
        try:
            self.dismiss(self._run)
        except ValueError as error:
            self.tell(f"! {as_sentence(error)}")

    @property
    def _run(self) -> ColourRun:
        return run_from_marks(self._marks, palindrome=self._folded)

    def _draw(self) -> None:
        bar = self.query_one("#bar", Static)
        if not self._marks:
            bar.update("Nothing measured yet.")
            return
        so_far = f"\nThe tape stands at {format_length(self._marks[-1].end_mm)}."
        bar.update(self.drawn(self._run).append(so_far))


def _fields(run: ColourRun | None) -> tuple[Field, ...]:
    return (
        Field(
            "run",
            "Colours as they come off the ball, each with its length",
            parse_colour_run,
            "" if run is None else format_colour_run(run),
            "rose 30cm, moss 45cm #117733, snow 77cm, and back",
            about="Measured relaxed, from where one colour begins to where the next does. "
            "'and back' where they turn round at the end.",
            missing="Type the colours, such as rose 30cm, moss 45cm.",
        ),
        Field(
            "turn",
            "The reel's turn, if you know it",
            parse_length,
            placeholder="such as 60in: one turn of the reel it was dyed on",
            about="The colours should add up to it, or to a little less.",
        ),
        Field("keep", "Keep it for other projects under the name", str, "", "may be left empty"),
    )


_STEPS = (
    Field("name", "Colour", str, "", "such as rose", about="As you call it.", ends=True),
    Field(
        "end_mm",
        "Ends on the tape at",
        parse_length,
        placeholder="such as 30cm or 12in",
        missing="Type where on the tape it ends, such as 30cm.",
    ),
    Field(
        "colour",
        "Colour value, if you like",
        parse_colour,
        placeholder="such as #117733 or teal",
        about="How it is drawn; without one, by its name.",
    ),
)
