"""From what the knitter logged to what she should know: one look at a project.

The screens and the command line both ask here, so that they cannot tell her
different things: :func:`look` folds a project's state into the drift log, fits
it, asks for advice and says the verdict in one sentence.  Nothing is printed
and nothing is drawn; the heavy rooms (fit and advice) are only imported when
there is something to fit, so that logging a round stays quick.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from knitlog.advice import Advice, Situation
    from knitlog.drift import DriftFit, DriftLog
    from knitlog.journal.project import ProjectState


class Tone(StrEnum):
    """How the verdict should sound; always shown beside words, never alone."""

    WAITING = "waiting"
    """Too few rounds to say anything."""
    IN_LINE = "in line"
    """The colours stack; knit on."""
    UNCLEAR = "unclear"
    """Something may be building up; a few more rounds will tell."""
    WATCH = "watch"
    """The colours are sliding, still within tolerance."""
    ACT = "act"
    """Out of tolerance, or soon to be: a fix is due."""
    DONE = "done"
    """The project is finished."""


@dataclass(frozen=True, slots=True)
class Question:
    """Something only the knitter can answer: a likely miscount, an unlogged change."""

    round: int | None
    """The round it is about, if it is about one."""
    sentence: str
    """The question, in one sentence."""


@dataclass(frozen=True, slots=True)
class Look:
    """Everything there is to know about one project at this moment."""

    state: ProjectState
    """The project as its journal tells it."""
    log: DriftLog | None
    """What the fit reads; None while no round is logged."""
    fit: DriftFit | None
    """The fitted drift; None while there is too little to fit."""
    advice: Advice | None
    """What to do about it; None without a fit, or when the project is finished."""
    verdict: str
    """One sentence in plain words, to be read at arm's length."""
    tone: Tone
    """How the verdict should sound."""
    questions: tuple[Question, ...]
    """What to ask the knitter, most pressing first."""
    problems: tuple[str, ...]
    """What is wrong with the file or the log, one sentence each."""


def look(state: ProjectState, *, with_advice: bool = True, seed: int = 0) -> Look:
    """Fit a project and say what it means.

    ``with_advice=False`` leaves the advice out (quicker: nothing is simulated).
    ``seed`` makes the advice's simulation repeatable.  Never raises for a
    readable project: what cannot be fitted is told in ``problems``.
    """
    raise NotImplementedError


def situation(state: ProjectState, fit: DriftFit) -> Situation:
    """What the advice needs to know: the fit, and the project's facts as they stand now."""
    raise NotImplementedError


def doubt(view: Look, round_number: int, positions: Sequence[float]) -> str | None:
    """A question to put before an entry is taken, or None when it looks ordinary.

    ``positions``: stitch positions about to be logged in ``round_number``, one
    a colour change.  A position that the forecast puts far outside what a
    knitter's tension does is asked about, never refused.
    """
    raise NotImplementedError


def read_log_file(path: Path, facts: dict[str, str] | None = None) -> ProjectState:
    """Read a journal or a CSV log, whichever the file is, as a project's state.

    ``facts``: option names without the dashes -> what was typed (``stitches``,
    ``repeat-length``, ...); they overrule what the file says.  Raises
    ``JournalError`` with one plain sentence when the file cannot be read.
    """
    raise NotImplementedError
