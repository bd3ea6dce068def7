"""Whole plans, each sayable in one breath: a start, and a manner of going on.

Few on purpose: a knitter weighs a handful of things to do, not a tree of them.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from knitlog.advice.belief import Belief
from knitlog.advice.fixes import FixWay
from knitlog.advice.remedy import Manner, Remedy
from knitlog.advice.situation import Situation
from knitlog.advice.ways import Way, Ways

SETTLES = 3
"""Rounds in which a needle, or a hand, shows what it does (common practice)."""
WAITS = (1, 2, 3, 5)
"""Rounds knitted first, where that is weighed."""
SMALLEST_FIX = 1.0
"""Less cannot be told from the reading, stitches."""
ROUNDS_TO_SPEAK = 2
"""Rounds spanned by the readings before anything is changed (common practice: look after
four or five, and loosen before that if you must)."""
ROUNDS_TO_CHANGE = 3
"""Rounds spanned before a change that leaves a line."""
ROUNDS_TO_LOOK = 4
"""Rounds spanned by what a common first look sees (common practice: after four or five)."""


@dataclass(frozen=True, slots=True)
class Plan:
    """A start, now or after some rounds, and a manner from then on."""

    remedy: Remedy
    """What the start is, by its name."""
    manner: Manner
    wait: int = 0
    """Rounds knitted as now before the start."""
    way: Way | None = None
    """Needle and count gone over to."""
    count_as_found: bool = False
    """The count is settled once the rounds waited have been read."""
    taken_out: float = 0.0
    """Offset taken out by hand, stitches."""
    new_home: bool = False
    """The place is taken anew with the start."""
    then_count: bool = False
    """Once the start has shown what it does, the count is settled for what is left."""


def rounds_spanned(situation: Situation) -> int:
    """Return how many rounds lie between the first reading and the last: what tells of a slide."""
    first = min(reading.round for reading in situation.fit.log.readings)
    return situation.fit.last_round - first


def plans(
    situation: Situation, belief: Belief, ways: Ways, fixes: tuple[FixWay, FixWay]
) -> tuple[Plan, ...]:
    """Return the plans open now, "carry on" first."""
    carry_on = Plan(Remedy.CARRY_ON, Manner.AS_USUAL)
    if situation.rounds_left == 0:
        return (carry_on,)
    spanned = rounds_spanned(situation)
    found = [carry_on, *_waiting(situation, ways, spanned)]
    if spanned >= ROUNDS_TO_SPEAK:
        found += _in_place(situation, belief, fixes)
    if spanned >= ROUNDS_TO_CHANGE and not situation.changed_unread:
        found += _changes(situation, belief, ways)
    return tuple(dict.fromkeys(found))


def _waiting(situation: Situation, ways: Ways, spanned: int) -> Iterator[Plan]:
    """Yield knitting on first, then what the readings ask for."""
    least = max(0, ROUNDS_TO_CHANGE - spanned)
    # the common first look is not put off
    most = ROUNDS_TO_LOOK - spanned if spanned < ROUNDS_TO_LOOK else max(WAITS)
    for wait in WAITS:
        if not least <= wait <= most or wait >= situation.rounds_left:
            continue
        mind = Plan(Remedy.KNIT_MORE_FIRST, Manner.MIND_TENSION, wait)
        if least:
            # the hand can be asked, and let go of, at any time: it need not wait otherwise
            yield mind
            yield replace(mind, new_home=True)
        if situation.count_may_change:
            yield replace(mind, count_as_found=True, new_home=True)
        for way in ways.needles[:1]:
            yield replace(mind, way=way, new_home=True)


def _in_place(situation: Situation, belief: Belief, fixes: tuple[FixWay, FixWay]) -> Iterator[Plan]:
    """Yield what leaves needle and count alone."""
    mind = Plan(Remedy.CHANGE_TENSION, Manner.MIND_TENSION)
    yield mind
    if situation.count_may_change and not situation.hand_tried:
        # a hand that has shown what it gives is not waited for once more
        yield replace(mind, then_count=True)
    if belief.asked:
        yield Plan(Remedy.CHANGE_TENSION, Manner.AS_USUAL)
    for manner in (Manner.AS_USUAL, Manner.MIND_TENSION):
        yield Plan(Remedy.STACK_FROM_HERE, manner, new_home=True)
    for way in fixes:
        # to the half stitch, as it is counted
        most = float(np.clip(belief.offset_mean, -way.largest, way.largest))
        taken_out = float(np.round(2 * most) / 2)
        if abs(taken_out) >= SMALLEST_FIX and abs(taken_out) <= way.largest + 1e-9:
            for manner in Manner:
                yield Plan(way.remedy, manner, taken_out=taken_out)
    if abs(belief.offset_mean) <= situation.tolerance:
        yield Plan(Remedy.CARRY_ON, Manner.EVEN_OUT)


def _changes(situation: Situation, belief: Belief, ways: Ways) -> Iterator[Plan]:
    """Yield what leaves a line across the fabric, or begins anew."""
    changes = [(Remedy.CHANGE_STITCH_COUNT, way) for way in ways.counts]
    changes += [(Remedy.CHANGE_NEEDLE, way) for way in (*ways.needles, *ways.both)]
    for remedy, way in changes:
        for manner in (Manner.AS_USUAL, Manner.MIND_TENSION):
            for new_home in (False, True):
                yield Plan(remedy, manner, way=way, new_home=new_home)
                if remedy is Remedy.CHANGE_NEEDLE and situation.count_may_change:
                    yield Plan(remedy, manner, way=way, new_home=new_home, then_count=True)
    for way in (*ways.counts[:1], *ways.needles[:1], *ways.both[:1]):
        yield Plan(Remedy.START_AGAIN, Manner.MIND_TENSION, way=way)
