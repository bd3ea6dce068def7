"""What her finished projects say, kept for as long as the app is open.

Learning reads every finished project, so it is done once, in a thread of whoever asks
first; a look at a project then only asks what it means for that one.
"""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from knitlog.advice import Limits
    from knitlog.drift import Prior
    from knitlog.journal.library import Library
    from knitlog.journal.project import ProjectState
    from knitlog.workbench.hands import Learnt

Facts = tuple[object, ...]


class History:
    """Her history, or the choice to do without it."""

    def __init__(self, library: Library) -> None:
        self._library = library
        self._lock = threading.Lock()
        self._learnt: dict[str | None, Learnt] = {}
        self._priors: dict[Facts, Prior | None] = {}
        self.without = False
        """True while she does without it."""

    def hands(self, besides: str | None = None) -> Learnt:
        """Return what is known of her hands; ``besides`` leaves one project out.

        Raises:
            JournalError: the folder cannot be read.

        """
        from knitlog.workbench.hands import learn_hands

        with self._lock:
            if besides not in self._learnt:
                self._learnt[besides] = learn_hands(self._library, besides=besides)
            return self._learnt[besides]

    def prior(self, state: ProjectState) -> Prior | None:
        """Return what is believed of ``state`` beforehand; None for the usual belief.

        Raises:
            JournalError: the folder cannot be read.

        """
        if self.without:
            return None
        from knitlog.workbench.hands import begun_of, prior_of, work_of

        facts: Facts = (state.slug, work_of(state), begun_of(state))
        if facts not in self._priors:
            # only a finished project is among those learnt from
            hands = self.hands(state.slug if state.finished else None).hands
            self._priors[facts] = prior_of(hands, state) if hands.known else None
        return self._priors[facts]

    def limits(self, state: ProjectState) -> Limits | None:
        """Return how far her fixes go and miss; None for the usual.

        Raises:
            JournalError: the folder cannot be read.

        """
        if self.without:
            return None
        from knitlog.workbench.hands import limits_of

        hands = self.hands(state.slug if state.finished else None).hands
        return limits_of(hands) if hands.fixes else None

    def forget(self) -> None:
        """Learn anew when next asked: a project has been finished, say."""
        with self._lock:
            self._learnt.clear()
            self._priors.clear()
