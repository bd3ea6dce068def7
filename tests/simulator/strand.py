"""The yarn: marks along it, and the stitches it has been laid into."""

from bisect import bisect_right
from math import ceil, floor

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


class Strand:
    """Yarn laid stitch by stitch, and where its marks have come up.

    Lengths are mm of yarn from the cast-on, positions stitches from the beginning of a round.
    Mark j of a tag lies j repeats on from the first; each dyed repeat has its own length.
    """

    def __init__(self, repeat_length_mm: float, variation: float, rng: np.random.Generator):
        self.repeat_length_mm = repeat_length_mm
        self._variation, self._rng = variation, rng
        self._longer = np.zeros(1)  # how much further mark j lies than j repeats, mm
        self.begins: list[float] = []
        """Yarn used when each round began."""
        self.ends: list[FloatArray] = []
        """Yarn used at the end of each stitch, by round."""
        self.worked: list[int] = [0]
        """Stitches worked before each round, and in all."""
        self.used = 0.0
        """Yarn used in all."""

    def lay(self, yarn: FloatArray) -> None:
        """Lay a round of stitches that take ``yarn`` each."""
        ends = self.used + np.cumsum(yarn)
        self.begins.append(self.used)
        self.ends.append(ends)
        self.worked.append(self.worked[-1] + len(yarn))
        self.used = float(ends[-1])

    def relay_last(self, extra: FloatArray) -> None:
        """Give the last stitches worked ``extra`` yarn each; the strand to come gives it."""
        if len(extra) > len(self.ends[-1]):
            raise ValueError("Only stitches of the last round can be worked over.")
        self.ends[-1][-len(extra) :] += np.cumsum(extra)
        self.used = float(self.ends[-1][-1])

    def mark(self, j: float) -> float:
        """Return how far mark ``j`` lies from the first mark; between marks pro rata, mm."""
        plain = j * self.repeat_length_mm
        if not self._variation or j <= 0.0:
            return plain
        while len(self._longer) <= j + 1:
            fresh = self._rng.normal(0.0, self._variation * self.repeat_length_mm, 64)
            self._longer = np.append(self._longer, self._longer[-1] + np.cumsum(fresh))
        low = floor(j)
        part = j - low
        return float(plain + (1 - part) * self._longer[low] + part * self._longer[low + 1])

    def marks_between(self, first_mm: float, low: float, high: float) -> list[float]:
        """Return a tag's marks from ``low`` to below ``high``, its first at ``first_mm``."""
        slack = 1 if self._variation else 0
        numbers = range(
            ceil((low - first_mm) / self.repeat_length_mm) - slack,
            floor((high - first_mm) / self.repeat_length_mm) + 1 + slack,
        )
        found = [first_mm + self.mark(j) for j in numbers]
        return [y for y in found if low <= y < high]

    def at(self, position: float) -> float:
        """Return the yarn used at a position in the last round, mm."""
        ends = self.ends[-1]
        whole = min(max(floor(position), 0), len(ends) - 1)
        before = float(ends[whole - 1]) if whole else self.begins[-1]
        return before + (position - whole) * (float(ends[whole]) - before)

    def position(self, yarn_mm: float, ahead_mm: float) -> float:
        """Return where a point of the yarn comes up, stitches from the last round's beginning.

        What is not knitted yet is taken at ``ahead_mm`` a stitch.
        """
        if yarn_mm >= self.used:
            return len(self.ends[-1]) + (yarn_mm - self.used) / ahead_mm
        turn = max(bisect_right(self.begins, yarn_mm) - 1, 0)
        ends = self.ends[turn]
        stitch = int(np.searchsorted(ends, yarn_mm, side="right"))
        before = float(ends[stitch - 1]) if stitch else self.begins[turn]
        part = (yarn_mm - before) / (float(ends[stitch]) - before)
        return self.worked[turn] - self.worked[-2] + stitch + part
