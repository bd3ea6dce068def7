"""What can be logged beside a round: fixes, notes, changes, undo, the end.

Why apart from the screen at the needles: that one lays out and follows; this one
asks with a sheet, and writes what the sheet returns to the journal.  Each sheet is loaded
when it is first asked for, so that the screen is there the sooner.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from knitlog.journal import actions
from knitlog.journal.errors import JournalError
from knitlog.journal.registry import units_of
from knitlog.report.words import counted, one_round
from knitlog.tui.open_project import Action, OpenProject
from knitlog.tui.screens.following import FollowingScreen

if TYPE_CHECKING:
    from collections.abc import Sequence

    from knitlog.analysis.analysis import Analysis
    from knitlog.tui.modals.facts_sheet import Changes
    from knitlog.tui.modals.fix import Done
    from knitlog.tui.modals.project_forms import Change, Join


class ProjectActionsScreen(FollowingScreen):
    """A screen on which things can be done to one project."""

    def __init__(self, project: OpenProject, *, follow_every: float = 1.0) -> None:
        super().__init__(project, follow_every=follow_every)
        self._view: Analysis | None = None
        self._target: int | None = None
        """The round to be logged, where it is not the next."""

    @property
    def view(self) -> Analysis | None:
        """The last look at the project; None before the first."""
        return self._view

    @property
    def unit(self) -> str:
        """What is logged: a round, or a row where it is worked flat."""
        return one_round(self.project.state.facts)

    def _do(self, action: Action, said: str = "") -> bool:
        """Do one thing to the journal and show what it made of the project."""
        try:
            state = self.project.do(action)
        except JournalError as error:
            self.say(self.in_her_words(str(error)), wrong=True)
            return False
        self._target = None
        self.showing(state)
        try:
            self.show_state(state)
        except Exception as error:  # it is saved: what cannot be shown must not have it typed again
            self.app._handle_exception(error)
        if said:
            self.say(said)
        return True

    def action_fix(self) -> None:
        """Log what was done about it, the advice filled in."""
        from knitlog.tui.modals.fix import FixSheet

        state = self.project.state
        if not state.entries:
            self.say(f"Log a {self.unit} first: a fix comes after a {self.unit}.", wrong=True)
            return
        self.app.push_screen(FixSheet(state, self._view), self._fixed)

    def _fixed(self, done: Done | None) -> None:
        if done is not None:
            self._do_all(done.steps, done.words)

    def _do_all(self, doings: Sequence[actions.Doing], words: str) -> None:
        self._do(partial(actions.together, doings=doings), f"Saved: {words}.")

    def action_note(self) -> None:
        """Write a note on the last round, or on the project before the first."""
        from knitlog.tui.modals.project_forms import NoteSheet

        number = self.project.state.last_round or None
        where = "on the project" if number is None else f"on {self.unit} {number}"
        self.app.push_screen(NoteSheet(where), partial(self._noted, number))

    def _noted(self, number: int | None, text: str | None) -> None:
        if text:
            self._do(partial(actions.add_note, text=text, round_number=number), "Saved the note.")

    def action_change(self) -> None:
        """Log another needle, stitch count or tension."""
        self.ask_for_change(self.project.state.next_round)

    def ask_for_change(self, first_round: int) -> None:
        """Ask what changed, by what is filled in from ``first_round`` on."""
        from knitlog.tui.modals.project_forms import ChangeSheet

        state = self.project.state
        worked = state.stint_of(first_round)
        mm, given = worked.needle_mm, worked.needle_given
        needle = "not said" if mm is None else units_of(state.facts).needle(mm, given)
        self.app.push_screen(
            ChangeSheet(
                unit=self.unit,
                next_round=first_round,
                needle=needle,
                stitches=state.stitches,
                tension=state.tension_percent,
            ),
            self._changed,
        )

    def _changed(self, change: Change | None) -> None:
        if change is None:
            return
        from knitlog.tui.modals.fix import changes_from

        changed = changes_from(
            change.from_round,
            needle=change.needle,
            stitches=change.stitches,
            tension_percent=change.tension_percent,
        )
        words = " and ".join(what for what, _ in changed)
        steps = [step for _, step in changed]
        self._do_all(steps, f"{words} from {self.unit} {change.from_round} on")

    def action_facts(self) -> None:
        """Change the project's facts."""
        from knitlog.tui.modals.facts_sheet import FactsSheet

        self.app.push_screen(FactsSheet(self.project.state), self._facts_changed)

    def _facts_changed(self, changes: Changes | None) -> None:
        if changes:
            self._do(partial(actions.change_facts, **changes), "Saved the facts.")

    def action_undo(self) -> None:
        """Take back the last thing logged."""
        label = self.project.state.undo_label
        self._do(actions.undo, self.in_her_words(f"Took back {label}.") if label else "")

    def action_redo(self) -> None:
        """Bring back what was taken back."""
        label = self.project.state.redo_label
        self._do(actions.redo, self.in_her_words(f"Brought back {label}.") if label else "")

    def action_rip_back(self) -> None:
        """Log whole rounds ripped back."""
        from knitlog.tui.modals.project_forms import RipBackSheet

        last = self.project.state.last_round
        if not last:
            self.say(f"There is no {self.unit} to rip back.", wrong=True)
            return
        self.app.push_screen(RipBackSheet(last, self.unit), self._ripped)

    def _ripped(self, to_round: int | None) -> None:
        if to_round is not None:
            self._do(
                partial(actions.rip_back, to_round=to_round),
                f"Saved: ripped back to {self.unit} {to_round}.",
            )

    def action_join(self) -> None:
        """Log a new skein joined."""
        from knitlog.tui.modals.project_forms import SkeinSheet

        number = self.project.state.next_round
        self.app.push_screen(SkeinSheet(f"{self.unit} {number}"), partial(self._joined, number))

    def _joined(self, number: int, join: Join | None) -> None:
        if join is not None:
            self._do(
                partial(actions.join_skein, round_number=number, stitch=join.stitch),
                f"Saved: a new skein joined in {self.unit} {number}.",
            )

    def action_sitting(self) -> None:
        """Sit down to knit, or get up."""
        self.read_others()
        if self.project.state.sitting_open:
            self._do(actions.end_sitting, "Saved: the sitting ends.")
        else:
            self._do(actions.start_sitting, "Saved: the sitting begins. t ends it.")

    def action_finish(self) -> None:
        """Ask, then log that the project is off the needles."""
        from knitlog.tui.modals.confirm import ConfirmSheet

        state = self.project.state
        self.app.push_screen(
            ConfirmSheet(
                "Off the needles?",
                f"End {state.name} after {counted(state.last_round, self.unit)}? "
                "Undo takes it back.",
                yes="End it",
                no="Knit on",
            ),
            self._finished,
        )

    def _finished(self, sure: bool | None) -> None:
        if sure:
            self._do(actions.finish, "Saved: off the needles.")
