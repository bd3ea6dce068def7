"""Undoing the wrap: which turn of the colours a reading belongs to.

A position is known only up to a whole number of visible repeats (stitches / repeats
a round).  Most logs are followed by one cheap filter that compares each reading with
what the drift so far predicts, all of them at once where nothing else is in the log.  Where
the nearest repeat is not clearly the right one, many readings of the log are carried side by
side, each with its own filter and its own weight (a Gaussian-sum filter; Alspach & Sorenson
1972), and if two remain plausible at the end, both are handed on so that the knitter can be
asked.
"""

from dataclasses import dataclass
from math import copysign, sqrt
from typing import NamedTuple

import numpy as np

from knitlog.drift.log import DriftLog, Fix, Stint
from knitlog.drift.mixture import weights
from knitlog.drift.prior import REFERENCE_STITCHES, Prior
from knitlog.drift.readings import Sorted
from knitlog.drift.response import stint_change
from knitlog.drift.result import FloatArray, IntArray

_BEAM = 40
_CLEAR = 7.0
"""Log odds at which the nearest repeat is clearly the right one."""
_FAR = 3.5**2
"""Squared miss, in variances, beyond which a reading is taken for less than it says."""


@dataclass(frozen=True, slots=True)
class Unwrapping:
    """How many visible repeats to add to each reading, and how sure that is."""

    shifts: IntArray
    """Shape (m,), in the order of :class:`Sorted`."""
    probability: float
    others: tuple[tuple[IntArray, float, float], ...]
    """Rival unwrappings: (shifts, drift in stitches/round, probability)."""


def fixed_shifts(log: DriftLog, order: IntArray) -> list[int | None]:
    """Return the shifts the knitter has settled herself."""
    return [log.readings[i].period_shift for i in order]


def unwrap(log: DriftLog, readings: Sorted, prior: Prior) -> Unwrapping:
    """Return the unwrapping of ``readings``.

    The noises are taken a little above their prior medians: only whole repeats are
    decided here, the fit weighs the rest.
    """
    quick = _follow_at_once(log, readings, prior)
    if quick is None:
        quick = _follow(log, readings, prior)
    if quick is not None:
        return Unwrapping(quick, 1.0, ())
    return _carry_many(log, readings, prior)


class _Event(NamedTuple):
    """What happened between two readings beside knitting: known moves and their spread."""

    move: float
    move_var: float
    turn: float
    """Factor on the drift (after a change of needle or count)."""
    add: float
    """Added to the drift."""
    drift_var: float


def _events(log: DriftLog, readings: Sorted, prior: Prior) -> dict[int, _Event]:
    """Return what happened just before a reading, by the index of the reading."""
    rounds, stints = readings.round, readings.stint
    fixes: dict[int, list[Fix]] = {}
    for fix in log.fixes:
        place = int(np.searchsorted(rounds, fix.after_round, side="right"))
        if 0 < place < len(rounds):
            fixes.setdefault(place, []).append(fix)
    changed = np.flatnonzero(np.diff(stints)) + 1
    return {
        i: _event(log, fixes.get(i, []), _changes(log, int(stints[i - 1]), int(stints[i])), prior)
        for i in {*fixes, *changed.tolist()}
    }


def _event(
    log: DriftLog, fixes: list[Fix], changes: list[tuple[Stint, Stint]], prior: Prior
) -> _Event:
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
    return _Event(move, move_var, turn, add, drift_var)


def _changes(log: DriftLog, first: int, last: int) -> list[tuple[Stint, Stint]]:
    return [(log.stints[i], log.stints[i + 1]) for i in range(first, last)]


def _gaps(readings: Sorted) -> list[int]:
    """Return the rounds from each reading's predecessor to itself, 0 for the first."""
    gaps: list[int] = np.diff(readings.round, prepend=readings.round[0]).tolist()
    return gaps


def _noises(readings: Sorted, prior: Prior) -> tuple[float, float]:
    """Return the variances w^2 and m^2 for following a log, stitches^2."""
    w2 = (1.5 * prior.tension_noise_median) ** 2 * float(readings.stitches[0])
    w2 /= REFERENCE_STITCHES
    return w2, (1.3 * prior.reading_noise_median) ** 2


def _follow_at_once(log: DriftLog, readings: Sorted, prior: Prior) -> IntArray | None:
    """Follow the filter of :func:`_follow` through a whole log at once, where it is plain.

    The repeats are guessed, each from the reading before.  With them the filter is linear, and
    its misses tell whether it would have chosen every one of them.  None where it would not,
    or where the log holds more than readings of one change.
    """
    one_stint = readings.stint[0] == readings.stint[-1]
    if len(readings.changes) > 1 or log.fixes or not one_stint or len(readings.round) < 2:
        return None
    if any(r.period_shift is not None for r in log.readings):
        return None
    stitch, period = readings.stitch, float(readings.period[0])
    drift, sd = prior.first_drift(float(readings.stitches[0]), log.target_drift)
    gaps = np.diff(readings.round)
    guessed = np.cumsum(np.rint((drift * gaps - np.diff(stitch)) / period))
    moved = stitch[1:] + period * guessed - stitch[0]
    miss, total = one_step_misses(moved, gaps, (drift, sd), _noises(readings, prior))
    clear = period * (0.5 * period - np.abs(miss)) >= total * _CLEAR
    if not np.all(clear & (miss**2 <= _FAR * total)):
        return None
    return np.concatenate(([0], guessed.astype(np.int64)))


def one_step_misses(
    moved: FloatArray, gaps: IntArray, drift: tuple[float, float], noises: tuple[float, float]
) -> tuple[FloatArray, FloatArray]:
    """Return by how much each reading misses what those before it foretell, and the variances.

    ``moved`` (shape (n,), stitches) holds how far each reading lies past the first one, ``gaps``
    the rounds from the one before, ``drift`` the mean and sd of what is believed of the drift,
    ``noises`` w^2 and m^2.  The forward pass of a tridiagonal factor is the filter of the path
    without its drift; the drift is then found from that filter's misses, one after the other
    (the augmented filter; Durbin & Koopman 2012, section 5.7).
    """
    from scipy.linalg import lapack

    w2, m2 = noises
    mean, sd = drift
    steps = gaps * w2
    steps[0] += m2
    # the path's precision, each reading taken with its home's own spread
    main = 1.0 / steps + 0.5 / m2
    main[:-1] += 1.0 / steps[1:]
    multipliers = lapack.dpttrf(main, -1.0 / steps[1:])[1] if len(steps) > 1 else steps[1:]
    lower = np.ones((2, len(steps)), order="F")
    lower[1, :-1] = multipliers
    columns = np.stack((moved, np.cumsum(gaps)))
    half = lapack.dtbtrs(lower, columns.T, uplo="L", diag="U")[0].T
    variance = steps.copy()
    variance[1:] /= 1.0 + multipliers
    columns[:, 1:] -= half[:, :-1] * (variance - steps)[1:] * (0.5 / m2)
    variance += 2.0 * m2

    told, rate = columns
    precision = 1.0 / sd**2 + _before(rate**2 / variance)
    miss = told - rate * (mean / sd**2 + _before(rate * told / variance)) / precision
    return miss, variance + rate**2 / precision


def _before(values: FloatArray) -> FloatArray:
    """Return the sum of all that goes before each of ``values``."""
    sums: FloatArray = np.cumsum(values) - values
    return sums


def _follow(log: DriftLog, readings: Sorted, prior: Prior) -> IntArray | None:
    """Follow one filter in plain numbers; None where a repeat is not clear."""
    scale0 = float(readings.stitches[0])
    w2, m2 = _noises(readings, prior)
    drift, sd = prior.first_drift(scale0, log.target_drift)
    x, pxx, pxd, pdd = 0.0, 0.0, 0.0, sd * sd
    homes: dict[int, float] = {}
    shifts: list[int] = []
    events = _events(log, readings, prior)
    rows = zip(
        _gaps(readings),
        readings.change.tolist(),
        readings.stitch.tolist(),
        (readings.stitches / scale0).tolist(),
        readings.period.tolist(),
        fixed_shifts(log, readings.order),
        strict=True,
    )
    for i, (gap, column, stitch, ratio, period, fixed) in enumerate(rows):
        if i in events:
            move, move_var, turn, add, drift_var = events[i]
            x, drift = x + move, turn * drift + add
            pxx, pxd, pdd = pxx + move_var, turn * pxd, turn * turn * pdd + drift_var
        x += gap * drift
        grown = gap * pdd
        pxx += gap * (pxd + pxd + grown + w2)
        pxd += grown
        if column not in homes:
            shift = fixed or 0
            shifts.append(shift)
            homes[column] = (stitch + shift * period - x) / ratio
            if i == 0:
                pxx = m2
            continue
        expected = homes[column] * ratio + x
        total = pxx + m2 + m2
        shift = round((expected - stitch) / period) if fixed is None else fixed
        miss = stitch + shift * period - expected
        # the second nearest repeat is period - |miss| away
        if fixed is None and period * (0.5 * period - abs(miss)) < total * _CLEAR:
            return None
        if miss * miss > _FAR * total:
            if i < 4 * len(homes):
                return None
            miss = copysign(sqrt(_FAR * total), miss)
        shifts.append(shift)
        gain_x, gain_d = pxx / total, pxd / total
        x += gain_x * miss
        drift += gain_d * miss
        pdd -= gain_d * pxd
        pxd -= gain_x * pxd
        pxx -= gain_x * pxx
    return np.array(shifts, dtype=np.int64)


def _carry_many(log: DriftLog, readings: Sorted, prior: Prior) -> Unwrapping:
    scale0 = float(readings.stitches[0])
    w2 = (1.3 * prior.tension_noise_median) ** 2 * scale0 / REFERENCE_STITCHES
    m2 = (1.2 * prior.reading_noise_median) ** 2
    mean, sd = prior.first_drift(scale0, log.target_drift)
    x, d = np.zeros(1), np.full(1, mean)
    pxx, pxd, pdd = np.zeros(1), np.zeros(1), np.full(1, sd * sd)
    log_weight = np.zeros(1)
    homes: dict[int, FloatArray] = {}
    known = fixed_shifts(log, readings.order)
    trail: list[tuple[IntArray, IntArray]] = []
    log_good, log_bad = np.log1p(-2.0 * prior.miscount_rate), np.log(2.0 * prior.miscount_rate)
    events = _events(log, readings, prior)
    for i, gap in enumerate(_gaps(readings)):
        column = int(readings.change[i])
        stitch, period = float(readings.stitch[i]), float(readings.period[i])
        ratio = float(readings.stitches[i]) / scale0
        if i in events:
            move, move_var, turn, add, drift_var = events[i]
            x, d = x + move, turn * d + add
            pxx, pxd, pdd = pxx + move_var, turn * pxd, turn**2 * pdd + drift_var
        x = x + gap * d
        pxx = pxx + 2.0 * gap * pxd + gap * gap * pdd + gap * w2
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
