"""At the needles: log a round, see where the colours go, and what to do about it.

Why so: the knitter has wool in her hands, looks up for two seconds and types
two keys.  The entry line keeps the focus; a number and Enter logs a round; a
letter is a key at once.  What is typed is on disk before anything is worked
out; the fit and the advice then run in a thread, so that typing never waits.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, ClassVar

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
from knitlog.tui.chart_data import ChartData, gather
from knitlog.tui.headlines import headline, mood
from knitlog.tui.modals.change import Change, ChangeSheet
from knitlog.tui.modals.confirm import ConfirmSheet
from knitlog.tui.modals.fix import Deeds, FixSheet
from knitlog.tui.modals.note import NoteSheet
from knitlog.tui.modals.rip_back import RipBackSheet
from knitlog.tui.modals.skein import Join, SkeinSheet
from knitlog.tui.open_project import Deed, OpenProject
from knitlog.tui.screens.base import COMMON_KEYS, KnitScreen
from knitlog.tui.screens.why import WhySheet
from knitlog.tui.widgets.advice_card import AdviceCard
from knitlog.tui.widgets.chart import ColourChart
from knitlog.tui.widgets.entry_line import EntryLine
from knitlog.tui.widgets.masthead import Masthead
from knitlog.tui.widgets.verdict import Verdict
from knitlog.tui.words import counted, places, plain
from knitlog.workbench import Look

if TYPE_CHECKING:
    from knitlog.journal.events import Position
    from knitlog.journal.project import ProjectState


class NeedlesScreen(KnitScreen):
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

    DEFAULT_CSS = """
    NeedlesScreen {
        background: $ground;
        & #middle { height: 1fr; }
        & ColourChart { width: 1fr; height: 1fr; }
        & AdviceCard { width: 33; height: 1fr; }
        &.-wide AdviceCard { width: 48; }
    }
    """

    def __init__(self, project: OpenProject, *, follow_every: float = 1.0) -> None:
        super().__init__()
        self.project = project
        self._follow_every = follow_every
        self._view: Look | None = None
        self._target: int | None = None
        self._sitting = False
        self._trouble = ""

    def compose(self) -> ComposeResult:
        """Facts, verdict, chart and advice, entry line, keys."""
        yield Masthead()
        yield Verdict()
        with Horizontal(id="middle"):
            yield ColourChart()
            yield AdviceCard()
        yield EntryLine()
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Show the project, and follow what other windows write."""
        self._show_state(self.project.state)
        self.query_one(EntryLine).field.focus()
        self.set_interval(self._follow_every, self._follow)

    # What is shown

    @property
    def view(self) -> Look | None:
        """The last look at the project; None before the first."""
        return self._view

    @property
    def round_to_log(self) -> int:
        """The round the entry line asks for."""
        return self._target or self.project.state.next_round

    def _show_state(self, state: ProjectState) -> None:
        facts = state.facts
        needle = "" if state.needle_mm is None else f" · {state.needle_mm:g} mm"
        planned = "" if facts.planned_rounds is None else f" of {facts.planned_rounds}"
        self.query_one(Masthead).show(
            state.name,
            f"round {state.last_round}{planned} · {state.stitches} stitches{needle}"
            f" · ±{facts.tolerance:g}",
        )
        self._ask_for_round()
        self._work_out(state)

    def _ask_for_round(self) -> None:
        state, number = self.project.state, self.round_to_log
        entry = state.entry(number)
        if state.finished:
            title = "Finished · u takes that back"
        elif entry is not None:
            title = f"Round {number} again · it was {places(entry.positions)}"
        elif number > state.next_round:
            title = f"Round {number} · {_unread(state.next_round, number - 1)}"
        else:
            title = f"Round {number} · where did the colour change?"
        self.query_one(EntryLine).ask_for(title)

    @work(thread=True, exclusive=True, group="work out")
    def _work_out(self, state: ProjectState) -> None:
        """Fit, show; then ask for advice, show: the verdict need not wait for the advice."""
        worker = get_current_worker()
        view = workbench.look(state, with_advice=False)
        chart = gather(view)
        if worker.is_cancelled:
            return
        self.app.call_from_thread(self._show_view, view, chart)
        if view.fit is None or state.finished:
            return
        from knitlog.advice import advise

        advice = advise(workbench.situation(state, view.fit))
        if not worker.is_cancelled:
            self.app.call_from_thread(self._show_view, replace(view, advice=advice), None)

    def _show_view(self, view: Look, chart: ChartData | None) -> None:
        if view.state is not self.project.state or not self.is_mounted:
            return  # something was logged meanwhile: a newer look is on its way
        self._view = view
        self.query_one(Verdict).show(headline(view), view.verdict, mood(view))
        self.query_one(AdviceCard).show(view)
        if chart is not None:
            self.query_one(ColourChart).show(chart, _home_words(view.state))

    # Doing

    def _do(self, deed: Deed, said: str = "") -> bool:
        """Do one thing to the journal and show what it made of the project."""
        try:
            state = self.project.do(deed)
        except JournalError as error:
            self.say(str(error), wrong=True)
            return False
        self._target = None
        self._show_state(state)
        if said:
            self.say(said)
        return True

    def say(self, sentence: str, *, wrong: bool = False) -> None:
        """Say one sentence above the entry line."""
        self.query_one(EntryLine).say(sentence, wrong=wrong)

    @on(EntryLine.Entered)
    def _entered(self, event: EntryLine.Entered) -> None:
        self._read_others()
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
            self._log(number, positions)
        else:
            self.app.push_screen(
                ConfirmSheet("A jump?", question, yes="Keep it", no="Type it again"),
                lambda keep: self._log(number, positions) if keep else None,
            )

    def _log(self, number: int, positions: list[Position]) -> None:
        said = f"Saved: round {number} at {places(positions)}."
        deed = partial(actions.log_round, positions=positions, round_number=number)
        if self._do(deed, said):
            self.query_one(EntryLine).clear()

    def action_fix(self) -> None:
        """Log what was done about it, the advice filled in."""
        state = self.project.state
        if not state.entries:
            self.say("Log a round first: a fix comes after a round.", wrong=True)
            return
        self.app.push_screen(FixSheet(state, self._view), self._fixed)

    def _fixed(self, deeds: Deeds | None) -> None:
        if deeds is None:
            return
        for deed in deeds.steps:
            if not self._do(deed):
                return
        self.say(f"Saved: {deeds.words}.")

    def action_note(self) -> None:
        """Write a note on the last round, or on the project before the first."""
        number = self.project.state.last_round or None
        self.app.push_screen(NoteSheet(number), partial(self._noted, number))

    def _noted(self, number: int | None, text: str | None) -> None:
        if text:
            self._do(partial(actions.add_note, text=text, round_number=number), "Saved the note.")

    def action_change(self) -> None:
        """Log another needle or stitch count."""
        state = self.project.state
        needle = "not said" if state.needle_mm is None else f"{state.needle_mm:g} mm"
        self.app.push_screen(
            ChangeSheet(
                next_round=state.next_round,
                needle=needle,
                stitches=state.stitches,
            ),
            self._changed,
        )

    def _changed(self, change: Change | None) -> None:
        if change is None:
            return
        words = []
        if change.needle_mm is not None:
            words.append(f"{change.needle_mm:g} mm needles")
            deed: Deed = partial(
                actions.change_needle, needle_mm=change.needle_mm, from_round=change.from_round
            )
            if not self._do(deed):
                return
        if change.stitches is not None:
            words.append(f"{change.stitches} stitches")
            deed = partial(
                actions.change_stitches, stitches=change.stitches, from_round=change.from_round
            )
            if not self._do(deed):
                return
        self.say(f"Saved: {' and '.join(words)} from round {change.from_round} on.")

    def action_skip(self) -> None:
        """Leave a round unread and go on to the next."""
        self._target = self.round_to_log + 1
        self._ask_for_round()

    def action_back(self) -> None:
        """Go back a round to log it again."""
        self._target = max(self.round_to_log - 1, 1)
        self._ask_for_round()

    def action_undo(self) -> None:
        """Take back the last thing logged."""
        label = self.project.state.undo_label
        self._do(actions.undo, f"Took back {label}." if label else "")

    def action_redo(self) -> None:
        """Bring back what was taken back."""
        label = self.project.state.redo_label
        self._do(actions.redo, f"Brought back {label}." if label else "")

    def action_rip_back(self) -> None:
        """Log whole rounds ripped back."""
        last = self.project.state.last_round
        if not last:
            self.say("There is no round to rip back.", wrong=True)
            return
        self.app.push_screen(RipBackSheet(last), self._ripped)

    def _ripped(self, to_round: int | None) -> None:
        if to_round is not None:
            self._do(
                partial(actions.rip_back, to_round=to_round),
                f"Saved: ripped back to round {to_round}.",
            )

    def action_join(self) -> None:
        """Log a new skein joined."""
        number = self.project.state.next_round
        self.app.push_screen(SkeinSheet(number), partial(self._joined, number))

    def _joined(self, number: int, join: Join | None) -> None:
        if join is not None:
            self._do(
                partial(actions.join_skein, round_number=number, stitch=join.stitch),
                f"Saved: a new skein joined in round {number}.",
            )

    def action_sitting(self) -> None:
        """Sit down to knit, or get up."""
        if self._sitting:
            done = self._do(actions.end_sitting, "Saved: the sitting ends.")
        else:
            done = self._do(actions.start_sitting, "Saved: the sitting begins. t ends it.")
        if done:
            self._sitting = not self._sitting

    def action_finish(self) -> None:
        """Ask, then log that the project is off the needles."""
        state = self.project.state
        self.app.push_screen(
            ConfirmSheet(
                "Off the needles?",
                f"End {state.name} after {counted(state.last_round, 'round')}? Undo takes it back.",
                yes="End it",
                no="Knit on",
            ),
            self._finished,
        )

    def _finished(self, sure: bool | None) -> None:
        if sure:
            self._do(actions.finish, "Saved: off the needles.")

    # Looking

    def action_why(self) -> None:
        """Show why."""
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

    def action_leave(self) -> None:
        """Clear the entry; if there is none, go back to the projects."""
        line = self.query_one(EntryLine)
        if line.field.value or self._target is not None:
            self._target = None
            line.clear()
            line.say("")
            self._ask_for_round()
        else:
            self.app.pop_screen()

    # Other windows

    @work(thread=True, group="follow")
    def _follow(self) -> None:
        try:
            changed = self.project.refresh()
        except JournalError as error:
            self.app.call_from_thread(self._in_trouble, str(error))
            return
        if changed:
            self.app.call_from_thread(self._others_wrote)

    def _read_others(self) -> None:
        try:
            if self.project.refresh():
                self._others_wrote()
        except JournalError:
            return  # saving says why

    def _others_wrote(self) -> None:
        self._trouble = ""
        self._show_state(self.project.state)
        self.say("Another window logged something: it is here too.")

    def _in_trouble(self, sentence: str) -> None:
        if sentence != self._trouble:
            self._trouble = sentence
            self.say(sentence, wrong=True)


def _unread(first: int, last: int) -> str:
    which = f"round {first}" if first == last else f"rounds {first} to {last}"
    return f"{which} left unread"


def _home_words(state: ProjectState) -> str:
    if 1 in state.facts.homes:
        return f"home {plain(state.facts.homes[1])}"
    first = state.entries[0].positions if state.entries else ()
    return f"home {plain(first[0].stitch)}" if first else "home"
