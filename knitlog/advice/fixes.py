"""The two ways to put the colours back in place: how far each goes and what it takes.

An offset of x stitches over m stitches changes the yarn of each by x/m.  Both ways
obey that sum; they differ in how much a stitch can give.  A tapestry needle moves
yarn about inside stitches already made, gently: about a fifth of a stitch over three
inches; ripping back and knitting again is held to what a hand can tighten or loosen.
Both leave the drift as it is.
"""

from dataclasses import dataclass
from math import ceil
from typing import Any

import numpy as np
import numpy.typing as npt

from knitlog.advice.costs import Costs
from knitlog.advice.limits import Limits
from knitlog.advice.remedy import Remedy

FloatArray = npt.NDArray[np.floating[Any]]


@dataclass(frozen=True, slots=True)
class FixWay:
    """One way to take offset out."""

    remedy: Remedy
    largest: float
    """The most it can take out at once, stitches."""
    start_minutes: float
    minutes_per_stitch: float
    """Minutes for each stitch handled."""
    share: float
    """The most one stitch can give or take, as a share of its yarn."""
    fewest: int
    """The fewest stitches handled."""

    def stitches_handled(self, taken_out: float) -> int:
        """Return over how many stitches ``taken_out`` is spread."""
        return max(self.fewest, ceil(abs(taken_out) / self.share - 1e-9))

    def minutes(self, taken_out: FloatArray) -> FloatArray:
        """Return the work of taking out each of ``taken_out`` (stitches, any shape), minutes.

        Infinite where it is more than this way can do.
        """
        handled = np.maximum(self.fewest, np.abs(taken_out) / self.share)
        work = self.start_minutes + self.minutes_per_stitch * handled
        found: FloatArray = np.where(np.abs(taken_out) <= self.largest + 1e-9, work, np.inf)
        return found


def fix_ways(
    stitches: int, tapestry_stitches: int, costs: Costs, limits: Limits
) -> tuple[FixWay, FixWay]:
    """Return tapestry needle and rip back, as they go on a round of ``stitches``."""
    over = min(tapestry_stitches, stitches)
    hand = limits.reknit_range_percent / 100
    tapestry = FixWay(
        remedy=Remedy.TAPESTRY,
        # x / m <= a fifth
        largest=over * limits.gentle_share_of_stitch,
        start_minutes=costs.tapestry_fix_minutes,
        minutes_per_stitch=0.0,
        share=limits.gentle_share_of_stitch,
        fewest=max(1, over // 3),
    )
    rip = FixWay(
        remedy=Remedy.RIP_BACK,
        # x / m <= the hand's range
        largest=min(limits.most_reknit_stitches, stitches) * hand,
        start_minutes=costs.rip_start_minutes,
        minutes_per_stitch=costs.ripped_stitch_minutes,
        share=hand,
        fewest=min(limits.fewest_reknit_stitches, stitches),
    )
    return tapestry, rip
