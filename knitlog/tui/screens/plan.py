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
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.timer import Timer
from textual.widgets import DataTable, Footer, Input, Static
from textual.worker import get_current_worker

from knitlog.hands import Work, yarn_per_stitch
from knitlog.journal.errors import JournalError
from knitlog.plan.colour_checks import check_colour_run
from knitlog.plan.colour_run import format_colour_run
from knitlog.plan.stitch_count import Candidate
from knitlog.report.fabric_image import stitch_aspect
from knitlog.tui.modals.begin import Begin, BeginSheet
from knitlog.tui.modals.cast_on import CastOnSheet
from knitlog.tui.modals.colour_run import ColourRunSheet
from knitlog.tui.modals.join import JoinSheet
from knitlog.tui.modals.yarn_enough import YarnEnoughSheet
from knitlog.tui.plan_answers import maybe, sentence
from knitlog.tui.plan_form import ASKED, MINE, PlanAsked, plan_asked, read_form
from knitlog.tui.plan_words import choice_words, find, preview, row, yarn_words
from knitlog.tui.run_bar import run_bar
from knitlog.tui.screens.base import COMMON_KEYS, KnitScreen
from knitlog.tui.widgets.fabric_view import FabricView
from knitlog.tui.widgets.masthead import Masthead
from knitlog.tui.widgets.question import Question, entered
from knitlog.workbench.hands import learn_hands
from knitlog.workbench.planned import ChosenPlan, begin_planned
from knitlog.yarn.units import format_length

if TYPE_CHECKING:
    from knitlog.drift import Estimate
    from knitlog.hands import Hands
    from knitlog.journal.colour_runs import ColourRunBook
    from knitlog.journal.library import Library
    from knitlog.yarn.colours import ColourRun

_PAUSE = 0.2
"""Seconds after a key before the plan is worked out anew."""
_COLUMNS = (("Count", 6), ("×", 3), ("Needle", 7), ("Drift", 11), ("Size", 9), ("Stacks", 6))


class _Form(VerticalScroll, can_focus=False, inherit_bindings=False):
    """Scrolls with the focus; the arrows go from question to question."""


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
        ("Tab", "On, and from the last question to the stitch counts."),
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+s", "begin", "Begin", tooltip="Begin a project from the plan under the bar."),
        Binding("ctrl+o", "colours", "Colours", tooltip="The colours: kept, typed, step by step."),
        Binding(
            "ctrl+l", "list", "List", tooltip="To the stitch counts, or back to the questions."
        ),
        Binding("f6", "cast_on", "Cast-on", tooltip="Check a cast-on."),
        Binding("f7", "enough", "Yarn?", tooltip="Whether the yarn is enough."),
        Binding("f8", "join", "Join", tooltip="Where to join the next skein."),
        Binding("f1", "help", "Help", tooltip="This help."),
        Binding("up", "app.focus_previous", "Up", show=False, tooltip="The question above."),
        Binding("down", "app.focus_next", "Down", show=False, tooltip="The question below."),
        Binding("escape", "leave", "Back", show=False, tooltip="Leave; nothing is begun."),
        *COMMON_KEYS,
    ]

    DEFAULT_CSS = """
    PlanScreen {
        background: $ground;
        & #form { width: 34; height: 1fr; padding: 0 1; scrollbar-size-vertical: 1; }
        & Question { margin: 0; }
        & .head { color: $key; text-style: bold; margin: 1 0 0 0; height: auto; }
        & .head.-first { margin: 0; }
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
            with _Form(id="form"):
                for asked in ASKED:
                    if asked.head:
                        first = " -first" if asked is ASKED[0] else ""
                        yield Static(asked.head, classes=f"head{first}")
                    yield Question(
                        asked.label,
                        partial(maybe, asked.read),
                        id=asked.id,
                        value=asked.value,
                        placeholder=asked.placeholder,
                        about=asked.about,
                    )
                    if asked.id == "turn":
                        yield Static(id="run-bar", markup=False)
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
        self._question("run").field.focus()
        self._work_out()
        self._learn()

    @work(thread=True, exclusive=True, group="learn")
    def _learn(self) -> None:
        """Learn from her finished projects, if there are any."""
        try:
            learnt = learn_hands(self._library)
        except JournalError:
            return  # the list of projects says what is wrong with the folder
        if learnt.hands.known and not get_current_worker().is_cancelled:
            self.app.call_from_thread(self._learnt, learnt.hands)

    def _learnt(self, hands: Hands) -> None:
        self._hands = hands
        past = self._question("past")
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

    def _question(self, name: str) -> Question[Any]:
        question: Question[Any] = self.query_one(f"#{name}", Question)
        return question

    # Asking

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """Say what the question in focus means."""
        about = "Enter begins the project under the bar."
        for question in self.query(Question):
            if question.field is event.widget:
                about = question.about
                form = self.query_one("#form")
                if question.id == ASKED[0].id:
                    form.scroll_home(animate=False)
                else:
                    form.scroll_to_widget(question, animate=False)
        self.query_one("#about", Static).update(about)

    @property
    def up_to_date(self) -> bool:
        """Whether the plan shown is that of what is typed."""
        return self._timer is None

    @on(Input.Changed)
    def _typing(self) -> None:
        if self._timer is not None:
            self._timer.stop()
        self._timer = self.set_timer(_PAUSE, self._work_out)

    @on(Input.Submitted)
    def _next(self, event: Input.Submitted) -> None:
        event.stop()
        if entered(self, event.input):
            self._work_out()
            self.focus_next()

    # Answering

    def _work_out(self) -> None:
        """Work the plan out from what is typed, and show it."""
        if self._timer is not None:
            self._timer.stop()
            self._timer = None
        texts = {asked.id: self._question(asked.id).field.value for asked in ASKED}
        told = read_form(texts)
        self._show_run(told)
        kept = self.chosen
        yarn = self.query_one("#yarn", Static)
        try:
            self._asked = plan_asked(told, texts["size"], mine=self._mine(told))
            self._candidates, said = find(self._asked)
        except ValueError as error:
            self._candidates, said = (), sentence(error)
        self._say(said)
        yarn.update("" if self._asked is None else yarn_words(self._asked))
        self._list(kept)

    def _mine(self, told: dict[str, Any]) -> Estimate | None:
        """What her finished projects let expect of a stitch on this needle, mm."""
        if self._hands is None or told["needle"] is None:
            return None
        return yarn_per_stitch(self._hands, Work(needle_mm=told["needle"]))

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
        serious = [c.sentence for c in check_colour_run(run, told["turn"]) if c.serious]
        drawn.append(f"\n{format_length(run.repeat_length_mm)} in all")
        bar.update(drawn)
        if serious:
            self._question("turn").query_one(".wrong", Static).update(f"! {serious[0]}")
        self._question("turn").query_one(".wrong", Static).set_class(bool(serious), "-shown")

    def _list(self, kept: Candidate | None) -> None:
        table = self.query_one(DataTable)
        table.clear()
        asked = self._asked
        table.set_class(bool(self._candidates), "-shown")
        if asked is not None:
            for candidate in self._candidates:
                table.add_row(*row(candidate, asked))
        again = [n for n, c in enumerate(self._candidates) if _same(c, kept)]
        if again:
            table.move_cursor(row=again[0])
        self._show_chosen()

    @on(DataTable.RowHighlighted)
    def _show_chosen(self) -> None:
        """What to do if the chosen one does not stack, and its fabric."""
        chosen, asked = self.chosen, self._asked
        view = self.query_one(FabricView)
        if chosen is None or asked is None:
            self.query_one("#if-not", Static).update("")
            view.show(None, "")
            return
        self.query_one("#if-not", Static).update(chosen.if_not.sentence)
        try:
            fabric, caption = preview(chosen, asked)
        except ValueError as error:
            view.show(None, "", words=sentence(error))
            return
        view.show(
            fabric,
            caption,
            aspect=stitch_aspect(asked.question.gauge),
        )
        self.call_after_refresh(self._fit)

    def _fit(self) -> None:
        view = self.query_one(FabricView)
        view.set_zoom(view.zoom_for(whole_round=True))

    # Keys

    def action_list(self) -> None:
        """To the stitch counts, or back to the questions."""
        table = self.query_one(DataTable)
        if table.has_focus or not self._candidates:
            self._question("run").field.focus()
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
        self.app.push_screen(
            BeginSheet(choice_words(chosen, asked), chosen.if_not.sentence, asked.rounds),
            partial(self._begin, chosen, asked),
        )

    def _begin(self, chosen: Candidate, asked: PlanAsked, begin: Begin | None) -> None:
        if begin is None:
            return
        plan = ChosenPlan(chosen, asked.question, asked.run, begin.rounds, asked.flat)
        try:
            journal = begin_planned(self._library, begin.name, plan)
        except JournalError as error:
            self._say(f"! {error}")
            return
        self.app.open_journal(journal)  # type: ignore[attr-defined]

    def action_colours(self) -> None:
        """Describe the colours: kept before, typed, or step by step."""
        told = read_form({"run": self._question("run").field.value})
        run = None if told["run"] is None else told["run"].run

        def described(found: ColourRun | None) -> None:
            if found is not None:
                self._question("run").set_value(format_colour_run(found))
                self._work_out()

        self.app.push_screen(ColourRunSheet(self._book, run), described)

    def action_cast_on(self) -> None:
        """Check a cast-on."""
        chosen, asked = self.chosen, self._asked
        if chosen is None or asked is None:
            self.app.push_screen(CastOnSheet())
            return
        self.app.push_screen(
            CastOnSheet(
                chosen.stitches,
                asked.question.tolerance,
                chosen.repeats,
                asked.question.repeat_length_mm,
            )
        )

    def action_enough(self) -> None:
        """Whether the yarn is enough."""
        chosen, asked = self.chosen, self._asked
        if chosen is None or asked is None:
            self.app.push_screen(YarnEnoughSheet(None))
            return
        self.app.push_screen(YarnEnoughSheet(chosen.yarn_per_stitch, chosen.stitches, asked.rounds))

    def action_join(self) -> None:
        """Where to join the next skein."""
        self.app.push_screen(JoinSheet(None if self._asked is None else self._asked.run))

    def action_leave(self) -> None:
        """Leave; nothing is begun."""
        self.app.pop_screen()


def _same(one: Candidate, other: Candidate | None) -> bool:
    return other is not None and (one.stitches, one.repeats, one.needle_mm) == (
        other.stitches,
        other.repeats,
        other.needle_mm,
    )
