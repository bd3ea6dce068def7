"""Where the colour changes should fall in each round: home, and places taken anew.

A home at stitch p is at p N' / N once the count has changed, as increases and decreases spread
round a round move a column.
"""

from dataclasses import dataclass, replace

import numpy as np

from knitlog.drift.fit_result import FloatArray, IntArray
from knitlog.drift.timeline import Timeline


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

    def until(self, last: int) -> "Places":
        """Return the places without those taken anew after round ``last``."""
        return replace(self, anew=tuple(taken for taken in self.anew if taken[0] <= last))

    def anew_at(self, number: int) -> bool:
        """Tell whether the place of round ``number`` is one taken anew."""
        return any(first <= number for first, _ in self.anew)
