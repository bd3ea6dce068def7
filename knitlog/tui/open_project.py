"""An open project as the screens hold it: one journal, one lock around it.

Why the lock: rounds are logged from the screen while another window's rounds
are read in a thread beside it, and the two must not pass each other.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

from knitlog.journal.project import ProjectState
from knitlog.journal.store import JournalFile

Action = Callable[[JournalFile], ProjectState]
"""Does one thing to a journal, such as logging a round, and gives the state after it."""


class OpenProject:
    """A journal that may be written here and followed from a thread."""

    def __init__(self, journal: JournalFile) -> None:
        self._journal = journal
        self._lock = threading.Lock()
        self._times_others_wrote = 0

    @property
    def path(self) -> Path:
        """The journal's file."""
        return self._journal.path

    @property
    def state(self) -> ProjectState:
        """The project as last read or written."""
        return self._journal.state

    @property
    def times_others_wrote(self) -> int:
        """How often something was found that another window had written."""
        return self._times_others_wrote

    def do(self, action: Action) -> ProjectState:
        """Do one thing; on return it is on disk.

        Raises:
            JournalError: it was not saved; the sentence says why.
        """
        with self._lock:
            return action(self._journal)

    def refresh(self) -> bool:
        """Read what other windows have written; True if there was anything.

        Raises:
            JournalError: the file is gone or cannot be read.
        """
        with self._lock:
            changed = self._journal.refresh()
            self._times_others_wrote += changed
            return changed
