"""What the rest of a project costs, in each way the truth may be.

Worked out backwards from the last round (dynamic programming; Bellman, Dynamic
Programming, 1957).  Before each round the knitter may change her way of working c, take
offset out, both, or neither; the round is then knitted and lies in tolerance or not.
With o the offset and d the drift of the way of working,

    after(o, c) = E[ cost of a round out of tolerance at o' + V(o', c) ],
                  o' = o + d[c] + tension noise
    settled(o, c) = least of  after(o, c)
                              minutes of a fix of x + after(o - x + miss, c)
    V(o, c) = least over c' of  minutes of changing c to c' + settled(o, c')

A change is worked partly in the old way: the colour change logged at a share h of the
round feels h of it in its first round.  In u = o + (1 - h) d[c] a change moves nothing,
so the tables are kept in u.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from knitlog.advice.fixes import FixWay
from knitlog.advice.limits import Limits
from knitlog.advice.shares import chance_outside, spreading

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
TableArray = npt.NDArray[np.float32]

_TABLE = np.float32
"""Single precision: minutes to a few thousandths, at half the time."""

STEP = 0.5
"""Stitches between neighbours on the grid of u; twice that where the colours lie far off, so
that as many neighbours reach out to them."""
LONGEST = 32
"""Rounds worked out one by one; each further round adds what the last one added."""
FIX_SIZES = np.array([1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0])
"""Fixes weighed in later rounds, stitches either way."""
NOTICED = 1e-3
"""Differences below this are rounding, minutes."""
_FARTHEST = 27.5
"""The grid reaches no further than this, stitches: all is lost out there, or far from due.  It
keeps each product of the tables (a way of working at a time) so small that the linear algebra
does not wake further threads for it, which would cost more than they bring."""
_LARGE = 4.0
"""From this size on a fix misses as a large one, stitches."""


@dataclass(frozen=True, slots=True)
class Scene:
    """What the rest of a project turns on."""

    drift: FloatArray
    """Shape (C, S): ways of working by truths, stitches/round."""
    change_price: FloatArray
    """From row to column, shape (C, C): the work, and what the change does to the fabric."""
    later_price: FloatArray
    """The same where it may be planned on, infinite where not, shape (C, C).  How a needle
    not yet used will answer comes out only by using it, so no plan may count on that
    needle from afar; going back to one that is known it may."""
    home_share: float
    """How far into the round the logged colour change lies, 0 to 1."""
    tolerance: float
    tension_sd: float
    offset_sd: float
    """How well the offset is known when it is judged, stitches."""
    ways: tuple[FixWay, ...]
    round_out_minutes: float
    limits: Limits
    offset_now: float
    """Stitches; how far the grid must reach."""


@dataclass(frozen=True, slots=True)
class Rest:
    """The tables, by rounds left, way of working, truth and u."""

    scene: Scene
    u: FloatArray
    """Grid, stitches, shape (U,)."""
    step: float
    """Between neighbours on it, stitches."""
    shift: FloatArray
    """(1 - h) d, shape (C, S): u less the offset."""
    after: TableArray
    """With r + 1 rounds left, once all is decided, minutes, shape (R, C, S, U)."""
    settled: TableArray
    """With r + 1 rounds left, the way of working decided, shape (R, C, S, U)."""
    value: TableArray
    """With r + 1 rounds left, nothing decided, shape (R, C, S, U)."""

    def after_with(self, rounds_left: int) -> TableArray:
        """Return ``after`` with ``rounds_left`` to knit, shape (C, S, U)."""
        longest = len(self.after)
        if rounds_left <= 0:
            return np.zeros(self.after.shape[1:], dtype=_TABLE)
        if rounds_left <= longest:
            found: TableArray = self.after[rounds_left - 1]
            return found
        # far from the end every further round costs the same again
        gain = self.after[-1] - self.after[-2]
        beyond: TableArray = self.after[-1] + (rounds_left - longest) * gain
        return beyond

    def place(self, u: FloatArray) -> tuple[IntArray, FloatArray]:
        """Return index and fraction of ``u`` on the grid; the edge's beyond it."""
        at = np.clip((u - self.u[0]) / self.step, 0.0, len(self.u) - 1.0)
        low = np.minimum(at.astype(np.int64), len(self.u) - 2)
        return low, at - low


def fix_minutes(ways: tuple[FixWay, ...], taken_out: FloatArray) -> FloatArray:
    """Return the work of the cheaper way that can take out so much, minutes."""
    least: FloatArray = np.min([way.minutes(taken_out) for way in ways], axis=0)
    return least


def rest_of_project(scene: Scene, rounds_left: int) -> Rest:
    """Work out the tables for up to ``rounds_left`` rounds; at least one."""
    n_ways, n_truths = scene.drift.shape
    shift = (1 - scene.home_share) * scene.drift
    reach = max(
        abs(scene.offset_now) + float(np.abs(shift).max()) + 3.0,
        scene.tolerance + 6.0 + float(np.median(np.abs(scene.drift), axis=1).max()),
    )
    # the edge counts as lost, so it lies outside the tolerance
    farthest, step = max(_FARTHEST, scene.tolerance + 6.0), STEP
    if abs(scene.offset_now) + 3.0 > farthest:
        farthest, step = 2 * farthest, 2 * STEP
    reach = step * np.ceil(min(reach, farthest) / step)
    u = np.arange(-reach, reach + step / 2, step)
    n = len(u)
    shape = (n_ways, n_truths, n)
    outside = (
        scene.round_out_minutes
        * chance_outside(u - shift[:, :, None], scene.tolerance, scene.offset_sd, step)
    ).astype(_TABLE)
    # beyond the grid all is lost; its edge stands for all of that
    outside[:, :, [0, -1]] = scene.round_out_minutes
    noise = spreading(n, scene.tension_sd, step).astype(_TABLE)
    small_miss, large_miss = (
        spreading(n, scene.limits.miss(size), step).astype(_TABLE) for size in (2.5, 7.0)
    )
    # three-point interpolation (Abramowitz & Stegun 25.2.11): straight lines would blur
    at = np.clip(np.arange(n) + scene.drift[:, :, None] / step, 0, n - 1)
    middle = np.clip(np.rint(at).astype(np.int64), 1, n - 2)
    f = (at - middle).astype(_TABLE)
    below, above = f * (f - 1) / 2, f * (f + 1) / 2
    middle += (np.arange(n_ways * n_truths) * n).reshape(n_ways, n_truths, 1)
    fixes = [
        (round(x / step), x < _LARGE, _TABLE(minutes))
        for x, minutes in zip(FIX_SIZES, fix_minutes(scene.ways, FIX_SIZES), strict=True)
        if np.isfinite(minutes) and x / step < n
    ]
    longest = min(max(rounds_left, 1), LONGEST)
    after = np.empty((longest, *shape), dtype=_TABLE)
    settled = np.empty_like(after)
    value = np.empty_like(after)
    ahead = np.zeros(shape, dtype=_TABLE)
    change = scene.later_price[:, :, None, None].astype(_TABLE)
    for r in range(longest):
        # o' = o + d + noise: average over the noise, then slide by the drift
        noisy = ((ahead + outside) @ noise).reshape(-1)
        here = after[r]
        here[...] = noisy[middle] * (1 - f * f)
        here += noisy[middle - 1] * below + noisy[middle + 1] * above
        small, large = here @ small_miss, here @ large_miss
        best = settled[r]
        best[...] = here
        for k, is_small, minutes in fixes:
            landed = (small if is_small else large) + minutes
            np.minimum(best[:, :, k:], landed[:, :, :-k], out=best[:, :, k:])
            np.minimum(best[:, :, :-k], landed[:, :, k:], out=best[:, :, :-k])
        ahead = (change + best[None]).min(axis=1)
        value[r] = ahead
    return Rest(scene, u, step, shift, after, settled, value)
