"""A screen on one project that follows what is written to it elsewhere.

Why by looking once a second: the journal is a plain file that any window may write to, and
looking whether it has grown costs next to nothing.  Two screens of one window share an open
project, so each remembers which state it shows rather than whether it was the one to read.
"""

from __future__ import annotations

from abc import abstractmethod
from typing import TYPE_CHECKING

from textual import work
from textual.widgets import Static

from knitlog.journal.errors import JournalError
from knitlog.report.words import in_rows
from knitlog.tui.screens.base import KnitScreen
from knitlog.typed.text import as_sentence

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from knitlog.journal.project import ProjectState
    from knitlog.tui.open_project import OpenProject

OTHERS_WROTE = "Another window logged something: it is here too."


class FollowingScreen(KnitScreen):
    """Shows a project again when another window, or another screen, has written to it."""

    def __init__(self, project: OpenProject, *, follow_every: float = 1.0) -> None:
        """Follow ``project``, looking every so many seconds."""
        super().__init__()
        self.project = project
        """The project it is on."""
        self._follow_every = follow_every
        self._shows: ProjectState = project.state
        self._heard = project.times_others_wrote
        self._trouble = ""

    DEFAULT_CSS = """
    FollowingScreen #said.-line {
        height: auto; max-height: 3; padding: 0 1; color: $ink; display: none;
        &.-shown { display: block; }
        &.-wrong { color: $act; text-style: bold; }
    }
    """

    def say(self, sentence: str, *, wrong: bool = False) -> None:
        """Say one sentence to the knitter, in :meth:`said_line`."""
        said = self.query_one("#said", Static)
        said.update(f"! {sentence}" if wrong else sentence)
        said.set_class(bool(sentence), "-shown")
        said.set_class(wrong, "-wrong")

    def said_line(self) -> Static:
        """A line above the keys for what was done, hidden until there is something to say."""
        return Static(id="said", classes="-line", markup=False)

    @work(exclusive=True, group="file")
    async def make_file(self, make: Callable[[], Path], then: str = "") -> None:
        """Write a file in a thread, and say where it is."""
        try:
            path = await self.worked_out(make)
        except ValueError as error:
            self.say(as_sentence(error), wrong=True)
        else:
            self.say(f"Wrote {path}{then}.")

    @abstractmethod
    def show_state(self, state: ProjectState) -> None:
        """Show the project as it now stands."""

    def in_her_words(self, words: str) -> str:
        """Rounds are rows where the work is flat."""
        return in_rows(words, self.project.state.facts.flat)

    def showing(self, state: ProjectState) -> None:
        """Remember what is shown, so that it is not taken for news."""
        self._shows = state

    def on_mount(self) -> None:
        """Follow what others write."""
        self.set_interval(self._follow_every, self._follow)

    @work(exclusive=True, group="follow")
    async def _follow(self) -> None:
        try:
            await self.worked_out(self.project.refresh, in_turn=False)
        except JournalError as error:
            self._in_trouble(str(error))
            return
        self._catch_up()

    def read_others(self) -> None:
        """Read what others wrote at once; if that cannot be, saving says why."""
        try:
            self.project.refresh()
        except JournalError:
            return
        self._catch_up()

    def _catch_up(self) -> None:
        state = self.project.state
        if state is self._shows:
            return
        self._trouble = ""
        self.showing(state)
        self.show_state(state)
        if self._heard != self.project.times_others_wrote:
            self._heard = self.project.times_others_wrote
            self.say(OTHERS_WROTE)

    def _in_trouble(self, sentence: str) -> None:
        if sentence != self._trouble:
            self._trouble = sentence
            self.say(sentence, wrong=True)
