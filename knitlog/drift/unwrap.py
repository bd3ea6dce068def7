"""Undoing the wrap: which turn of the colours a reading belongs to.

A position is known only up to a whole number of visible repeats (stitches / repeats
a round).  Most logs are followed by one cheap filter that compares each reading with
what the drift so far predicts.  Where the nearest repeat is not clearly the right one, many
readings of the log are carried side by side, each with its own filter and its own
weight (a Gaussian-sum filter; Alspach & Sorenson 1972), and if two remain plausible at the
end, both are handed on so that the knitter can be asked.
"""

from bisect import bisect_left
from dataclasses import dataclass
from math import copysign, sqrt
from typing import NamedTuple

import numpy as np

from knitlog.drift.log import DriftLog, Fix, Stint
from knitlog.drift.mixture import weights
from knitlog.drift.prior import Prior
from knitlog.drift.response import stint_change
from knitlog.drift.result import FloatArray, IntArray

_BEAM = 40
_CLEAR = 7.0
"""Log odds at which the nearest repeat is clearly the right one."""
_FAR = 3.5**2
"""Squared miss, in variances, beyond which a reading is taken for less than it says."""


@dataclass(frozen=True, slots=True)
class Sorted:
    """The readings in knitting order, as arrays of shape (m,)."""

    order: IntArray
    """Index into the log's readings."""
    round: IntArray
    change: IntArray
    """Column of each reading, from 0, in order of the changes' numbers."""
    stitch: FloatArray
    """Position in knitting order, stitches."""
    stitches: FloatArray
    """Stitches in that round."""
    period: FloatArray
    """Visible repeat, stitches."""
    stint: IntArray
    """Index of the stint."""
    sitting: IntArray | None
    """Sitting of each reading; None unless all are known."""
    changes: tuple[int, ...]
    """The changes' numbers, a column each."""


@dataclass(frozen=True, slots=True)
class Unwrapping:
    """How many visible repeats to add to each reading, and how sure that is."""

    shifts: IntArray
    """Shape (m,), in the order of :class:`Sorted`."""
    probability: float
    others: tuple[tuple[IntArray, float, float], ...]
    """Rival unwrappings: (shifts, drift in stitches/round, probability)."""


def sort_readings(log: DriftLog) -> Sorted:
    """Return the log's readings in knitting order; flat work is turned the knitting way."""
    changes = tuple(sorted({r.change for r in log.readings}))
    column = {change: i for i, change in enumerate(changes)}
    firsts = np.array([s.first_round for s in log.stints])
    rounds = np.array([r.round for r in log.readings], dtype=np.int64)
    columns = np.array([column[r.change] for r in log.readings], dtype=np.int64)
    stint = np.maximum(np.searchsorted(firsts, rounds, side="right") - 1, 0)
    counts = np.array([float(s.stitches) for s in log.stints])[stint]
    seen = np.array([r.stitch for r in log.readings])
    if log.flat:
        # wrong-side rows are worked the other way, as seen from the right side
        seen = np.where(rounds % 2 == 0, counts - seen, seen)
    order = np.lexsort((columns, rounds))
    sittings = [r.sitting for r in log.readings]
    known = [s for s in sittings if s is not None]
    return Sorted(
        order=order,
        round=rounds[order],
        change=columns[order],
        stitch=seen[order],
        stitches=counts[order],
        period=(counts / max(log.repeats, 1.0))[order],
        stint=stint[order],
        sitting=np.array(known, dtype=np.int64)[order] if len(known) == len(sittings) else None,
        changes=changes,
    )


def fixed_shifts(log: DriftLog, order: IntArray) -> list[int | None]:
    """Return the shifts the knitter has settled herself."""
    return [log.readings[i].period_shift for i in order]


def unwrap(log: DriftLog, readings: Sorted, prior: Prior) -> Unwrapping:
    """Return the unwrapping of ``readings``.

    The noises are taken a little above their prior medians: only whole repeats are
    decided here, the fit weighs the rest.
    """
    quick = _follow(log, readings, prior)
    if quick is not None:
        return Unwrapping(quick, 1.0, ())
    return _carry_many(log, readings, prior)


class _Step(NamedTuple):
    """What happens between two readings: gap in rounds, known moves and their spread."""

    gap: int
    move: float
    move_var: float
    turn: float
    """Factor on the drift (after a change of needle or count)."""
    add: float
    """Added to the drift."""
    drift_var: float


def _steps(log: DriftLog, readings: Sorted, prior: Prior) -> list[_Step]:
    steps = []
    rounds, stints = readings.round.tolist(), readings.stint.tolist()
    fixes = sorted(log.fixes, key=lambda f: f.after_round)
    marks = [fix.after_round for fix in fixes]
    # most steps are plain knitting, and alike but for their gap
    plain: dict[int, _Step] = {}
    before, stint_before = rounds[0], stints[0]
    made = bisect_left(marks, before)
    for number, stint in zip(rounds, stints, strict=True):
        gap = number - before
        until = bisect_left(marks, number) if gap else made
        if until == made and stint == stint_before:
            step = plain.get(gap)
            if step is None:
                step = plain[gap] = _Step(gap, 0.0, 0.0, 1.0, 0.0, 0.0)
        else:
            changes = _changes(log, stint_before, stint)
            step = _eventful_step(log, gap, fixes[made:until], changes, prior)
        steps.append(step)
        before, stint_before, made = number, stint, until
    return steps


def _eventful_step(
    log: DriftLog, gap: int, fixes: list[Fix], changes: list[tuple[Stint, Stint]], prior: Prior
) -> _Step:
    move = move_var = add = drift_var = 0.0
    turn = 1.0
    for fix in fixes:
        move -= fix.taken_out
        move_var += (0.5 + 0.3 * fix.taken_out) ** 2
    for old, new in changes:
        change = stint_change(old, new, log, prior)
        turn, add = turn * change.turn, add * change.turn + change.add
        drift_var += change.sd**2
        move_var += change.step_sd**2
    return _Step(gap, move, move_var, turn, add, drift_var)


def _changes(log: DriftLog, first: int, last: int) -> list[tuple[Stint, Stint]]:
    return [(log.stints[i], log.stints[i + 1]) for i in range(first, last)]


def _follow(log: DriftLog, readings: Sorted, prior: Prior) -> IntArray | None:
    """Follow one filter in plain numbers; None where a repeat is not clear."""
    scale0 = float(readings.stitches[0])
    w2 = (1.5 * prior.tension_noise_median) ** 2 * scale0 / 128.0
    m2 = (1.3 * prior.reading_noise_median) ** 2
    drift, sd = prior.first_drift(scale0, log.target_drift)
    x, pxx, pxd, pdd = 0.0, 0.0, 0.0, sd * sd
    homes: dict[int, float] = {}
    shifts = [0] * len(readings.round)
    known = fixed_shifts(log, readings.order)
    rows = zip(
        _steps(log, readings, prior),
        readings.change.tolist(),
        readings.stitch.tolist(),
        (readings.stitches / scale0).tolist(),
        readings.period.tolist(),
        known,
        strict=True,
    )
    seen = 0
    for i, (step, column, stitch, ratio, period, fixed) in enumerate(rows):
        gap, move, move_var, turn, add, drift_var = step
        if turn != 1.0 or add or drift_var:
            drift = turn * drift + add
            pxd, pdd = turn * pxd, turn * turn * pdd + drift_var
        x += gap * drift + move
        grown = gap * pdd
        pxx += gap * (pxd + pxd + grown + w2) + move_var
        pxd += grown
        if column not in homes:
            shifts[i] = fixed or 0
            homes[column] = (stitch + shifts[i] * period - x) / ratio
            if seen == 0:
                pxx = m2
            seen += 1
            continue
        expected = homes[column] * ratio + x
        total = pxx + 2.0 * m2
        if fixed is None:
            shift = round((expected - stitch) / period)
            miss = stitch + shift * period - expected
            # the second nearest repeat is period - |miss| away
            if period * (period - 2.0 * abs(miss)) < 2.0 * total * _CLEAR:
                return None
        else:
            shift = fixed
            miss = stitch + shift * period - expected
        if miss * miss > _FAR * total:
            if seen < 4 * len(homes):
                return None
            miss = copysign(sqrt(_FAR * total), miss)
        shifts[i] = shift
        gain_x, gain_d = pxx / total, pxd / total
        x += gain_x * miss
        drift += gain_d * miss
        pdd -= gain_d * pxd
        pxd -= gain_x * pxd
        pxx -= gain_x * pxx
        seen += 1
    return np.array(shifts, dtype=np.int64)


def _carry_many(log: DriftLog, readings: Sorted, prior: Prior) -> Unwrapping:
    scale0 = float(readings.stitches[0])
    w2 = (1.3 * prior.tension_noise_median) ** 2 * scale0 / 128.0
    m2 = (1.2 * prior.reading_noise_median) ** 2
    mean, sd = prior.first_drift(scale0, log.target_drift)
    x, d = np.zeros(1), np.full(1, mean)
    pxx, pxd, pdd = np.zeros(1), np.zeros(1), np.full(1, sd * sd)
    log_weight = np.zeros(1)
    homes: dict[int, FloatArray] = {}
    known = fixed_shifts(log, readings.order)
    trail: list[tuple[IntArray, IntArray]] = []
    log_good, log_bad = np.log1p(-2.0 * prior.miscount_rate), np.log(2.0 * prior.miscount_rate)
    for i, step in enumerate(_steps(log, readings, prior)):
        gap, column = step.gap, int(readings.change[i])
        stitch, period = float(readings.stitch[i]), float(readings.period[i])
        ratio = float(readings.stitches[i]) / scale0
        d = step.turn * d + step.add
        pxd, pdd = step.turn * pxd, step.turn**2 * pdd + step.drift_var
        x = x + gap * d + step.move
        pxx = pxx + 2.0 * gap * pxd + gap * gap * pdd + gap * w2 + step.move_var
        pxd = pxd + gap * pdd
        if column not in homes:
            shift = np.full(len(x), known[i] or 0, dtype=np.int64)
            homes[column] = (stitch + shift * period - x) / ratio
            if i == 0:
                pxx = np.full(1, m2)
            trail.append((np.arange(len(x)), shift))
            continue
        expected = homes[column] * ratio + x
        total = pxx + 2.0 * m2
        guess = np.floor((expected - stitch) / period)
        fixed = known[i]
        choices = (
            np.stack([guess - 1, guess, guess + 1, guess + 2])
            if fixed is None
            else np.full((1, len(x)), float(fixed))
        )
        miss = stitch + choices * period - expected
        fit = log_good - 0.5 * (miss**2 / total + np.log(2.0 * np.pi * total))
        nearest = np.rint((expected - stitch) / period) if fixed is None else choices[0]
        scores = np.vstack([fit, np.full((1, len(x)), log_bad - np.log(period))]) + log_weight
        picks = np.vstack([choices, nearest[None]]).astype(np.int64)
        best = np.argsort(scores, axis=None)[::-1][:_BEAM]
        best = best[scores.ravel()[best] > scores.max() - 25.0]
        row, parent = np.unravel_index(best, scores.shape)
        took = row < len(choices)
        gap_miss = np.where(took, np.vstack([miss, np.zeros((1, len(x)))])[row, parent], 0.0)
        hold = np.where(took, 1.0, 0.0)
        gain_x = hold * (pxx / total)[parent]
        gain_d = hold * (pxd / total)[parent]
        x = x[parent] + gain_x * gap_miss
        d = d[parent] + gain_d * gap_miss
        old_xd = pxd[parent]
        pxx = pxx[parent] * (1.0 - gain_x)
        pdd = pdd[parent] - gain_d * old_xd
        pxd = old_xd * (1.0 - gain_x)
        homes = {c: h[parent] for c, h in homes.items()}
        log_weight = scores[row, parent] - scores.max()
        trail.append((parent, picks[row, parent]))
    return _settle(trail, log_weight, d)


def _settle(
    trail: list[tuple[IntArray, IntArray]], log_weight: FloatArray, drift: FloatArray
) -> Unwrapping:
    weight = weights(log_weight)
    at = np.arange(len(weight))
    shifts = np.zeros((len(weight), len(trail)), dtype=np.int64)
    for i in range(len(trail) - 1, -1, -1):
        parent, shift = trail[i]
        shifts[:, i] = shift[at]
        at = parent[at]
    # two readings of the log are one if they end on the same drift
    order = np.argsort(weight)[::-1]
    groups: list[tuple[int, float]] = []
    for i in order.tolist():
        for g, (leader, mass) in enumerate(groups):
            if abs(drift[leader] - drift[i]) < 1.5:
                groups[g] = (leader, mass + float(weight[i]))
                break
        else:
            groups.append((i, float(weight[i])))
    (leader, mass), *rest = sorted(groups, key=lambda g: -g[1])
    others = tuple((shifts[i], float(drift[i]), m) for i, m in rest if m > 0.02)
    return Unwrapping(shifts[leader], mass, others)
