"""My hands: what the finished projects of a library say, and what follows for another.

The journals are read here, the sums are done in :mod:`knitlog.hands`.  A library without a
finished project gives the usual beliefs, and so does a knitter who would rather do without
(the environment variable ``KNITLOG_WITHOUT_HANDS``, or the caller's own switch).
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import TYPE_CHECKING

from knitlog.journal.project import to_drift_log

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from knitlog.advice import Limits
    from knitlog.drift import Prior
    from knitlog.hands import Begun, FinishedProject, Hands, Work
    from knitlog.journal.library import Library
    from knitlog.journal.project import ProjectState

WITHOUT_VARIABLE = "KNITLOG_WITHOUT_HANDS"
MOST_PROJECTS = 60
"""The latest so many finished projects count; hands change over the years."""


@dataclass(frozen=True, slots=True)
class Learnt:
    """Hands, and what could not be learnt from."""

    hands: Hands
    problems: tuple[str, ...]
    """One sentence for each project left out."""


def without_hands() -> bool:
    """Return whether the knitter's environment asks to do without her history."""
    return os.environ.get(WITHOUT_VARIABLE, "").strip().lower() not in ("", "0", "no", "off")


def learn_hands(
    library: Library,
    *,
    besides: str | None = None,
    without: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> Learnt:
    """Learn from every finished project of ``library``.

    Args:
        library: the projects.
        besides: the slug of a project to leave out: it should not judge itself.
        without: do without a history.
        progress: told how many of how many projects have been read.

    Raises:
        JournalError: the folder cannot be read.

    """
    from knitlog.hands import learn

    if without or without_hands():
        return Learnt(learn(()), ())
    states = [
        shelf.state
        for shelf in library.projects()
        if shelf.state is not None and shelf.state.finished and shelf.slug != besides
    ]
    return learn_from(states[:MOST_PROJECTS], progress=progress)


def learn_from(
    states: Iterable[ProjectState], *, progress: Callable[[int, int], None] | None = None
) -> Learnt:
    """Learn from ``states``, finished or not."""
    from knitlog.drift import LogError
    from knitlog.hands import learn

    todo = sorted(states, key=lambda state: state.set_up_at)
    found: list[FinishedProject] = []
    problems = []
    for number, state in enumerate(todo):
        if progress is not None:
            progress(number, len(todo))
        try:
            found.append(_look_back(state))
        except LogError as error:
            problems.append(f"{state.name} is left out: {error}")
    return Learnt(learn(found), tuple(problems))


def _look_back(state: ProjectState) -> FinishedProject:
    from knitlog.hands import look_back

    return look_back(to_drift_log(state), state.slug or state.name, work_of(state))


def work_of(state: ProjectState) -> Work:
    """Return what is known of a project before its first round."""
    from knitlog.hands import Work

    facts = state.facts
    return Work(
        needle_mm=state.stints[0].needle_mm,
        gauge_stitches_per_cm=facts.gauge_stitches_per_cm,
        yarn_thickness_mm=facts.yarn_thickness_mm,
        fibre=facts.fibre,
        stitch_pattern=facts.stitch_pattern,
    )


def begun_of(state: ProjectState) -> Begun:
    """Return the arithmetic a project was cast on with."""
    from knitlog.hands import Begun

    facts = state.facts
    return Begun(
        stitches=state.stints[0].stitches,
        repeats=facts.repeats,
        repeat_length_mm=facts.repeat_length_mm,
        target_drift=facts.target_drift,
    )


def prior_of(hands: Hands, state: ProjectState) -> Prior:
    """Return what the fit of ``state`` should believe beforehand."""
    from knitlog.hands import to_prior

    return to_prior(hands, work_of(state), begun_of(state))


def limits_of(hands: Hands) -> Limits:
    """Return how far her fixes go and miss, for the advice."""
    from knitlog.hands import to_limits

    return to_limits(hands)
