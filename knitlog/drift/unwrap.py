"""Undoing the wrap: which turn of the colours a reading belongs to.

A position is known only up to a whole number of visible repeats (stitches / repeats a round).
A filter follows the log (the local linear trend; Durbin & Koopman 2012, sections 3.2 and 4.3) and
takes each reading for the repeat nearest to what it foretells.  Where the nearest is not clearly
the right one, or the reading looks like a miscount, it carries several readings of the log side
by side, each with a filter and a weight of its own (a Gaussian-sum filter; Alspach & Sorenson
1972), until one is left again.  If more remain plausible at the end, they are handed on so that
the knitter can be asked.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import copysign, exp, pi, sqrt
from math import log as ln
from typing import NamedTuple

import numpy as np

from knitlog.drift.fit_result import IntArray
from knitlog.drift.log import DriftLog
from knitlog.drift.prior import REFERENCE_STITCHES, Prior
from knitlog.drift.readings import Sorted
from knitlog.drift.response import fix_miss, stint_change, tension_step

_MOST_CARRIED = 24
"""Readings of the log carried side by side."""
_FORGOTTEN = 20.0
"""Log odds at which one of them is dropped in the first rounds."""
_BEGUN = 6
"""Readings of a colour change from which its drift is known well enough to go by."""
_CLEAR = 7.0
"""Log odds at which the nearest repeat is clearly the right one."""
_FAR = 3.5**2
"""Squared miss, in variances, beyond which a reading is taken for less than it says."""
_ALIKE = 0.3
"""Two readings of the log are one where position and drift agree to this, stitches."""
_LEFT_OUT = ln(0.3)
"""Log chance that a round which has the mark is not logged; one that has none never is."""
_PASSED_OVER = ln(0.5)
"""Log chance that another mark than the one she followed is read while that is in the round."""
_SLOW = 0.45
"""Drift, as a share of the visible repeat, up to which marks over the edge are followed along the
strand: a faster one could be any."""
_CREEP = 0.1
"""By which the drift is let change a round, as a share of the tension noise."""
_APART = 1.5
"""Drifts this far apart are different readings of the log, stitches/round."""
_DRIFTS = ((1.0, 0.95), (3.0, 0.05))
"""(times the prior's spread of the first drift, its probability): a drift it does not foresee is
rare, not out of the question, or a log of few rounds is read as whatever smaller drift will do."""
_WORTH_ASKING = 0.02
"""Probability from which another reading of the log is handed on."""


@dataclass(frozen=True, slots=True)
class Unwrapping:
    """How many visible repeats to add to each reading, and how sure that is."""

    shifts: IntArray
    """Shape (m,), in the order of :class:`Sorted`."""
    probability: float
    others: tuple[tuple[IntArray, float, float], ...]
    """Rival unwrappings: (shifts, drift in stitches/round, probability)."""


class _Event(NamedTuple):
    """What was told to happen between two readings: drift = turn * drift + add, a move at once."""

    turn: float = 1.0
    add: float = 0.0
    drift_var: float = 0.0
    move: float = 0.0
    move_var: float = 0.0


class _Column(NamedTuple):
    """A colour change as followed so far, stitches."""

    home: float
    over: float
    """What its last reading lies beyond the edge."""
    shift: int
    """The same in visible repeats."""


class _Trail(NamedTuple):
    """The shifts chosen, the latest first."""

    shift: int
    before: "_Trail | None"


@dataclass(slots=True)
class _Carried:
    """One reading of the log: its filter, its weight and the repeats it chose."""

    x: float
    """How far the colours have come since the first reading, stitches."""
    d: float
    pxx: float
    pxd: float
    pdd: float
    columns: dict[int, _Column]
    log_weight: float = 0.0
    trail: _Trail | None = None

    def pass_rounds(self, gap: int, event: _Event | None, w2: float, v2: float) -> None:
        """Foretell the state ``gap`` rounds on, after what was told to happen."""
        if event is not None:
            self.d = event.turn * self.d + event.add
            self.pxd *= event.turn
            self.pdd = event.turn**2 * self.pdd + event.drift_var
        self.x += gap * self.d
        grown = gap * (self.pdd + gap * v2)
        self.pxx += gap * (2.0 * self.pxd + grown + w2)
        self.pxd += grown
        self.pdd += gap * v2
        if event is not None:
            self.x += event.move
            self.pxx += event.move_var

    def turn(self, rounds: float) -> None:
        """Move the state on (or back) to a mark so many rounds of yarn away."""
        self.x += rounds * self.d
        self.pxx += rounds * (2.0 * self.pxd + rounds * self.pdd)
        self.pxd += rounds * self.pdd

    def take(self, column: int, after: _Column, miss: float, total: float) -> None:
        """Take a reading that misses by ``miss``, of variance ``total``, into the state."""
        gain_x, gain_d = self.pxx / total, self.pxd / total
        self.x += gain_x * miss
        self.d += gain_d * miss
        self.pdd -= gain_d * self.pxd
        self.pxd -= gain_x * self.pxd
        self.pxx -= gain_x * self.pxx
        self.choose(column, after)

    def choose(self, column: int, after: _Column) -> None:
        """Note where the column is now."""
        self.columns[column] = after
        self.trail = _Trail(after.shift, self.trail)

    def copy(self, log_weight: float) -> "_Carried":
        """Return the same with a weight of its own."""
        return _Carried(
            self.x, self.d, self.pxx, self.pxd, self.pdd, dict(self.columns), log_weight, self.trail
        )


class _Turned(NamedTuple):
    """What becomes of a reading of the log with one more colour change read, so far over."""

    state: _Carried
    """Before it is taken in."""
    after: _Column
    miss: float
    variance: float
    """Of the miss."""
    chance: float
    """Its log density."""


def unwrap(log: DriftLog, readings: Sorted, prior: Prior) -> Unwrapping:
    """Return the unwrapping of ``readings``.

    The noises are taken a little above their prior medians: only whole repeats are
    decided here, the fit weighs the rest.
    """
    follower = _Unwrapper(log, readings, prior)
    for reading in zip(
        range(len(readings.round)),
        np.diff(readings.round, prepend=readings.round[0]).tolist(),
        readings.change.tolist(),
        readings.stitch.tolist(),
        readings.period.tolist(),
        [log.readings[i].period_shift for i in readings.order.tolist()],
        strict=True,
    ):
        follower.follow(*reading)
    return _settled(follower.carried)


class _Unwrapper:
    """Follows a log, as many readings of it side by side as remain plausible."""

    def __init__(self, log: DriftLog, readings: Sorted, prior: Prior) -> None:
        stitches = float(readings.stitches[0])
        self.w2 = (1.5 * prior.tension_noise_median) ** 2 * stitches / REFERENCE_STITCHES
        self.v2 = _CREEP**2 * self.w2
        self.m2 = (1.3 * prior.reading_noise_median) ** 2
        self.repeats = max(log.repeats, 1.0)
        self.events = _events(log, readings, prior)
        self.log_good = ln(1.0 - 2.0 * prior.miscount_rate)
        self.log_bad = ln(2.0 * prior.miscount_rate)
        self.log_strand = ln(max(prior.by_strand_rate, 1e-9))
        self.log_round = ln(max(1.0 - prior.by_strand_rate, 1e-9))
        self.log_moved = ln(2.0 * prior.jump_rate + prior.miscount_rate)
        mean, sd = prior.first_drift(stitches, log.target_drift)
        self.carried = [
            _Carried(0.0, mean, self.m2, 0.0, (scale * sd) ** 2, {}, ln(share))
            for scale, share in _DRIFTS
        ]

    def left_out(self, gap: int, turns: int) -> float:
        """Return the log chance that ``gap`` - 1 rounds were left out, ``turns`` repeats passed."""
        unread = round(gap * self.repeats) - turns - 1
        return _LEFT_OUT * max(min(gap - 1, unread), 0)

    def follow(
        self, i: int, gap: int, column: int, stitch: float, period: float, told: int | None
    ) -> None:
        """Take in reading ``i``, ``gap`` rounds after the one before."""
        event = self.events.get(i)
        for own in self.carried:
            own.pass_rounds(gap, event, self.w2, self.v2)
        first = self.carried[0]
        if column not in first.columns:
            shift = told or 0
            for own in self.carried:
                over = shift * period
                own.choose(column, _Column(stitch + over - own.x, over, shift))
            return
        begun = i >= _BEGUN * len(first.columns)
        if begun and len(self.carried) == 1:
            own, after = first, first.columns[column]
            miss, total = stitch + after.over - after.home - own.x, own.pxx + 2.0 * self.m2
            if turns := self._nearest(first, column, stitch, period, told):
                ways = self._turned(first, gap, column, turns, stitch, period)
                own, after, miss, total, _ = max(ways, key=lambda way: way.chance)
            # the second nearest repeat is period - |miss| away
            if told is not None or period * (0.5 * period - abs(miss)) >= total * _CLEAR:
                if miss * miss > _FAR * total:
                    miss = copysign(sqrt(_FAR * total), miss)
                own.take(column, after, miss, total)
                self.carried[0] = own
                return
        self.carried = _kept(
            [
                c
                for own in self.carried
                for c in self._choices(own, gap, column, stitch, period, told)
            ],
            _CLEAR if begun else _FORGOTTEN,
        )

    def _nearest(
        self, own: _Carried, column: int, stitch: float, period: float, told: int | None
    ) -> int:
        """Return how many repeats over the edge since its last reading are the likeliest."""
        at = own.columns[column]
        if told is not None:
            return told - at.shift
        # the marks of the yarn lie (N + d) / k apart
        apart = period + own.d / self.repeats if abs(own.d) < _SLOW * period else period
        return round((at.home + own.x - stitch - at.over) / apart)

    def _turned(
        self, own: _Carried, gap: int, column: int, turns: int, stitch: float, period: float
    ) -> list[_Turned]:
        """Return what becomes of a reading that lies ``turns`` repeats further over the edge.

        Along the strand a mark that many repeats on is as many k-th parts of a round away; by the
        round it belongs to the same round.
        """
        at = own.columns[column]
        after = _Column(at.home, at.over + turns * period, at.shift + turns)
        y = stitch + after.over - at.home
        if not turns:
            return [self._missed(own, after, y, self.left_out(gap, 0))]
        followed = at.home + own.x - at.over
        passed = _PASSED_OVER * (0.0 <= followed <= period * self.repeats)
        strand = own.copy(own.log_weight)
        strand.turn(-turns / self.repeats)
        along = self.log_strand + self.left_out(gap, turns) + passed
        by_round = self.log_round + self.left_out(gap, 0) + passed
        return [self._missed(strand, after, y, along), self._missed(own, after, y, by_round)]

    def _missed(self, own: _Carried, after: _Column, y: float, log_prior: float) -> _Turned:
        miss, total = y - own.x, own.pxx + 2.0 * self.m2
        chance = log_prior - 0.5 * (miss * miss / total + ln(2.0 * pi * total))
        return _Turned(own, after, miss, total, chance)

    def _choices(
        self, own: _Carried, gap: int, column: int, stitch: float, period: float, told: int | None
    ) -> Iterator[_Carried]:
        """Give what becomes of a reading of the log: each near repeat, and a miscount."""
        at, likeliest = own.columns[column], self._nearest(own, column, stitch, period, told)
        for turns in range(likeliest - 1, likeliest + 2) if told is None else (likeliest,):
            for way in self._turned(own, gap, column, turns, stitch, period):
                new = way.state.copy(own.log_weight + self.log_good + way.chance)
                new.take(column, way.after, way.miss, way.variance)
                if abs(new.d) < _SLOW * period or not turns:
                    yield new
        nearest = _Column(at.home, at.over + likeliest * period, at.shift + likeliest)
        odd = own.log_weight - ln(period) + self.left_out(gap, likeliest)
        new = own.copy(odd + self.log_bad)
        new.choose(column, nearest)
        yield new
        # the colours moved once, or the first reading was the odd one
        new = own.copy(odd + self.log_moved)
        new.choose(column, nearest._replace(home=stitch + nearest.over - own.x))
        new.pxx += self.m2
        yield new


def _kept(carried: list[_Carried], least: float) -> list[_Carried]:
    """Return those within ``least`` of the likeliest, those that have come to the same in one."""
    carried.sort(key=lambda own: -own.log_weight)
    top = carried[0].log_weight
    kept: list[_Carried] = []
    for own in carried:
        if own.log_weight < top - least or len(kept) == _MOST_CARRIED:
            break
        for other in kept:
            if (
                abs(own.x - other.x) < _ALIKE
                and abs(own.d - other.d) < _ALIKE
                and all(at.shift == other.columns[c].shift for c, at in own.columns.items())
            ):
                other.log_weight += ln(1.0 + exp(own.log_weight - other.log_weight))
                break
        else:
            kept.append(own)
    for own in kept:
        own.log_weight -= top
    return kept


def _settled(carried: list[_Carried]) -> Unwrapping:
    """Return the likeliest unwrapping, and those that end on another drift."""
    whole = sum(exp(own.log_weight) for own in carried)
    groups: list[tuple[_Carried, float]] = []
    for own in sorted(carried, key=lambda c: -c.log_weight):
        mass = exp(own.log_weight) / whole
        for g, (leader, other) in enumerate(groups):
            if abs(leader.d - own.d) < _APART or np.array_equal(_shifts(leader), _shifts(own)):
                groups[g] = (leader, other + mass)
                break
        else:
            groups.append((own, mass))
    (leader, chance), *rest = sorted(groups, key=lambda g: -g[1])
    others = tuple((_shifts(c), c.d, m) for c, m in rest if m > _WORTH_ASKING)
    return Unwrapping(_shifts(leader), chance, others)


def _shifts(own: _Carried) -> IntArray:
    found, trail = [], own.trail
    while trail is not None:
        found.append(trail.shift)
        trail = trail.before
    return np.array(found[::-1], dtype=np.int64)


def _events(log: DriftLog, readings: Sorted, prior: Prior) -> dict[int, _Event]:
    """Return what was told to happen just before a reading, by the index of the reading."""
    events: dict[int, _Event] = {}
    first = int(readings.round[0])

    def at(number: int) -> int | None:
        place = int(np.searchsorted(readings.round, number))
        return place if number > first and place < len(readings.round) else None

    def add(number: int, place: int, step: _Event, *, shown: bool) -> None:
        before = events.get(place, _Event())
        # of a needle or a tension the round's own reading shows a part, of a count nothing
        share = float(readings.stitch[place] / readings.stitches[place]) if shown else 0.0
        unseen = (1.0 - share) * (readings.round[place] == number)
        events[place] = before._replace(
            turn=before.turn * step.turn,
            add=before.add * step.turn + step.add,
            drift_var=before.drift_var + step.drift_var,
            move=before.move - unseen * step.add,
            move_var=before.move_var + (unseen**2) * step.drift_var,
        )

    for old, new in zip(log.stints, log.stints[1:], strict=False):
        if (place := at(new.first_round)) is not None:
            change = stint_change(old, new, log, prior)
            yarn = _Event(change.turn, change.add, change.sd**2)
            add(new.first_round, place, yarn, shown=True)
            add(new.first_round, place, _Event(add=change.count), shown=False)
    before = 0.0
    for asked in sorted(log.tension, key=lambda t: t.first_round):
        step = tension_step(log, asked.percent) - before
        before += step
        if (place := at(asked.first_round)) is not None:
            spread = (prior.tension_response_sd * step) ** 2
            given = _Event(add=prior.tension_response_mean * step, drift_var=spread)
            add(asked.first_round, place, given, shown=True)
    for fix in log.fixes:
        if (place := at(fix.after_round + 1)) is not None:
            own = events.get(place, _Event())
            events[place] = own._replace(
                move=own.move - fix.taken_out,
                move_var=own.move_var + fix_miss(fix.taken_out) ** 2,
            )
    return events
