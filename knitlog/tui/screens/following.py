"""A screen on one project that follows what is written to it elsewhere.

Why by looking once a second: the journal is a plain file that any window may write to, and
looking whether it has grown costs next to nothing.  Two screens of one window share an open
project, so each remembers which state it shows rather than whether it was the one to read.
"""

from __future__ import annotations

from abc import abstractmethod
from typing import TYPE_CHECKING

from textual import work

from knitlog.journal.errors import JournalError
from knitlog.tui.screens.base import KnitScreen

if TYPE_CHECKING:
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

    @abstractmethod
    def say(self, sentence: str, *, wrong: bool = False) -> None:
        """Say one sentence to the knitter."""

    @abstractmethod
    def show_state(self, state: ProjectState) -> None:
        """Show the project as it now stands."""

    def showing(self, state: ProjectState) -> None:
        """Remember what is shown, so that it is not taken for news."""
        self._shows = state

    def on_mount(self) -> None:
        """Follow what others write."""
        self.set_interval(self._follow_every, self._follow)

    @work(thread=True, group="follow")
    def _follow(self) -> None:
        try:
            self.project.refresh()
        except JournalError as error:
            self.app.call_from_thread(self._in_trouble, str(error))
            return
        if self.project.state is not self._shows:
            self.app.call_from_thread(self._catch_up)

    def read_others(self) -> None:
        """Read what others wrote at once; if that cannot be, saving says why."""
        try:
            self.project.refresh()
        except JournalError:
            return
        self._catch_up()

    def _catch_up(self) -> None:
        state = self.project.state
        if state is self._shows or not self.is_attached:
            return
        self._trouble = ""
        self.showing(state)
        self.show_state(state)
        if self._heard != self.project.times_others_wrote:
            self._heard = self.project.times_others_wrote
            self.say(OTHERS_WROTE)

    def _in_trouble(self, sentence: str) -> None:
        if sentence != self._trouble and self.is_attached:
            self._trouble = sentence
            self.say(sentence, wrong=True)
