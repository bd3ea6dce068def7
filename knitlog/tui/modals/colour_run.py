"""The colours sheet: the yarn's colours along one repeat.

Returns a :class:`~knitlog.yarn.colours.ColourRun`.  Three ways to describe it: choose
one kept before, type it in one line, or step by step with a tape along the yarn.  What
is typed is drawn at once as a bar, with its sum and what a check of it found.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from knitlog.journal.errors import JournalError
from knitlog.plan.colour_checks import check_colour_run
from knitlog.plan.colour_run import format_colour_run, parse_colour_run
from knitlog.tui import answers
from knitlog.tui.modals.run_steps import RunStepsSheet
from knitlog.tui.modals.sheet import Sheet
from knitlog.tui.run_bar import run_bar, run_key
from knitlog.tui.widgets.question import Question
from knitlog.yarn.colours import ColourRun
from knitlog.yarn.units import format_length

if TYPE_CHECKING:
    from knitlog.journal.colour_runs import ColourRunBook, KeptRun

_BAR = 72


class ColourRunSheet(Sheet[ColourRun]):
    """Asks for the colours; Enter on the last line saves."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+t", "steps", "Step by step", tooltip="Read them off a tape, one by one."),
        Binding("ctrl+s", "save", "Save", tooltip="Save the colours."),
    ]

    DEFAULT_CSS = """
    ColourRunSheet {
        & OptionList, & OptionList:focus {
            height: auto; max-height: 5; border: none; background: $ground; padding: 0;
        }
        & OptionList:focus > .option-list--option-highlighted { text-style: bold; }
        & #bar { margin: 1 0 0 0; text-wrap: nowrap; }
        & #found { color: $faint; }
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
        super().__init__()
        self._book, self._run, self._repeat = book, run, repeat_mm
        self._kept: tuple[KeptRun, ...] = ()
        self._trouble = ""
        try:
            self._kept = book.runs()
        except JournalError as error:
            self._trouble = str(error)

    def compose(self) -> ComposeResult:
        """Runs kept before, the typed line, its picture and checks."""
        with VerticalScroll(classes="sheet", can_focus=False) as sheet:
            sheet.border_title = "The colours along one repeat"
            sheet.border_subtitle = "Ctrl+T step by step · Enter next · Ctrl+S saves · Esc leaves"
            if self._kept:
                yield Static("Kept before (Tab, then ↑ ↓ and Enter takes one)", classes="faint")
                yield OptionList(*(Option(kept.name) for kept in self._kept), markup=False)
            yield Question(
                "Colours as they come off the ball, each with its length",
                parse_colour_run,
                id="run",
                value="" if self._run is None else format_colour_run(self._run),
                placeholder="rose 30cm, moss 45cm #117733, snow 77cm, and back",
            )
            yield Static(id="bar")
            yield Static(id="found", markup=False)
            yield Question(
                "The reel's turn, if you know it",
                answers.maybe_length,
                id="turn",
                placeholder="such as 60in: one turn of the reel it was dyed on",
            )
            yield Question(
                "Keep it for other projects under the name",
                str,
                id="keep",
                placeholder="may be left empty",
            )

    def on_mount(self) -> None:
        """Begin on the typed line."""
        self._field("run").field.focus()
        self._draw()

    def _field(self, name: str) -> Question[object]:
        question: Question[object] = self.query_one(f"#{name}", Question)
        return question

    @on(Input.Changed)
    def _draw(self) -> None:
        """The bar and the checks of what is typed so far."""
        bar, found = self.query_one("#bar", Static), self.query_one("#found", Static)
        text = self._field("run").field.value
        try:
            run = parse_colour_run(text)
        except ValueError:
            bar.update("")
            found.update(self._trouble if not text.strip() else "")
            return
        width = min(_BAR, max(self.app.size.width - 6, 20))
        drawn = run_bar(self.app, run, width)
        drawn.append("\n")
        drawn.append_text(run_key(self.app, run, lengths=True))
        bar.update(drawn)
        found.update("\n".join(self._findings(run)))

    def _findings(self, run: ColourRun) -> list[str]:
        said = [f"One repeat is {format_length(run.repeat_length_mm)}."]
        try:
            turn = answers.maybe_length(self._field("turn").field.value.strip())
            checks = check_colour_run(run, turn)
        except ValueError:
            checks = check_colour_run(run)
        said.extend(f"{'! ' if check.serious else ''}{check.sentence}" for check in checks)
        if self._repeat is not None and abs(run.repeat_length_mm / self._repeat - 1) > 0.02:
            said.append(
                f"The project's repeat is {format_length(self._repeat)}; the fabric is drawn with "
                "these colours stretched to it."
            )
        return said

    @on(OptionList.OptionSelected)
    def _take(self, event: OptionList.OptionSelected) -> None:
        self._fill(format_colour_run(self._kept[event.option_index].run))

    def _fill(self, text: str) -> None:
        self._field("run").set_value(text)
        self._field("run").field.focus()

    def action_steps(self) -> None:
        """Read the colours off a tape, one by one."""

        def taken(run: ColourRun | None) -> None:
            if run is not None:
                self._fill(format_colour_run(run))

        self.app.push_screen(RunStepsSheet(), taken)

    @on(Input.Submitted)
    def _next(self, event: Input.Submitted) -> None:
        event.stop()
        order = ("run", "turn", "keep")
        here = next(n for n in order if self._field(n).field is event.input)
        try:
            self._field(here).answer()
        except ValueError:
            return  # the question says what was wrong
        if here == "keep":
            self.action_save()
        else:
            self._field(order[order.index(here) + 1]).field.focus()

    def action_save(self) -> None:
        """Give the colours back; keep them too if a name was typed."""
        question: Question[ColourRun] = self.query_one("#run", Question)
        try:
            run = question.answer()
        except ValueError:
            question.field.focus()
            return
        name = self._field("keep").field.value.strip()
        if name:
            try:
                self._book.keep(name, run)
            except JournalError as error:
                self.query_one("#found", Static).update(f"! {error}")
                self._field("keep").field.focus()
                return
        self.dismiss(run)
