"""Plan: from the yarn and the swatch to a stitch count that should stack, and its fabric.

Why one screen: what she types at the left changes what stands at the right as she types,
so that she sees what another multiple or another needle would do.  Nothing is saved until
she begins a project, or keeps a colour run.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any, ClassVar

from textual import events, on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.timer import Timer
from textual.widgets import DataTable, Footer, Input, Static

from knitlog.analysis.past import Past
from knitlog.analysis.planned import ChosenPlan, begin_planned
from knitlog.hands.next_project import yarn_per_stitch
from knitlog.hands.records import Materials
from knitlog.journal.errors import JournalError
from knitlog.plan.colour_checks import check_colour_run
from knitlog.plan.run_notation import format_colour_run
from knitlog.plan.stitch_count import Candidate
from knitlog.report.fabric_image import stitch_aspect
from knitlog.report.plan_words import (
    contingency_words,
    finding_words,
    planned_words,
    yarn_words,
)
from knitlog.tui.form import read_form
from knitlog.tui.modals.colour_sheet import ColourRunSheet
from knitlog.tui.modals.plan_forms import (
    Begin,
    BeginSheet,
    cast_on_sheet,
    join_sheet,
    yarn_enough_sheet,
)
from knitlog.tui.plan_form import ASKED, MINE, PlanAsked, plan_asked
from knitlog.tui.run_bar import run_bar
from knitlog.tui.screens.base import COMMON_KEYS, Begun, KnitScreen, Masthead
from knitlog.tui.widgets.fabric_view import FabricView
from knitlog.tui.widgets.question import Form
from knitlog.typed.text import as_sentence
from knitlog.yarn.units import format_length

if TYPE_CHECKING:
    from knitlog.drift import Estimate
    from knitlog.hands.learn import Hands
    from knitlog.journal.colour_runs import ColourRunBook
    from knitlog.journal.library import Library
    from knitlog.yarn.colours import ColourRun

_PAUSE = 0.2
"""Seconds after a key before the plan is worked out anew."""
_COLUMNS = (("Count", 6), ("×", 3), ("Needle", 7), ("Drift", 11), ("Size", 9), ("Stacks", 6))


class PlanScreen(KnitScreen):
    """Asks what she has and wants; shows how many stitches would stack."""

    WORDS = "Plan"
    ABOUT = (
        "Before casting on: how many stitches, on which needle, so that the colours stack. "
        "Type what you know at the left; at the right stand the stitch counts that fit, the "
        "likeliest to stack first: Count is the stitches, × the repeats a round, Drift what to "
        "expect and its spread, Stacks the chance to be within tolerance by round 5. Below is the "
        "fabric of the one under the bar, with a hand's usual unevenness."
    )
    TYPED_KEYS = (
        ("Enter", "On to the next question; on a stitch count, begin the project."),
        ("↑ ↓", "The question above, or below; on the list, another stitch count."),
        ("Tab", "On, and from the last question to the stitch counts."),
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "begin", "Begin", tooltip="Begin a project from the plan under the bar."),
        Binding("ctrl+n", "colours", "Colours", tooltip="The colours: kept, typed, step by step."),
        Binding(
            "ctrl+l", "list", "List", tooltip="To the stitch counts, or back to the questions."
        ),
        Binding("f6", "cast_on", "Cast-on", tooltip="Check a cast-on."),
        Binding("f7", "enough", "Yarn?", tooltip="Whether the yarn is enough."),
        Binding("f8", "join", "Join", tooltip="Where to join the next skein."),
        Binding("f1", "help", "Help", tooltip="This help."),
        Binding("escape", "leave", "Back", show=False, tooltip="Leave; nothing is begun."),
        *COMMON_KEYS,
    ]

    DEFAULT_CSS = """
    PlanScreen {
        background: $ground;
        & #form { width: 34; height: 1fr; padding: 0 1; }
        & #run-bar { height: auto; text-wrap: nowrap; display: none; }
        & #run-bar.-shown { display: block; }
        & #found { width: 1fr; height: 1fr; border-left: vkey $line; padding: 0 0 0 1; }
        & #yarn { height: auto; max-height: 3; color: $ink; }
        & #wanting { height: auto; color: $watch; display: none; }
        & #wanting.-shown { display: block; }
        & DataTable { height: auto; max-height: 8; background: $ground; display: none;
            overflow-x: hidden; scrollbar-size-vertical: 1; }
        & DataTable.-shown { display: block; }
        & DataTable:focus { background-tint: $ground 0%; }
        & DataTable > .datatable--header {
            background: $ground; color: $faint; text-style: none;
        }
        & DataTable:ansi > .datatable--header { background: ansi_default; color: ansi_default; }
        & #if-not { height: auto; max-height: 7; color: $faint; display: none; }
        & FabricView { height: 1fr; min-height: 4; }
        & #about { height: 2; padding: 0 1; color: $faint; background: $cloth; }
        &.-wide #form { width: 42; }
        &.-wide #if-not { display: block; }
        &.-wide DataTable { max-height: 12; }
    }
    """

    def __init__(self, library: Library, book: ColourRunBook) -> None:
        """``library``: where a project is begun; ``book``: the colour runs she has kept."""
        super().__init__()
        self._library, self._book = library, book
        self._asked: PlanAsked | None = None
        self._candidates: tuple[Candidate, ...] = ()
        self._timer: Timer | None = None
        self._hands: Hands | None = None

    def compose(self) -> ComposeResult:
        """Questions at the left; the yarn, the stitch counts and the fabric at the right."""
        yield Masthead("Plan a project", "nothing is saved until you begin")
        with Horizontal():
            yield Form(ASKED)
            with Vertical(id="found"):
                yield Static(id="yarn", markup=False)
                yield Static(id="wanting", markup=False)
                table: DataTable[str] = DataTable(cursor_type="row", cell_padding=0)
                yield table
                yield Static(id="if-not", markup=False)
                yield FabricView()
        yield Static(id="about", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Name the columns; begin with the colours."""
        table = self.query_one(DataTable)
        for head, width in _COLUMNS:
            table.add_column(head, width=width)
        bar = Static(id="run-bar", markup=False)
        self.form.mount(bar, after=self.form.question("turn"))
        self.form.begin()
        self._work_out()
        self._learn()

    @work(exclusive=True, group="learn")
    async def _learn(self) -> None:
        """Learn from her finished projects, if there are any."""
        try:
            learnt = await self.worked_out(Past(self._library).learnt)
        except JournalError:
            return  # the list of projects says what is wrong with the folder
        if learnt.hands.known:
            self._learnt(learnt.hands)

    def _learnt(self, hands: Hands) -> None:
        self._hands = hands
        past = self.form.question("past")
        if not past.field.value.strip() and not past.field.has_focus:
            past.set_value(MINE)

    @property
    def candidates(self) -> tuple[Candidate, ...]:
        """The stitch counts on the list."""
        return self._candidates

    @property
    def chosen(self) -> Candidate | None:
        """The one under the bar."""
        row = self.query_one(DataTable).cursor_row
        return self._candidates[row] if 0 <= row < len(self._candidates) else None

    @property
    def form(self) -> Form:
        """The questions."""
        return self.query_one(Form)

    # Asking

    @on(Form.At)
    def _at(self, event: Form.At) -> None:
        """Say what the question in focus means."""
        self.query_one("#about", Static).update(event.asked.about)

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """Say what Enter does on the list."""
        if isinstance(event.widget, DataTable):
            self.query_one("#about", Static).update("Enter begins the project under the bar.")

    @property
    def up_to_date(self) -> bool:
        """Whether the plan shown is that of what is typed."""
        return self._timer is None

    @on(Input.Changed)
    def _typing(self) -> None:
        if self._timer is not None:
            self._timer.stop()
        self._timer = self.set_timer(_PAUSE, self._work_out)

    @on(Form.Done)
    def _done(self) -> None:
        """The last question is answered: on to the stitch counts."""
        self._work_out()
        if self._candidates:
            self.query_one(DataTable).focus()
        else:
            self.form.begin()

    # Answering

    def _work_out(self) -> None:
        """Work the plan out from what is typed, and show it."""
        if self._timer is not None:
            self._timer.stop()
            self._timer = None
        texts = self.form.texts()
        told = read_form(ASKED, texts)
        self._show_run(told)
        kept = self.chosen
        try:
            self._asked = plan_asked(texts, mine=self._mine(told))
            self._candidates, said = self._asked.found()
        except ValueError as error:
            self._candidates, said = (), as_sentence(error)
        self._say(said)
        found = "" if self._asked is None else yarn_words(self._asked.yarn, self._asked.ways)
        self.query_one("#yarn", Static).update(found)
        self._list(kept)

    def _mine(self, told: dict[str, Any]) -> Estimate | None:
        """What her finished projects let expect of a stitch on this needle, mm."""
        if self._hands is None or told["needle"] is None:
            return None
        return yarn_per_stitch(self._hands, Materials(needle_mm=told["needle"]))

    def _say(self, words: str) -> None:
        wanting = self.query_one("#wanting", Static)
        wanting.update(words)
        wanting.set_class(bool(words), "-shown")

    def _show_run(self, told: dict[str, Any]) -> None:
        bar = self.query_one("#run-bar", Static)
        run = None if told["run"] is None else told["run"].run
        bar.set_class(run is not None, "-shown")
        if run is None:
            return
        drawn = run_bar(self.app, run, max(self.query_one("#form").size.width - 3, 10))
        serious = [finding_words(c) for c in check_colour_run(run, told["turn"]) if c.serious]
        drawn.append(f"\n{format_length(run.repeat_length_mm)} in all")
        bar.update(drawn)
        self.form.question("turn").complain(serious[0] if serious else "")

    def _list(self, kept: Candidate | None) -> None:
        table = self.query_one(DataTable)
        table.clear()
        asked = self._asked
        table.set_class(bool(self._candidates), "-shown")
        if asked is not None:
            for candidate in self._candidates:
                table.add_row(*asked.row(candidate))
        again = [n for n, c in enumerate(self._candidates) if _same(c, kept)]
        if again:
            table.move_cursor(row=again[0])
        self._show_chosen()

    @on(DataTable.RowHighlighted)
    def _show_chosen(self) -> None:
        """What to do if the chosen one does not stack, and its fabric."""
        chosen, asked = self.chosen, self._asked
        view, if_not = self.query_one(FabricView), self.query_one("#if-not", Static)
        if chosen is None or asked is None:
            if_not.update("")
            view.show(None, "")
            return
        if_not.update(contingency_words(chosen.contingency, asked.units))
        try:
            fabric, caption = asked.fabric(chosen)
        except ValueError as error:
            view.show(None, "", words=as_sentence(error))
            return
        view.show(fabric, caption, aspect=stitch_aspect(asked.question.gauge))
        self._fit()

    @on(FabricView.Resized)
    def _fit(self) -> None:
        view = self.query_one(FabricView)
        view.set_zoom(view.zoom_for(whole_round=True))

    # Keys

    def action_list(self) -> None:
        """To the stitch counts, or back to the questions."""
        table = self.query_one(DataTable)
        if table.has_focus or not self._candidates:
            self.form.begin()
        else:
            table.focus()

    @on(DataTable.RowSelected)
    def action_begin(self) -> None:
        """Begin a project from the plan under the bar."""
        self._work_out()
        chosen, asked = self.chosen, self._asked
        if chosen is None or asked is None:
            self._say("There is nothing to begin yet: answer the questions at the left.")
            return
        otherwise = contingency_words(chosen.contingency, asked.units)
        sheet = BeginSheet(asked.words(chosen), otherwise, self._unit, asked.rounds)
        self.app.push_screen(sheet, partial(self._begin, chosen, asked))

    @property
    def _unit(self) -> str:
        return "row" if self.form.flat else "round"

    def _begin(self, chosen: Candidate, asked: PlanAsked, begin: Begin | None) -> None:
        if begin is None:
            return
        plan = ChosenPlan(chosen, asked.question, asked.run, begin.rounds, asked.flat, asked.given)
        try:
            journal = begin_planned(self._library, begin.name, plan, planned_words(plan))
        except JournalError as error:
            self._say(f"! {error}")
            return
        self.post_message(Begun(journal))

    def action_colours(self) -> None:
        """Describe the colours: kept before, typed, or step by step."""
        told = read_form(ASKED, {"run": self.form.question("run").text})
        run = None if told["run"] is None else told["run"].run

        def described(found: ColourRun | None) -> None:
            if found is not None:
                self.form.question("run").set_value(format_colour_run(found))
                self._work_out()

        self.app.push_screen(ColourRunSheet(self._book, run), described)

    def action_cast_on(self) -> None:
        """Check a cast-on."""
        chosen, asked = self.chosen, self._asked
        known: tuple[Any, ...] = ()
        if chosen is not None and asked is not None:
            question = asked.question
            known = (
                chosen.stitches,
                question.tolerance,
                chosen.repeats,
                question.repeat_length_mm,
            )
        self.app.push_screen(cast_on_sheet(self._unit, *known))

    def action_enough(self) -> None:
        """Whether the yarn is enough."""
        chosen, asked = self.chosen, self._asked
        known: tuple[Any, ...] = ()
        if chosen is not None and asked is not None:
            known = (chosen.yarn_per_stitch, chosen.stitches, asked.rounds)
        self.app.push_screen(yarn_enough_sheet(self._unit, *known))

    def action_join(self) -> None:
        """Where to join the next skein."""
        self.app.push_screen(join_sheet(None if self._asked is None else self._asked.run))

    def action_leave(self) -> None:
        """Leave; nothing is begun."""
        self.leave()


def _same(one: Candidate, other: Candidate | None) -> bool:
    return other is not None and (one.stitches, one.repeats, one.needle_mm) == (
        other.stitches,
        other.repeats,
        other.needle_mm,
    )
