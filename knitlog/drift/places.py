"""Where the colour changes should fall in each round: home, and places taken anew.

A home at stitch p is at p N' / N once the count has changed, as increases and decreases spread
round a round move a column.
"""

from dataclasses import dataclass

import numpy as np

from knitlog.drift.path import blended, rounds_of, smoothed
from knitlog.drift.prior import Prior
from knitlog.drift.result import FloatArray, IntArray
from knitlog.drift.timeline import Timeline
from knitlog.drift.weighed import Posterior, Weighed


@dataclass(frozen=True, slots=True)
class Places:
    """Unwrapped places, less the target's own drift, stitches.

    On the path a mark over the edge lies a whole N + d further, so that the path runs on evenly;
    an offset is told in whole visible repeats of N / k, as she counts.  The place moves by what
    the two differ by.
    """

    line: Timeline
    homes: FloatArray
    """Of each colour change in the first round logged, shape (c,)."""
    anew: tuple[tuple[int, float], ...] = ()
    """(first round, place of the first colour change in it), ascending."""

    @property
    def base(self) -> float:
        """Return the stitches of the first round logged."""
        return float(self.line.readings.stitches[0])

    def at(self, rounds: IntArray, column: IntArray | int = 0) -> FloatArray:
        """Return the place of colour changes (columns from 0) on the path in ``rounds``."""
        return self.counted(rounds, column) + self.line.apart_at(rounds, column)

    def counted(self, rounds: IntArray, column: IntArray | int = 0) -> FloatArray:
        """Return the same as she counts, whole visible repeats over the edge."""
        counts = self.line.stitches_at(rounds)
        home = self.homes[column]
        place: FloatArray = home * counts / self.base
        for first, stitch in self.anew:
            then = float(self.line.stitches_at(np.array([first]))[0])
            beside = (home - self.homes[0]) * counts / self.base
            place = np.where(rounds >= first, stitch * counts / then + beside, place)
        return place

    def anew_at(self, number: int) -> bool:
        """Tell whether the place of round ``number`` is one taken anew."""
        return any(first <= number for first, _ in self.anew)


def places_of(best: Weighed, posterior: Posterior, prior: Prior) -> Places:
    """Return the places of the log, those taken anew as fitted by the ``best`` hypothesis."""
    line, log = best.line, best.line.log
    homes = len(line.readings.changes)
    weight = np.exp(best.mixture.log_weight - best.mixture.log_weight.max())
    fitted = (weight / weight.sum()) @ best.mixture.coefficients[:, :homes] + best.rough[:homes]
    if not log.new_homes:
        return Places(line, fitted)
    share, mean, _ = blended(smoothed(best, prior), "position")
    path, rounds = share @ mean, rounds_of(best)
    drift = float(posterior.weight @ posterior.mean[:, 0])
    anew = []
    for taken in sorted(log.new_homes, key=lambda h: h.first_round):
        target = log.target_drift * (taken.first_round - line.first_round)
        past = max(taken.first_round - int(rounds[-1]), 0)
        index = min(max(taken.first_round - line.first_round, 0), len(path) - 1)
        place = float(path[index]) + past * drift
        here = float(line.apart_at(np.array([taken.first_round]))[0])
        if taken.stitch is not None:
            count = float(line.stitches_at(np.array([taken.first_round]))[0])
            period = count / max(log.repeats, 1.0)
            turns = round((place - here + target - taken.stitch) / period)
            place = taken.stitch + turns * period - target + here
        anew.append((taken.first_round, place - here))
    return Places(line, fitted, tuple(anew))
