"""Her past: what the finished projects of a library say, and what follows for another.

The journals are read here, the sums are done in :mod:`knitlog.hands`.  A library without a
finished project gives the usual beliefs, and so does a knitter who would rather do without
(the environment variable ``KNITLOG_WITHOUT_HANDS``, or the caller's own switch).

Learning reads every finished project, so a :class:`Past` does it once, for whoever asks
first, in whichever thread; a look at a project then only asks what it means for that one.
"""

from __future__ import annotations

import os
import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING

from knitlog.journal.errors import JournalError
from knitlog.journal.project import to_drift_log

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from knitlog.advice import Limits
    from knitlog.drift import Estimate, Prior
    from knitlog.hands.learn import Hands
    from knitlog.hands.next_project import CastOn
    from knitlog.hands.records import FinishedProject, Materials
    from knitlog.journal.library import Library
    from knitlog.journal.project import ProjectState

WITHOUT_VARIABLE = "KNITLOG_WITHOUT_HANDS"
MOST_PROJECTS = 60
"""The latest so many finished projects count; hands change over the years."""


@dataclass(frozen=True, slots=True)
class Learnt:
    """Hands, and what could not be learnt from."""

    hands: Hands
    left_out: tuple[tuple[str, str], ...]
    """Name of each project left out, and why, in a sentence."""


@dataclass(frozen=True, slots=True)
class Beliefs:
    """What is believed of a project beforehand; None where it is the usual belief."""

    prior: Prior | None = None
    """What the fit starts from."""
    limits: Limits | None = None
    """How far her fixes go and miss."""


USUAL = Beliefs()
"""What is believed of any knitter."""


class Past:
    """What her finished projects say, or the choice to do without it."""

    def __init__(
        self,
        library: Library,
        *,
        without: bool = False,
        progress: Callable[[int, int], None] | None = None,
    ) -> None:
        """Learn from ``library`` when first asked.

        ``without``: do without a history.  ``progress``: told how many of how many projects
        have been read.
        """
        self.without = without
        """True while she does without it."""
        self._library = library
        self._progress = progress
        self._lock = threading.Lock()
        self._learnt: dict[str | None, Learnt] = {}
        self._beliefs: dict[tuple[object, ...], Beliefs] = {}

    def learnt(self, besides: str | None = None) -> Learnt:
        """Return what is known of her hands; ``besides`` leaves the project of that slug out.

        Raises:
            JournalError: the folder cannot be read.

        """
        with self._lock:
            if besides not in self._learnt:
                states = [] if without_hands() else self._finished(besides)
                self._learnt[besides] = learn_from(states, self._progress)
            return self._learnt[besides]

    def _finished(self, besides: str | None) -> list[ProjectState]:
        return [
            shelf.state
            for shelf in self._library.projects()
            if shelf.state is not None and shelf.state.finished and shelf.slug != besides
        ][:MOST_PROJECTS]

    def beliefs(self, state: ProjectState) -> Beliefs:
        """Return what is believed of ``state`` beforehand; it does not judge itself.

        A folder that cannot be read says nothing.
        """
        if self.without:
            return USUAL
        from knitlog.hands.next_project import to_limits, to_prior

        key = _key(state)
        if key not in self._beliefs:
            try:
                # only a finished project is among those learnt from
                hands = self.learnt(state.slug if state.finished else None).hands
            except JournalError:
                return USUAL
            self._beliefs[key] = (
                Beliefs(to_prior(hands, materials_of(state), cast_on_of(state)), to_limits(hands))
                if hands.known
                else USUAL
            )
        return self._beliefs[key]

    def knows(self, state: ProjectState) -> bool:
        """Return whether :meth:`beliefs` of ``state`` would answer at once."""
        return self.without or _key(state) in self._beliefs

    def yarn_per_stitch(self, materials: Materials) -> Estimate | None:
        """Return the yarn a stitch of ``work`` takes, mm, as her projects have it; None if unknown.

        Raises:
            JournalError: the folder cannot be read.

        """
        if self.without:
            return None
        from knitlog.hands.next_project import yarn_per_stitch

        hands = self.learnt().hands
        return yarn_per_stitch(hands, materials) if hands.known else None

    def forget(self) -> None:
        """Learn anew when next asked: a project has been finished, say."""
        with self._lock:
            self._learnt.clear()
            self._beliefs.clear()


def _key(state: ProjectState) -> tuple[object, ...]:
    """What the beliefs of a project hang on."""
    return (state.slug, state.finished, materials_of(state), cast_on_of(state))


def without_hands() -> bool:
    """Return whether the knitter's environment asks to do without her history."""
    return os.environ.get(WITHOUT_VARIABLE, "").strip().lower() not in ("", "0", "no", "off")


def learn_from(
    states: Iterable[ProjectState], progress: Callable[[int, int], None] | None = None
) -> Learnt:
    """Learn from ``states``, finished or not."""
    from knitlog.drift import LogError
    from knitlog.hands.learn import learn
    from knitlog.hands.look_back import look_back

    todo = sorted(states, key=lambda state: state.set_up_at)
    found: list[FinishedProject] = []
    left_out = []
    for number, state in enumerate(todo):
        if progress is not None:
            progress(number, len(todo))
        try:
            found.append(
                look_back(to_drift_log(state), state.slug or state.name, materials_of(state))
            )
        except LogError as error:
            left_out.append((state.name, str(error)))
    return Learnt(learn(found), tuple(left_out))


def materials_of(state: ProjectState) -> Materials:
    """Return what is known of a project before its first round."""
    from knitlog.hands.records import Materials

    facts = state.facts
    return Materials(
        needle_mm=state.stints[0].needle_mm,
        gauge_stitches_per_cm=facts.gauge_stitches_per_cm,
        yarn_thickness_mm=facts.yarn_thickness_mm,
        fibre=facts.fibre,
        stitch_pattern=facts.stitch_pattern,
    )


def cast_on_of(state: ProjectState) -> CastOn:
    """Return the arithmetic a project was cast on with."""
    from knitlog.hands.next_project import CastOn

    facts = state.facts
    return CastOn(
        stitches=state.stints[0].stitches,
        repeats=facts.repeats,
        repeat_length_mm=facts.repeat_length_mm,
        target_drift=facts.target_drift,
        flat=facts.flat,
    )
