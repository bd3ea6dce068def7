"""The round to come: where its colour changes will be read, and where they are in place.

The forecast of the fit is an offset; here it becomes what she can look for at the needles:
stitches as she counts them, in that round's own stitch count, from the right edge in flat work.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from knitlog.plan.colour_checks import logged_change_mm
from knitlog.yarn.geometry import wrap, wrap_offset

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from knitlog.analysis.analysis import Analysis
    from knitlog.drift import DriftFit
    from knitlog.journal.events import Position
    from knitlog.journal.project import ProjectState

_ROUNDS_TO_JUDGE = 3
"""Below so many rounds nothing is odd."""
_ODD_JUMP_SDS = 4.0
_LEAST_ODD_JUMP = 6.0
"""Stitches; a smaller step is never asked about (common practice, no source)."""
_HALF_A_STITCH = 0.5
"""What is left of a colour at the beginning of a round is not seen below this."""
_95 = 1.959964


@dataclass(frozen=True, slots=True)
class ExpectedPlace:
    """One colour change of a round to come, stitches as she counts them."""

    change: int
    """Which colour change of the round, from 1."""
    mean: float
    """Where it will be read, if she knits on as she does; 0 to the stitch count."""
    low95: float
    """Lower end of the 95 % interval of the reading; below 0 where it lies before the end of
    the round below."""
    high95: float
    """Upper end; above the stitch count where it lies in the round above."""
    place: float
    """Where it should fall."""
    low: float
    """From here on it is in place; may be below 0."""
    high: float
    """Up to here it is in place; may be above the stitch count."""


@dataclass(frozen=True, slots=True)
class ColourEnd:
    """Where one colour of the yarn ends in a round to come, stitches as she counts them."""

    colour: str
    """Its name."""
    stitch: float
    """Where it ends, if she knits on as she does; 0 to the stitch count."""
    place: float
    """Where it should."""
    aim: float | None = None
    """Where to let it end, on the way to the aim of the round."""


@dataclass(frozen=True, slots=True)
class NextRound:
    """A round to come."""

    round: int
    changes: tuple[ExpectedPlace, ...]
    """Ascending by number; those logged so far."""
    aim: float | None = None
    """Where the advice would have its first change fall, stitches; None if it asks for none."""
    colours: tuple[ColourEnd, ...] = ()
    """Every colour that ends in it, in knitting order; none where the colours are not told."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """An entry that looks odd enough to ask about before it is taken."""

    stitch: float
    """As typed."""
    off: float
    """How far from where it should fall, stitches; above zero is past."""
    expected: float
    """Where it should fall, stitches as she counts them."""


def next_round(state: ProjectState, fit: DriftFit, round_number: int | None = None) -> NextRound:
    """Return what to expect of a round to come, by default the one to log next."""
    number = round_number or state.next_round
    ahead = number - fit.last_round
    if ahead < 1:
        raise ValueError(f"Round {number} is logged already: ask about a later one.")
    changes = sorted({reading.change for reading in fit.log.readings})
    places = tuple(_expected_place(state, fit, number, change) for change in changes)
    return NextRound(number, places, colours=_colours(state, fit, number, places[0]))


def aimed(coming: NextRound, state: ProjectState, aim: float) -> NextRound:
    """Return a round to come with where to let its first change fall, stitches as she counts them.

    Knitted so, every stitch of the round is larger, or smaller, alike: each colour before the
    change is a mark on the way.
    """
    in_order, stitches = _knitting_order(state, coming.round)
    logged = in_order(coming.changes[0].mean)
    if logged < stitches / 4:
        # too near the beginning of the round the two tell nothing of its stitches
        return replace(coming, aim=aim)
    scale = in_order(aim) / logged

    def let(end: ColourEnd) -> ColourEnd:
        at = in_order(end.stitch) * scale
        return end if at > stitches else replace(end, aim=in_order(at))

    return replace(coming, aim=aim, colours=tuple(map(let, coming.colours)))


def _knitting_order(state: ProjectState, number: int) -> tuple[Callable[[float], float], int]:
    """Return what turns a stitch as she counts it into knitting order, or back; and the count."""
    stitches = state.stint_of(number).stitches
    if state.facts.flat and number % 2 == 0:
        return lambda stitch: stitches - stitch, stitches
    return lambda stitch: stitch, stitches


def _colours(
    state: ProjectState, fit: DriftFit, number: int, first: ExpectedPlace
) -> tuple[ColourEnd, ...]:
    """Where the colours end, counted along the strand from the change that is logged.

    One repeat makes (N + d) / k stitches, N / k where all is in place.
    """
    run = state.facts.colour_run
    if run is None:
        return ()
    in_order, stitches = _knitting_order(state, number)
    repeats = fit.log.repeats
    repeat, in_place = (stitches + fit.drift.mean) / repeats, stitches / repeats
    logged, place = in_order(first.mean), in_order(first.place)
    change_mm, whole = logged_change_mm(run), run.repeat_length_mm
    found = []
    for segment, end_mm in zip(run.unfolded, run.boundaries_mm, strict=True):
        apart = (end_mm - change_mm) / whole
        first_turn = math.floor(-logged / repeat - apart) + 1
        for turn in range(first_turn, first_turn + math.ceil(stitches / repeat) + 1):
            at = logged + (apart + turn) * repeat
            should = wrap(place + (apart + turn) * in_place, stitches)
            if _HALF_A_STITCH <= at <= stitches:
                found.append((at, ColourEnd(segment.name, in_order(at), in_order(should))))
    return tuple(end for _, end in sorted(found, key=lambda one: one[0]))


def _expected_place(state: ProjectState, fit: DriftFit, number: int, change: int) -> ExpectedPlace:
    found = fit.expected(number - fit.last_round, change)
    mean, low, high, stitch, home = (
        float(part[-1])
        for part in (found.mean, found.low95, found.high95, found.stitch, found.home)
    )
    # back rows are counted from the other edge: what lies past is lower there
    turned = state.facts.flat and number % 2 == 0
    before, after = (high - mean, mean - low) if turned else (mean - low, high - mean)
    stitches, tolerance = state.stint_of(number).stitches, state.facts.tolerance
    place = wrap(home, stitches)
    if turned:
        place = stitches - place
    return ExpectedPlace(
        change, stitch, stitch - before, stitch + after, place, place - tolerance, place + tolerance
    )


def doubt(
    found: Analysis, positions: Sequence[Position], round_number: int | None = None
) -> Doubt | None:
    """Return what looks odd in an entry, or None when it looks ordinary.

    ``positions``: what is about to be logged, in ``round_number`` or the next round.
    A position far outside what the forecast and this knitter's readings allow is asked
    about, never refused.  Only rounds above the last logged one are held against the
    forecast; a corrected round is her own business.
    """
    state, fit = found.state, found.fit
    number = round_number or state.next_round
    if fit is None or fit.rounds_logged < _ROUNDS_TO_JUDGE or number <= fit.last_round:
        return None
    stitches = state.stint_of(number).stitches
    expected = {place.change: place for place in next_round(state, fit, number).changes}
    for position in positions:
        place = expected.get(position.change)
        if place is None:
            continue
        # positions wrap at the stitch count: the nearest way round counts
        off = wrap_offset(position.stitch - place.mean, stitches)
        spread = (place.high95 - place.low95) / (2 * _95)
        if abs(off) > max(_ODD_JUMP_SDS * spread, _LEAST_ODD_JUMP):
            return Doubt(position.stitch, off, place.mean)
    return None
