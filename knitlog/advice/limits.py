"""How far a remedy may go, and how well it lands.

Common practice, no source, unless a line says otherwise: an inch to three of
tapestry-needle work, about twenty stitches re-knit, and a hand that can change its
tension only so far.
"""

from dataclasses import dataclass
from math import hypot
from typing import Any

import numpy as np
import numpy.typing as npt

from knitlog.yarn.gauge import Gauge
from knitlog.yarn.units import MM_PER_INCH

FloatArray = npt.NDArray[np.floating[Any]]

USUAL_STITCHES_PER_CM = 2.0
"""Taken where no gauge is known: 20 stitches in 10 cm, a worsted-weight yarn's gauge."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of the hand and the eye (common practice, no source)."""

    tapestry_inches: float = 3.0
    """The longest stretch evened out with a tapestry needle, inches."""
    gentle_share_of_stitch: float = 1 / 5
    """How much of a stitch's yarn a tapestry needle may give or take and hardly show."""
    fewest_reknit_stitches: int = 20
    """Fewer than this are not worth ripping back."""
    most_reknit_stitches: int = 40
    """More than this is not a few stitches any more."""
    reknit_range_percent: float = 10.0
    """The most a hand tightens or loosens over a few stitches knitted again, %."""
    hand_range_percent: float = 3.0
    """The most it does so from round to round, either way, %."""
    count_changes: int = 1
    """How often a project's stitch count may change."""
    size_change_percent: float = 10.0
    """The most the finished size may change where the knitter has not said, %."""
    miss_stitches: float = 0.3
    """How far a fix misses however small it is, stitches."""
    miss_share: float = 0.15
    """How far a fix misses as a share of what it takes out."""

    def tapestry_stitches(self, gauge: Gauge | None) -> int:
        """Return how many stitches the longest tapestry-needle stretch holds.

        >>> Limits().tapestry_stitches(Gauge(2.0))
        15
        """
        per_cm = USUAL_STITCHES_PER_CM if gauge is None else gauge.stitches_per_cm
        # 1 cm = 10 mm
        return max(1, int(self.tapestry_inches * MM_PER_INCH / 10 * per_cm + 1e-9))

    def miss(self, taken_out: float) -> float:
        """Return the spread of where a fix of ``taken_out`` stitches lands, stitches."""
        return hypot(self.miss_stitches, self.miss_share * taken_out)

    def miss_all(self, taken_out: FloatArray) -> FloatArray:
        """Return the same for many fixes at once, any shape."""
        spread: FloatArray = np.hypot(self.miss_stitches, self.miss_share * taken_out)
        return spread
