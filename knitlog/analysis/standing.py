"""How the colours stand, and what only the knitter can answer; said in words by the report."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from knitlog.drift import AlternativeReading, Break, DriftFit, PatternFound, Suspect
    from knitlog.journal.project import ProjectState

_SOON = 5
"""Rounds ahead that count as soon."""
_ROUNDS_TO_SEE = 3
"""Where fewer rounds are spanned, read or not, only more are asked for."""


_TOLD_APART = 1.0
"""Stitches a round by which two readings of a log must differ for her to tell them apart."""


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
class Unexplained:
    """Something in the log that only the knitter can explain."""

    about: AlternativeReading | PatternFound | Suspect | Break
    """Which repeat she reads, a pattern, a likely miscount, or a change nobody logged."""
    round: int | None
    """The round it is about, if it is about one."""


def tone(state: ProjectState, fit: DriftFit | None, *, advised: bool = False) -> Tone:
    """Return how the colours stand; ``advised`` where there is something to do about it."""
    if state.finished:
        return Tone.DONE
    if fit is None:
        return Tone.UNCLEAR if state.entries else Tone.WAITING
    if rounds_spanned(fit) < _ROUNDS_TO_SEE and not advised:
        return Tone.WAITING
    drift, offset = fit.drift.mean - state.facts.target_drift, fit.offset_now
    outside = is_outside(state, fit)
    match fit.direction:
        case "in line":
            return Tone.ACT if outside else Tone.IN_LINE
        case "too small" | "too large":
            soon = abs(offset + _SOON * drift) > state.facts.tolerance
            return Tone.ACT if outside or soon else Tone.WATCH
        case _:
            return Tone.WATCH if outside else Tone.UNCLEAR


def rounds_spanned(fit: DriftFit) -> int:
    """Return the rounds from the first read to the last: two far apart tell as much as many."""
    return fit.last_round - min(reading.round for reading in fit.log.readings) + 1


def is_outside(state: ProjectState, fit: DriftFit) -> bool:
    """Return whether the colours sit further from their place than she puts up with."""
    return abs(fit.offset_now) > state.facts.tolerance


def questions(fit: DriftFit) -> tuple[Unexplained, ...]:
    """Return what only the knitter can answer, most pressing first."""
    return (
        *(
            Unexplained(other, None)
            for other in fit.alternatives
            if abs(other.drift - other.taken) >= _TOLD_APART
        ),
        *(Unexplained(found, None) for found in (fit.pattern_found,) if found is not None),
        *(Unexplained(suspect, suspect.round) for suspect in fit.suspects),
        *(Unexplained(found, found.round) for found in fit.breaks),
    )
