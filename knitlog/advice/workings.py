"""The ways of working open to the knitter: a needle and a stitch count.

Limits are kept here: needles she owns, the stitch pattern's multiple, and how far the
finished size may change from what was cast on.
"""

from dataclasses import dataclass
from math import copysign, sqrt

import numpy as np

from knitlog.advice.belief import Belief
from knitlog.advice.costs import Costs
from knitlog.advice.situation import Situation
from knitlog.advice.turns import Turn, turn_now, turns_on
from knitlog.drift.response import yarn_thickness_mm

_MOST = 9
"""Ways of working weighed at once, beside those that lead back."""
_NEIGHBOURS = {1: 6, 2: 5, 3: 4, 4: 4}
"""Stitch counts about the one that would stop the drift, by multiple; 3 for larger."""
_KNOWN = 1.0
"""A needle whose turn is known to this many stitches counts as known."""
_ON_OTHERS = 2
"""The same on a needle not in use."""


@dataclass(frozen=True, slots=True)
class Working:
    """A needle and a stitch count."""

    needle_mm: float | None
    stitches: int
    turn: Turn
    """Stitches one turn of the colours makes on this needle."""
    size_change_percent: float
    """Finished width against what was cast on, %."""

    @property
    def unknown(self) -> bool:
        """Return whether how this needle answers is still to be found out."""
        return abs(self.turn.answer) > _KNOWN

    def drift(self, target: float) -> float:
        """Return the expected drift less the target, stitches/round."""
        return self.turn.mean - self.stitches - target


@dataclass(frozen=True, slots=True)
class Workings:
    """The ways of working weighed: the present one first."""

    open: tuple[Working, ...]
    too_big: tuple[Working, ...]
    """Other needles' best that the size limit forbids."""


def size_change_percent(situation: Situation, needle_mm: float | None, stitches: int) -> float:
    """Return how much wider than cast on the work becomes, %.

    Width is stitches times stitch width, and a stitch is as much wider as its loop is
    longer (Munden: wales per length = K / loop length).
    """
    log = situation.fit.log
    first = log.stints[0]
    wider = 1.0
    if first.needle_mm and needle_mm:
        y = yarn_thickness_mm(log)
        wider = (needle_mm + y) / (first.needle_mm + y)
    return 100 * (stitches / first.stitches * wider - 1)


def workings(situation: Situation, belief: Belief) -> Workings:
    """Return the ways of working worth weighing."""
    fit, target = situation.fit, situation.fit.log.target_drift
    now = turn_now(fit, belief, situation.stitches)
    turns: dict[float | None, Turn] = {situation.needle_mm: now}
    here = situation.needle_mm
    if here is not None:
        owned = tuple(sorted({n for n in situation.needles_owned_mm if n != here}))
        others_turns = turns_on(fit, belief, situation.stitches, here, owned)
        turns.update((needle, others_turns[needle]) for needle in owned)
    back = counts_that_lead_back(situation, belief.offset, now.mean - target)
    found = {(situation.needle_mm, situation.stitches)}
    present = _working(situation, situation.needle_mm, situation.stitches, now)
    others: list[Working] = []
    too_big: list[Working] = []
    for size, turn in turns.items():
        counts = _counts(situation, turn.mean - target, size)
        for count in (*counts, *(back if size == here else ())):
            if (size, count) in found:
                continue
            found.add((size, count))
            working = _working(situation, size, count, turn)
            # what is no worse than now is not forbidden for being too big already
            most = max(situation.size_limit_percent, abs(present.size_change_percent))
            fits = abs(working.size_change_percent) <= most + 1e-9
            (others if fits else too_big).append(working)
    others.sort(key=lambda w: abs(w.drift(target)))
    # the best on each needle, what leads back soonest, then whatever comes nearest to no drift
    best: dict[float | None, Working] = {w.needle_mm: w for w in reversed(others)}
    leads = [w for w in others if w.needle_mm == here and w.stitches in back]
    kept = list(dict.fromkeys([*best.values(), *leads, *others]))[: _MOST - 1 + len(leads)]
    return Workings((present, *kept), tuple(too_big))


def counts_that_lead_back(situation: Situation, offset: float, wanted: float) -> tuple[int, ...]:
    """Return stitch counts whose slide brings colours that lie out of place back soon.

    With a slide of d against an offset of o they are back after o / d rounds, at c minutes a
    round out of place, and the d stitches are worked in and out again, at a minutes each:
    c o / d + 2 a d is least at d = sqrt(c o / 2 a).  ``wanted`` is the count without drift.
    """
    costs, multiple = situation.costs, situation.multiple
    if multiple == 0 or abs(offset) <= situation.tolerance:
        return ()
    price = 2 * costs.count_change_minutes_per_stitch
    slide = abs(offset)
    if price > 0:
        slide = min(slide, sqrt(costs.round_out_of_tolerance_minutes * abs(offset) / price))
    # more stitches than stop the drift bring a late colour change back
    toward = copysign(slide, offset)
    now = situation.stitches
    steps = {round((wanted + part * toward - now) / multiple) for part in (0.6, 1.0)}
    return tuple(sorted(now + multiple * k for k in steps if k and now + multiple * k >= 2))


def _counts(situation: Situation, wanted: float, needle_mm: float | None) -> tuple[int, ...]:
    now, multiple = situation.stitches, situation.multiple
    if multiple == 0:
        return (now,)
    most = _NEIGHBOURS.get(multiple, 3)
    if needle_mm != situation.needle_mm:
        most = _ON_OTHERS
    # counts the pattern allows, as far from the present one as whole multiples go
    nearest = round((wanted - now) / multiple)
    steps = np.array(
        sorted(
            range(nearest - most, nearest + most + 1),
            key=lambda k: (abs(now + k * multiple - wanted), k),
        )
    )
    counts = [now + int(k) * multiple for k in steps[:most]]
    return tuple(c for c in (now, *counts) if c >= 2)


def _working(situation: Situation, needle_mm: float | None, stitches: int, turn: Turn) -> Working:
    return Working(needle_mm, stitches, turn, size_change_percent(situation, needle_mm, stitches))


def change_minutes(old: Working, new: Working, costs: Costs) -> float:
    """Return the work of going from one way of working to another, minutes."""
    minutes = 0.0
    if old.needle_mm != new.needle_mm:
        minutes += costs.needle_change_minutes
    step = abs(new.stitches - old.stitches)
    if step:
        minutes += costs.count_change_minutes + costs.count_change_minutes_per_stitch * step
    return minutes


def change_price(old: Working, new: Working, costs: Costs) -> float:
    """Return the work of a change and what the line it leaves across the fabric is worth, minutes.

    Without the line a needle would be taken up for two rounds, only to bring the colours
    back, and put down again: cheap in work, and no fabric a knitter wants.
    """
    line = costs.gauge_line_minutes if old.needle_mm != new.needle_mm else 0.0
    return change_minutes(old, new, costs) + line
