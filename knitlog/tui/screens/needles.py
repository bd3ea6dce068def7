"""At the needles: log a round, see where the colours go, and what to do about it.

Why so: the knitter has wool in her hands, looks up for two seconds and types
two keys.  The entry line keeps the focus; a number and Enter logs a round; a
letter is a key at once.  What is typed is on disk before anything is worked
out; the fit and the advice then run in a thread, so that typing never waits.
"""

from __future__ import annotations

from functools import partial
from math import inf
from time import perf_counter
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.widgets import Footer

from knitlog.analysis import analysis, next_round
from knitlog.analysis.analysis import Analysis
from knitlog.drift.fit_result import Break
from knitlog.journal import actions
from knitlog.journal.events import Position
from knitlog.journal.registry import units_of
from knitlog.report.verdict_words import (
    colours_sentence,
    doubt_words,
    next_sentence,
    on_track_words,
    verdict,
)
from knitlog.report.words import places, plain
from knitlog.tui.chart_data import ChartData, gather
from knitlog.tui.headlines import headlines, mood
from knitlog.tui.open_project import OpenProject
from knitlog.tui.rest import Rest
from knitlog.tui.screens.base import Masthead, common_keys
from knitlog.tui.screens.project_actions import ProjectActionsScreen
from knitlog.tui.widgets.advice_card import AdviceCard
from knitlog.tui.widgets.chart import ColourChart
from knitlog.tui.widgets.entry_line import EntryLine
from knitlog.tui.widgets.verdict import Verdict
from knitlog.typed.entry import Around, TypedRound, read_entry
from knitlog.typed.text import TypedError

if TYPE_CHECKING:
    from knitlog.advice import Remedy
    from knitlog.analysis.next_round import NextRound
    from knitlog.analysis.past import Past
    from knitlog.journal.project import ProjectState


_FAR = 100
"""Rounds ahead beyond which nothing is expected."""
_BORDERS = 6
"""Columns of the entry line that are not typed on."""
_SOON = 0.05
"""Seconds: a fit that took no longer the last time is made before the screen is drawn."""
_A_PICTURE = 0.02
"""Seconds to draw the screen, before the advice is begun."""


class NeedlesScreen(ProjectActionsScreen):
    """One project, being knitted."""

    WORDS = "At the needles"
    ABOUT = (
        "Log where the colour changed in each round. The chart is drawn as knitting charts "
        "are: round 1 at the bottom, stitch 1 at the right. A dot left of home fell past its "
        "place (stitches too small), a dot right of home fell short of it (too large)."
    )
    TYPED_KEYS = (
        (
            "37 Enter",
            "The colour changed at stitch 37, counted from the beginning of the round (worked "
            "flat: from the right edge, as seen from the right side).",
        ),
        ("+2 Enter", "Two stitches past the round below; -1.5 is one and a half short of it."),
        ("= Enter", "In line with the round below."),
        ("37 101 Enter", "Two colour changes in one round; 2: 101 is the second alone."),
        ("41 @5 Enter", "Round 5: the rounds between need no keys, nor readings."),
        ("15? Enter", "On track, or ease? The colour came at 15 just now; nothing is logged."),
    )
    HAS_CHART = True

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "f", "fix", "Fix", tooltip="Log what you did about it: the advice comes filled in."
        ),
        Binding("n", "note", "Note", tooltip="Write a note on the last round."),
        Binding("c", "change", "Change", tooltip="Log another needle, stitch count or tension."),
        Binding(
            "s",
            "skip",
            "Skip",
            show=False,
            tooltip="Leave this round unread and go on to the next.",
        ),
        Binding("b", "back", "Back", tooltip="Go back a round to log it again."),
        Binding("u,ctrl+z", "undo", "Undo", tooltip="Take back the last thing logged."),
        Binding("r,ctrl+y", "redo", "Redo", show=False, tooltip="Bring back what was taken back."),
        Binding("w", "why", "Why", tooltip="Why this advice, the other remedies, the numbers."),
        Binding("d", "doubtful", "Doubt", show=False, tooltip="Answer what is asked: log it."),
        Binding("l", "logbook", "Logbook", show=False, tooltip="Everything logged, in words."),
        Binding(
            "i",
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
        *common_keys("f4"),
    ]

    def __init__(self, project: OpenProject, *, follow_every: float = 1.0) -> None:
        super().__init__(project, follow_every=follow_every)
        self._advised: Remedy | None = None
        self._rest = Rest()
        self._fit_seconds = inf
        """How long the last fit took; none was made yet."""

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
        mm = state.needle_mm
        needle = "" if mm is None else f" · {units_of(facts).short_needle(mm)}"
        planned = "" if facts.planned_rounds is None else f" of {facts.planned_rounds}"
        self.query_one(Masthead).show(
            state.name,
            f"{self.unit} {state.last_round}{planned} · {state.stitches} stitches{needle}"
            f" · ±{facts.tolerance:g}",
        )
        if self.is_running and self._view is None:
            self._ask_for_round()
            self.call_after_refresh(self._work_out, state)  # she sees the screen first
        else:
            self._work_out(state)

    def _ask_for_round(self) -> None:
        state, number = self.project.state, self.round_to_log
        entry = state.entry(number)
        named, colours = f"{self.unit.capitalize()} {number}", ""
        if state.finished:
            title = "Finished · Ctrl+R looks back on it · u takes that back"
            colours = "nothing more to log"
        elif entry is not None:
            title = f"{named} again · it was {places(entry.positions)}"
        else:
            title = f"{named} · where did the colour change?"
            coming = self._coming(number)
            if coming is not None:
                title = next_sentence(coming, state).rstrip(".")
                colours = colours_sentence(coming, state, self.size.width - _BORDERS)
            if number > state.next_round:
                title += f" · {_unread(self.unit, state.next_round, number - 1)}"
        self.query_one(EntryLine).ask_for(title, self.unit, colours)

    def _coming(self, number: int) -> NextRound | None:
        """What to expect of a round, where the look shown is at the project as it stands."""
        view = self._view
        if view is None or view.state is not self.project.state:
            return None
        if view.next is not None and view.next.round == number:
            return view.next
        if number > view.state.last_round + _FAR:
            return None  # nobody knows, and it would take long to say so
        return view.coming(number)

    def _work_out(self, state: ProjectState) -> None:
        """Fit, show; then ask for advice, show: the verdict need not wait for the advice."""
        if self._fit_seconds <= _SOON and self._is_known(state):
            # quicker than a picture: one picture then shows the round and its verdict
            view, chart = self._fitted(state, self._past)
            self._show_view(view, chart)
            self.set_timer(_A_PICTURE, partial(self._advise_next, view))  # she sees it first
        else:
            self._ask_for_round()
            self._fit_and_ask_advice(state)

    def _fitted(self, state: ProjectState, past: Past | None) -> tuple[Analysis, ChartData]:
        """Fit, wherever this is called, and note how long it took."""
        if past is not None:
            past.beliefs(state)  # learnt once: no part of what a fit takes
        began = perf_counter()
        view = analysis.analyse(state, past=past, with_advice=False)
        if view.fit is not None:
            self._fit_seconds = perf_counter() - began
        return view, gather(view)

    @work(exclusive=True, group="work out")
    async def _fit_and_ask_advice(self, state: ProjectState) -> None:
        view, chart = await self.worked_out(partial(self._fitted, state, self._past))
        self._show_view(view, chart)
        await self._show_advice(view)

    def _advise_next(self, view: Analysis) -> None:
        if view.state is self.project.state:  # or what is newer is being worked out
            self._ask_advice(view)

    @work(exclusive=True, group="work out")
    async def _ask_advice(self, view: Analysis) -> None:
        await self._show_advice(view)

    async def _show_advice(self, view: Analysis) -> None:
        if view.fit is not None and not view.state.finished:
            ask = partial(analysis.advised, view, previous=self._advised)
            self._show_view(await self.worked_out(ask), None)

    @property
    def _past(self) -> Past | None:
        past: Past | None = getattr(self.app, "past", None)
        return past

    def _is_known(self, state: ProjectState) -> bool:
        """Whether what her finished projects say of this one need not be worked out first."""
        return self._past is None or self._past.knows(state)

    def _show_view(self, view: Analysis, chart: ChartData | None) -> None:
        if view.state is not self.project.state:
            return  # something was logged meanwhile: a newer look is on its way
        self._view = view
        if view.advice is not None:
            self._advised = view.advice.recommended.remedy
        self.query_one(Verdict).show(headlines(view), verdict(view), mood(view))
        self.query_one(AdviceCard).show(view)
        self._ask_for_round()
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
        text = event.text.strip()
        only_asks = text.endswith("?")

        def around(other: int | None) -> Around:
            coming = self._coming(other or number)
            places = () if coming is None else coming.changes
            return state.around(other or number, expected={p.change: p.mean for p in places})

        try:
            typed = read_entry(text.removesuffix("?"), around)
        except TypedError as error:
            self.say(self.in_her_words(str(error)), wrong=True)
            return
        if only_asks:
            self._say_on_track(typed, typed.round or number)
            return
        if typed.round is not None:
            self._target = number = typed.round
        positions = [Position(stitch=s, change=c) for c, s in typed.places.items()]
        question = None
        if self._view is not None and not state.finished:
            question = next_round.doubt(self._view, positions, number)
        if question is None:
            self._log(positions)
        else:
            self._ask_about(positions, doubt_words(question))

    def _say_on_track(self, typed: TypedRound, number: int) -> None:
        coming = self._coming(number)
        if coming is None:
            self.say(f"Log two {self.unit}s or more: then there is a place to hold it against.")
            return
        self.say(on_track_words(coming, typed.places, self.project.state))
        self.query_one(EntryLine).clear()

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
        asked = self._asked_of_the_hand(chosen or self.project.state.next_round)
        log = partial(actions.log_round, positions=positions, round_number=chosen)
        if self._do(partial(log, **asked)):
            logged = chosen or self.project.state.last_round
            saved = f"Saved: {self.unit} {logged} at {places(positions)}."
            rest = self._rest.logged(self.project.state.last_at)
            self.say(f"{saved} {rest}" if rest else saved)
            self.query_one(EntryLine).clear()

    def _asked_of_the_hand(self, number: int) -> dict[str, float]:
        """What the prompt asked for in this round: kept with it, at no key more."""
        view, coming = self._view, self._coming(number)
        if view is None or view.advice is None or coming is None or coming.aim is None:
            return {}
        percent = view.advice.recommended.details.get("tension_percent")
        told = {"aim_stitch": float(coming.aim)}
        return told if percent is None else {**told, "tension_percent": float(percent)}

    def action_skip(self) -> None:
        """Leave a round unread and go on to the next."""
        self._target = self.round_to_log + 1
        self._ask_for_round()

    def action_back(self) -> None:
        """Go back a round to log it again."""
        self._target = max(self.round_to_log - 1, 1)
        self._ask_for_round()

    def action_doubtful(self) -> None:
        """Answer what is asked: log a round again, or the change nobody logged from its round."""
        asked = () if self._view is None else self._view.questions
        question = next((one for one in asked if one.round), None)
        if question is None or question.round is None:
            self.say(f"No {self.unit} is in doubt.")
        elif isinstance(question.about, Break):
            self.ask_for_change(question.round)
        else:
            self._target = question.round
            self._ask_for_round()

    # Looking

    def action_logbook(self) -> None:
        """Show everything logged, in words."""
        from knitlog.tui.modals.reading import LogbookSheet

        self.app.push_screen(LogbookSheet(self.project.state))

    def action_why(self) -> None:
        """Show why."""
        from knitlog.tui.modals.reading import WhySheet

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
