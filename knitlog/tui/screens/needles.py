"""At the needles: log a round, see where the colours go, and what to do about it.

Why so: the knitter has wool in her hands, looks up for two seconds and types
two keys.  The entry line keeps the focus; a number and Enter logs a round; a
letter is a key at once.  What is typed is on disk before anything is worked
out; the fit and the advice then run in a thread, so that typing never waits.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, ClassVar, TypeVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.widgets import Footer
from textual.worker import get_current_worker

from knitlog import workbench
from knitlog.journal import actions
from knitlog.journal.entry import parse_entry
from knitlog.journal.errors import JournalError
from knitlog.report.words import places, plain
from knitlog.tui.chart_data import ChartData, gather
from knitlog.tui.headlines import headlines, mood
from knitlog.tui.open_project import OpenProject
from knitlog.tui.screens.base import COMMON_KEYS
from knitlog.tui.screens.deeds import DeedsScreen
from knitlog.tui.widgets.advice_card import AdviceCard
from knitlog.tui.widgets.chart import ColourChart
from knitlog.tui.widgets.entry_line import EntryLine
from knitlog.tui.widgets.masthead import Masthead
from knitlog.tui.widgets.verdict import Verdict
from knitlog.workbench import Look

if TYPE_CHECKING:
    from collections.abc import Callable

    from knitlog.advice import Remedy
    from knitlog.journal.events import Position
    from knitlog.journal.project import ProjectState
    from knitlog.tui.history import History


_Told = TypeVar("_Told")
_SOON_FITTED = 1000
"""Rounds up to which a fit takes less time than drawing the screen."""


class NeedlesScreen(DeedsScreen):
    """One project, being knitted."""

    WORDS = "At the needles"
    ABOUT = (
        "Log where the colour changed in each round. The chart is drawn as knitting charts "
        "are: round 1 at the bottom, stitch 1 at the right. A dot left of home fell past its "
        "place (stitches too small), a dot right of home fell short of it (too large)."
    )
    TYPED_KEYS = (
        ("37 Enter", "The colour changed at stitch 37, counted from the beginning of the round."),
        ("+2 Enter", "Two stitches past the round below; -1.5 is one and a half short of it."),
        ("= Enter", "In line with the round below."),
        ("37 101 Enter", "Two colour changes in one round."),
    )
    HAS_CHART = True

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "f", "fix", "Fix", tooltip="Log what you did about it: the advice comes filled in."
        ),
        Binding("n", "note", "Note", tooltip="Write a note on the last round."),
        Binding("c", "change", "Change", tooltip="Log another needle or stitch count."),
        Binding("s", "skip", "Skip", tooltip="Leave this round unread and go on to the next."),
        Binding("b", "back", "Back", tooltip="Go back a round to log it again."),
        Binding("u,ctrl+z", "undo", "Undo", tooltip="Take back the last thing logged."),
        Binding("r,ctrl+y", "redo", "Redo", tooltip="Bring back what was taken back."),
        Binding("w", "why", "Why", tooltip="Why this advice, the other remedies, the numbers."),
        Binding("d", "doubtful", "Doubt", show=False, tooltip="Log the round in doubt again."),
        Binding("l", "logbook", "Logbook", show=False, tooltip="Everything logged, in words."),
        Binding(
            "p",
            "facts",
            "Facts",
            show=False,
            tooltip="Change the facts: tolerance, plan, minutes of work.",
        ),
        Binding("x", "rip_back", "Rip back", show=False, tooltip="Log whole rounds ripped back."),
        Binding("j", "join", "Join", show=False, tooltip="Log a new skein joined."),
        Binding("t", "sitting", "Sitting", show=False, tooltip="Sit down to knit, or get up."),
        Binding("e", "finish", "End", show=False, tooltip="The project is off the needles."),
        Binding("z", "whole", "Whole", show=False, tooltip="The whole project at a glance."),
        Binding("up", "scroll(1)", "Newer", show=False, tooltip="Scroll to newer rounds."),
        Binding("down", "scroll(-1)", "Older", show=False, tooltip="Scroll to older rounds."),
        Binding("pageup", "page(1)", "Newer", show=False, tooltip="A screenful newer."),
        Binding("pagedown", "page(-1)", "Older", show=False, tooltip="A screenful older."),
        Binding("ctrl+home", "newest", "Newest", show=False, tooltip="To the newest round."),
        Binding("ctrl+end", "first", "First", show=False, tooltip="To round 1."),
        Binding("escape", "leave", "Projects", show=False, tooltip="Clear the entry, or leave."),
        *COMMON_KEYS,
    ]

    def __init__(self, project: OpenProject, *, follow_every: float = 1.0) -> None:
        super().__init__(project, follow_every=follow_every)
        self._advised: Remedy | None = None

    def compose(self) -> ComposeResult:
        """Facts, verdict, chart and advice, entry line, keys."""
        yield Masthead()
        yield Verdict()
        with Horizontal():
            yield ColourChart()
            yield AdviceCard()
        yield EntryLine()
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Show the project."""
        self.show_state(self.project.state)
        self.query_one(EntryLine).field.focus()

    # What is shown

    @property
    def round_to_log(self) -> int:
        """The round the entry line asks for."""
        return self._target or self.project.state.next_round

    def show_state(self, state: ProjectState) -> None:
        """Show the project as it now stands, and set to work on what it means."""
        facts = state.facts
        needle = "" if state.needle_mm is None else f" · {state.needle_mm:g} mm"
        planned = "" if facts.planned_rounds is None else f" of {facts.planned_rounds}"
        self.query_one(Masthead).show(
            state.name,
            f"{self.unit} {state.last_round}{planned} · {state.stitches} stitches{needle}"
            f" · ±{facts.tolerance:g}",
        )
        self._ask_for_round()
        if self.is_running and self._view is None:
            self.call_after_refresh(self._work_out, state)  # she sees the screen first
        else:
            self._work_out(state)

    def _ask_for_round(self) -> None:
        state, number = self.project.state, self.round_to_log
        entry = state.entry(number)
        named = f"{self.unit.capitalize()} {number}"
        if state.finished:
            title = "Finished · u takes that back"
        elif entry is not None:
            title = f"{named} again · it was {places(entry.positions)}"
        elif number > state.next_round:
            title = f"{named} · {_unread(self.unit, state.next_round, number - 1)}"
        else:
            title = f"{named} · where did the colour change?"
        self.query_one(EntryLine).ask_for(title)

    def _work_out(self, state: ProjectState) -> None:
        """Fit, show; then ask for advice, show: the verdict need not wait for the advice."""
        if self._view is not None and len(state.entries) <= _SOON_FITTED:
            # quicker than a picture: one picture then shows the round and its verdict
            view, chart = self._fitted(state)
            self._show_view(view, chart)
            self._ask_advice(state, view)
        else:
            self._fit_and_ask_advice(state)

    def _fitted(self, state: ProjectState) -> tuple[Look, ChartData]:
        prior = self._from_past(lambda history: history.prior(state))
        view = workbench.look(state, with_advice=False, prior=prior)
        return view, gather(view)

    @work(thread=True, exclusive=True, group="work out")
    def _fit_and_ask_advice(self, state: ProjectState) -> None:
        worker = get_current_worker()
        view, chart = self._fitted(state)
        if worker.is_cancelled:
            return
        self.app.call_from_thread(self._show_view, view, chart)
        self._advise(state, view)

    @work(thread=True, exclusive=True, group="work out")
    def _ask_advice(self, state: ProjectState, view: Look) -> None:
        self._advise(state, view)

    def _advise(self, state: ProjectState, view: Look) -> None:
        """Ask for advice, in a worker, and show it."""
        if view.fit is None or state.finished:
            return
        from knitlog.advice import advise

        try:
            limits = self._from_past(lambda history: history.limits(state))
            situation = workbench.situation(state, view.fit, limits=limits)
            previous = self._advised or workbench.remedy_last_time(situation)
            view = replace(view, advice=advise(situation, previous=previous))
        except ValueError as error:  # one sentence, such as a cost that cannot be
            view = replace(view, problems=(*view.problems, str(error)))
        if not get_current_worker().is_cancelled:
            self.app.call_from_thread(self._show_view, view, None)

    def _from_past(self, ask: Callable[[History], _Told]) -> _Told | None:
        """What her finished projects say; a folder that cannot be read says nothing."""
        history: History | None = getattr(self.app, "history", None)
        try:
            return None if history is None else ask(history)
        except JournalError:
            return None

    def _show_view(self, view: Look, chart: ChartData | None) -> None:
        if view.state is not self.project.state:
            return  # something was logged meanwhile: a newer look is on its way
        if not self.query("#headline"):
            return  # the screen is being left
        self._view = view
        if view.advice is not None:
            self._advised = view.advice.recommended.remedy
        self.query_one(Verdict).show(headlines(view), view.verdict, mood(view))
        self.query_one(AdviceCard).show(view)
        if chart is not None:
            self.query_one(ColourChart).show(chart, _home_words(view.state), self.unit)

    # Doing

    def say(self, sentence: str, *, wrong: bool = False) -> None:
        """Say one sentence above the entry line."""
        self.query_one(EntryLine).say(sentence, wrong=wrong)

    @on(EntryLine.Entered)
    def _entered(self, event: EntryLine.Entered) -> None:
        self.read_others()
        state, number = self.project.state, self.round_to_log
        try:
            positions = parse_entry(
                event.text,
                state.stint_of(number).stitches,
                state.below(number),
                flat=state.facts.flat,
            )
        except JournalError as error:
            self.say(str(error), wrong=True)
            return
        question = None
        if self._view is not None and not state.finished:
            question = workbench.doubt(self._view, positions, number)
        if question is None:
            self._log(positions)
        else:
            self._ask_about(positions, question)

    def _ask_about(self, positions: list[Position], question: str) -> None:
        from knitlog.tui.modals.confirm import ConfirmSheet

        self.app.push_screen(
            ConfirmSheet("A jump?", question, yes="Keep it", no="Type it again"),
            lambda keep: self._log(positions) if keep else None,
        )

    def _log(self, positions: list[Position]) -> None:
        # the next round is whatever is next once the journal is locked: another window may
        # have logged one while she was asked
        chosen = self._target
        if self._do(partial(actions.log_round, positions=positions, round_number=chosen)):
            logged = chosen or self.project.state.last_round
            self.say(f"Saved: {self.unit} {logged} at {places(positions)}.")
            self.query_one(EntryLine).clear()

    def action_skip(self) -> None:
        """Leave a round unread and go on to the next."""
        self._target = self.round_to_log + 1
        self._ask_for_round()

    def action_back(self) -> None:
        """Go back a round to log it again."""
        self._target = max(self.round_to_log - 1, 1)
        self._ask_for_round()

    def action_doubtful(self) -> None:
        """Go to the round in doubt, to log it again."""
        asked = () if self._view is None else self._view.questions
        number = next((question.round for question in asked if question.round), None)
        if number is None:
            self.say(f"No {self.unit} is in doubt.")
            return
        self._target = number
        self._ask_for_round()

    # Looking

    def action_logbook(self) -> None:
        """Show everything logged, in words."""
        from knitlog.tui.screens.logbook import LogbookSheet

        self.app.push_screen(LogbookSheet(self.project.state))

    def action_why(self) -> None:
        """Show why."""
        from knitlog.tui.screens.why import WhySheet

        if self._view is not None:
            self.app.push_screen(WhySheet(self._view))

    def action_whole(self) -> None:
        """The whole project at a glance, or one round a line."""
        self.query_one(ColourChart).toggle_whole()

    def action_scroll(self, rounds: int) -> None:
        """Scroll the chart."""
        self.query_one(ColourChart).scroll_rounds(rounds)

    def action_page(self, pages: int) -> None:
        """Scroll the chart by screenfuls."""
        self.query_one(ColourChart).scroll_pages(pages)

    def action_newest(self) -> None:
        """Scroll to the newest round."""
        self.query_one(ColourChart).scroll_newest()

    def action_first(self) -> None:
        """Scroll to round 1."""
        self.query_one(ColourChart).scroll_first()

    async def action_leave(self) -> None:
        """Clear the entry; if there is none, go back to the projects."""
        line = self.query_one(EntryLine)
        if line.field.value or self._target is not None:
            self._target = None
            line.clear()
            line.say("")
            self._ask_for_round()
        else:
            await self.run_action("app.projects")


def _unread(unit: str, first: int, last: int) -> str:
    which = f"{unit} {first}" if first == last else f"{unit}s {first} to {last}"
    return f"{which} left unread"


def _home_words(state: ProjectState) -> str:
    if 1 in state.facts.homes:
        return f"home {plain(state.facts.homes[1])}"
    first = state.entries[0].positions if state.entries else ()
    return f"home {plain(first[0].stitch)}" if first else "home"
