"""What is to be said of a journal's file: what is damaged in it, and what two copies held."""

from __future__ import annotations

from typing import TYPE_CHECKING

from knitlog.journal.events import (
    FixMade,
    NeedleChanged,
    PlaceChanged,
    RoundLogged,
    RoundsRippedBack,
    StitchCountChanged,
    TensionChanged,
)
from knitlog.report.words import counted, one_round, places, plain
from knitlog.typed.measures import Units

if TYPE_CHECKING:
    from collections.abc import Iterator

    from knitlog.journal.copies import Disagreement, Joined
    from knitlog.journal.events import Event
    from knitlog.journal.project import ProjectState

_ROUNDS_NAMED = 20


def damage_lines(state: ProjectState) -> Iterator[str]:
    """What could not be used in a journal that opens, and how to log it again."""
    turn = one_round(state.facts)
    rounds = counted(len(state.entries), turn)
    if state.read_only is not None:
        yield f"! {state.read_only}"
    elif not state.problems:
        yield f"{state.name} is whole: {rounds}, nothing to mend."
        return
    for problem in state.problems:
        yield f"! {problem.sentence}"
    yield f"{rounds} can be read."
    missing = [r for r in range(1, state.last_round + 1) if state.entry(r) is None]
    if missing and state.read_only is None:
        yield f"Not there: {turn} {_named(missing)}. One that was lost can be logged again:"
        yield f"  knitlog log {state.slug} 37 --round {missing[0]}"


def joined_lines(joined: Joined, file: str) -> Iterator[str]:
    """What a copy that had parted brought over."""
    if not joined.added and not joined.disagreements:
        yield f"{file} is a copy of {joined.state.name} and holds nothing that is not here."
        return
    yield f"{file} is a copy of {joined.state.name}: {counted(joined.added, 'line')} brought over."
    if joined.rounds:
        yield f"Rounds that only the copy had: {_named(joined.rounds)}."


def disagreement_words(found: Disagreement) -> str:
    """What two copies say differently, as a question; this copy's word stands."""
    return f"Here it says {_said(found.here)}, in the copy {_said(found.there)}: which is right?"


def _said(event: Event) -> str:
    match event:
        case RoundLogged():
            return f"round {event.round} at {places(event.positions)}"
        case FixMade():
            return f"{plain(event.taken_out)} taken out after round {event.after_round}"
        case NeedleChanged():
            needle = Units().needle(event.needle_mm, event.as_given)
            return f"{needle} needles from round {event.from_round}"
        case StitchCountChanged():
            return f"{event.stitches} stitches from round {event.from_round}"
        case TensionChanged():
            return f"{event.percent:+g} % of tension from round {event.from_round}"
        case PlaceChanged():
            return f"a place taken anew in round {event.from_round}"
        case RoundsRippedBack():
            return f"ripped back to round {event.to_round}"
    return f"'{event.kind}', {event.at:%d %b %H:%M}"


def _named(rounds: tuple[int, ...] | list[int]) -> str:
    more = ", ..." if len(rounds) > _ROUNDS_NAMED else ""
    return ", ".join(map(str, rounds[:_ROUNDS_NAMED])) + more
