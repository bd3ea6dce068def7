"""Within the round: which part of it takes more yarn.

Two colour changes a known length of yarn apart, so many stitches apart: their quotient is
the yarn per stitch between them.  A tighter half or a loose join shows here while
the drift of the whole round may be nil.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from knitlog.drift.fit_result import Estimate
from knitlog.drift.log import DriftLog
from knitlog.drift.mixture import estimate, weights
from knitlog.drift.weighed import Weighed


@dataclass(frozen=True, slots=True)
class Section:
    """The part of the round between two colour changes."""

    from_change: int
    to_change: int
    """The first change of the next round where the section runs over its end."""
    from_stitch: float
    """Where it begins in the first round, stitches."""
    yarn_mm: float
    """Yarn between the two changes, mm (in repeats where the repeat's length is not known)."""
    stitches: Estimate
    """Stitches that yarn makes."""
    yarn_per_stitch_mm: Estimate
    """mm (in repeats where the repeat's length is not known)."""
    against_round_percent: Estimate
    """Yarn per stitch here against the whole round's, %."""


def marks(log: DriftLog, changes: tuple[int, ...]) -> tuple[float, ...] | None:
    """Return where each change lies along the yarn, mm; None where nobody can know.

    Stated marks count; without them, as many changes as repeats lie one repeat apart.
    """
    length = log.repeat_length_mm or 1.0
    if all(change in log.change_marks_mm for change in changes):
        placed = tuple(log.change_marks_mm[change] for change in changes)
        return placed if all(a < b for a, b in pairwise(placed)) else None
    if len(changes) == log.repeats:
        return tuple(i * length for i in range(len(changes)))
    return None


def sections(log: DriftLog, best: Weighed, now: Estimate) -> tuple[Section, ...]:
    """Return the sections of the round; none with fewer than two colour changes."""
    changes = best.line.readings.changes
    placed = marks(log, changes)
    if placed is None or len(changes) < 2:
        return ()
    count = float(best.line.readings.stitches[-1])
    first = float(best.line.readings.stitches[0])
    whole_yarn = log.repeats * (log.repeat_length_mm or 1.0)
    mix, shift = best.mixture, best.rough
    weight = weights(mix.log_weight)
    homes = len(changes)
    drift = now.mean - log.target_drift
    p = len(shift)
    told = []
    for c in range(homes):
        row = np.zeros(p)
        begin = float(weight @ mix.coefficients[:, c] + shift[c])
        if c + 1 < homes:
            row[c + 1], row[c] = count / first, -count / first
            extra, yarn = 0.0, placed[c + 1] - placed[c]
        else:
            # the rest of the round, and what the drift adds to it: N + d - (h_last - h_first)
            row[0], row[c] = count / first, -count / first
            extra, yarn = count + now.mean, whole_yarn - (placed[c] - placed[0])
        mean = (mix.coefficients + shift) @ row + extra
        variance = np.einsum("p,npq,q->n", row, mix.coefficient_cov, row)
        if c + 1 == homes:
            variance = variance + now.sd**2
        long = estimate(weight, mean, variance)
        if long.low95 <= 0 or yarn <= 0:
            return ()
        round_yarn = whole_yarn / (count + log.target_drift + drift)
        told.append(
            Section(
                from_change=changes[c],
                to_change=changes[(c + 1) % homes],
                from_stitch=begin,
                yarn_mm=yarn,
                stitches=long,
                yarn_per_stitch_mm=_quotient(yarn, long, 1.0, 0.0),
                against_round_percent=_quotient(yarn, long, 100.0 / round_yarn, -100.0),
            )
        )
    return tuple(told)


def _quotient(yarn: float, stitches: Estimate, times: float, plus: float) -> Estimate:
    top = yarn * times
    # E[1/x] to second order
    mean = top / stitches.mean * (1.0 + (stitches.sd / stitches.mean) ** 2)
    return Estimate(
        mean + plus,
        top * stitches.sd / stitches.mean**2,
        top / stitches.high95 + plus,
        top / stitches.low95 + plus,
    )
