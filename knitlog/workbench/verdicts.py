"""The verdict: how the colours stand, in one sentence, and what to ask the knitter."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from knitlog.drift import DriftFit
    from knitlog.journal.project import ProjectState

_SOON = 5
"""Rounds ahead that count as soon."""
_ROUNDS_TO_SEE = 3
"""Below so many rounds the verdict only asks for more."""


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


def verdict(state: ProjectState, fit: DriftFit) -> tuple[str, Tone]:
    """One sentence on how the colours stand, and how it should sound."""
    facts = state.facts
    drift = fit.drift.mean - facts.target_drift
    offset = fit.offset.mean
    where = _where(offset)
    if state.finished:
        return f"Finished after {_count(state.last_round, 'round')}, {where}.", Tone.DONE
    if fit.rounds_logged < _ROUNDS_TO_SEE:
        logged, more = _count(fit.rounds_logged, "round"), 5 - fit.rounds_logged
        return f"{logged} logged: knit about {more} more to see the drift.", Tone.WAITING
    outside = abs(offset) > facts.tolerance
    soon = abs(offset + _SOON * drift) > facts.tolerance
    rows = "row" if facts.flat else "round"
    match fit.direction:
        case "in line":
            if outside:
                return f"The drift is in line, but the colours sit {where}.", Tone.ACT
            return f"In line: the colours stack, now {where}.", Tone.IN_LINE
        case "too small" | "too large":
            aim = " of the spiral you want" if facts.target_drift else ""
            way = "on" if drift > 0 else "back"
            sentence = (
                f"Stitches {fit.direction}: the colours slide {abs(drift):.1f} {way} "
                f"each {rows}{aim}, now {where}."
            )
            return sentence, Tone.ACT if outside or soon else Tone.WATCH
        case _:
            low, high = fit.drift.low95 - facts.target_drift, fit.drift.high95 - facts.target_drift
            span = f"{low:+.1f} to {high:+.1f} a {rows}"
            if outside:
                sentence = f"The colours sit {where}; the slide is not clear yet ({span})."
                return sentence, Tone.WATCH
            return f"Not clear yet: the slide is {span}, now {where}.", Tone.UNCLEAR


def nothing_yet(state: ProjectState) -> tuple[str, Tone]:
    """The verdict where no round was logged."""
    if state.finished:
        return "Finished; no round was logged.", Tone.DONE
    return "No round logged yet: knit one and log where the colour changed.", Tone.WAITING


def questions(fit: DriftFit) -> tuple[Question, ...]:
    """What only the knitter can answer, most pressing first."""
    asked = [Question(None, other.question) for other in fit.alternatives]
    asked += [
        Question(
            suspect.round,
            f"Round {suspect.round} reads {suspect.stitch:g}, but about {suspect.expected:.0f} was "
            "expected: was it miscounted?",
        )
        for suspect in fit.suspects
    ]
    for found in fit.breaks:
        what = (
            f"the slide changed by {found.size:+.1f} stitches a round"
            if found.kind == "drift"
            else f"the colours moved {found.size:+.0f} stitches at once"
        )
        asked.append(
            Question(
                found.round,
                f"Something changed around round {found.round}: {what}. Another needle, a long "
                "break, a fix you did not log?",
            )
        )
    return tuple(asked)


def _where(offset: float) -> str:
    """Where the colours sit against where they began, in words."""
    if abs(offset) < 0.75:
        return "right in place"
    return f"{abs(offset):.0f} {'past' if offset > 0 else 'short of'} their place"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
