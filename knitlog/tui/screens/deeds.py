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
from knitlog.report.words import counted
from knitlog.tui.open_project import Deed, OpenProject
from knitlog.tui.screens.following import FollowingScreen

if TYPE_CHECKING:
    from knitlog.tui.modals.change import Change
    from knitlog.tui.modals.facts import FactsChange
    from knitlog.tui.modals.fix import Deeds
    from knitlog.tui.modals.skein import Join
    from knitlog.workbench import Look


class DeedsScreen(FollowingScreen):
    """A screen on which things can be done to one project."""

    def __init__(self, project: OpenProject, *, follow_every: float = 1.0) -> None:
        super().__init__(project, follow_every=follow_every)
        self._view: Look | None = None
        self._target: int | None = None
        """The round to be logged, where it is not the next."""
        self._sitting = False

    @property
    def view(self) -> Look | None:
        """The last look at the project; None before the first."""
        return self._view

    @property
    def unit(self) -> str:
        """What is logged: a round, or a row where it is worked flat."""
        return "row" if self.project.state.facts.flat else "round"

    def _do(self, deed: Deed, said: str = "") -> bool:
        """Do one thing to the journal and show what it made of the project."""
        try:
            state = self.project.do(deed)
        except JournalError as error:
            self.say(str(error), wrong=True)
            return False
        self._target = None
        self.showing(state)
        self.show_state(state)
        if said:
            self.say(said)
        return True

    def action_fix(self) -> None:
        """Log what was done about it, the advice filled in."""
        from knitlog.tui.modals.fix import FixSheet

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
        from knitlog.tui.modals.note import NoteSheet

        number = self.project.state.last_round or None
        self.app.push_screen(NoteSheet(number), partial(self._noted, number))

    def _noted(self, number: int | None, text: str | None) -> None:
        if text:
            self._do(partial(actions.add_note, text=text, round_number=number), "Saved the note.")

    def action_change(self) -> None:
        """Log another needle or stitch count."""
        from knitlog.tui.modals.change import ChangeSheet

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
        self.say(f"Saved: {' and '.join(words)} from {self.unit} {change.from_round} on.")

    def action_facts(self) -> None:
        """Change the project's facts."""
        from knitlog.tui.modals.facts import FactsSheet

        self.app.push_screen(FactsSheet(self.project.state.facts), self._facts_changed)

    def _facts_changed(self, change: FactsChange | None) -> None:
        if change is not None and change.changes:
            self._do(partial(actions.change_facts, **change.changes), "Saved the facts.")

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
        from knitlog.tui.modals.rip_back import RipBackSheet

        last = self.project.state.last_round
        if not last:
            self.say("There is no round to rip back.", wrong=True)
            return
        self.app.push_screen(RipBackSheet(last), self._ripped)

    def _ripped(self, to_round: int | None) -> None:
        if to_round is not None:
            self._do(
                partial(actions.rip_back, to_round=to_round),
                f"Saved: ripped back to {self.unit} {to_round}.",
            )

    def action_join(self) -> None:
        """Log a new skein joined."""
        from knitlog.tui.modals.skein import SkeinSheet

        number = self.project.state.next_round
        self.app.push_screen(SkeinSheet(number), partial(self._joined, number))

    def _joined(self, number: int, join: Join | None) -> None:
        if join is not None:
            self._do(
                partial(actions.join_skein, round_number=number, stitch=join.stitch),
                f"Saved: a new skein joined in {self.unit} {number}.",
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
        from knitlog.tui.modals.confirm import ConfirmSheet

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
