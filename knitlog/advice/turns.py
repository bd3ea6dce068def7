"""How many stitches one turn of the colours makes on each needle.

k repeats of yarn make M = k L / s stitches, whatever is on the needles; on N stitches the
drift is M - N.  So the one thing to know of a needle is its M.  For needles of size D and yarn
of thickness y the loop law (:mod:`knitlog.drift.response`) makes

    log M = a - b log((D + y) / (D1 + y)) + e,

a the knitter's on her first needle D1, b her answer to a step as a share of the law's, and e
what a needle does beside its size (its surface, its tip).  Every stint of the log says its own
needle's M, give or take; a, b and every e are then known jointly, as normal beliefs updated by
one reading after another (Durbin & Koopman, Time Series Analysis by State Space Methods,
section 4.2).  So a needle tried tells of all the others, and leaves each something of its own.
"""

from dataclasses import dataclass
from math import exp, hypot
from math import log as ln

import numpy as np

from knitlog.drift.fitted import DriftFit
from knitlog.drift.response import yarn_thickness_mm
from knitlog.yarn.geometry import needle_response_factor

SAME_NEEDLE_SHARE = 0.0015
"""How far a needle's M may have moved since it was last used, as a share of it (common
practice, no source)."""
OWN_SHARE = 0.006
"""Spread of what a needle does beside its size, as a share of its M (common practice, no
source)."""
_ANY_SHARE = 0.5
"""Spread of M before any round is read, as a share of it: nothing to speak of is known."""


@dataclass(frozen=True, slots=True)
class Turn:
    """M on one needle: mean + now * z + answer * x, z and x standard normal.

    z is what is not known of the needle in use, x what would not be known of this one even if
    that were.  All in stitches.
    """

    mean: float
    now: float
    answer: float

    @property
    def sd(self) -> float:
        """Return the spread of M, stitches."""
        return hypot(self.now, self.answer)


def turns_on(
    fit: DriftFit, now: Turn, needle_mm: float, others_mm: tuple[float, ...]
) -> dict[float, Turn]:
    """Return M on ``others_mm``, given M on the needle in use."""
    if not others_mm:
        return {}
    needles = _Needles(fit, needle_mm, others_mm)
    mean, sd = needles.turn(needle_mm)
    # what the present stint says that the earlier ones did not: precisions subtract
    here = max(now.mean, 1.0)
    share, before = now.sd / here, sd / mean
    var = 1 / max(1 / share**2 - 1 / before**2, 1e-2 / share**2)
    needles.told(needle_mm, ln(here) + ln(here / mean) * var / before**2, var**0.5)
    return {other: needles.turn_on(needle_mm, other) for other in others_mm}


class _Needles:
    """What the log's earlier stints say of M on every needle."""

    def __init__(self, fit: DriftFit, needle_mm: float, others_mm: tuple[float, ...]) -> None:
        stints = [s for s in fit.stint_drifts if s.logged and s.needle_mm]
        used = [s.needle_mm for s in stints if s.needle_mm]
        first = fit.log.stints[0].needle_mm or needle_mm
        self.sizes = tuple(dict.fromkeys([first, needle_mm, *others_mm, *used]))
        y = yarn_thickness_mm(fit.log)
        step = [ln(needle_response_factor(first, size, y)) for size in self.sizes]
        n = len(self.sizes)
        # the unknowns: a, b, then e of every needle but the first, whose a is its own
        self.gives = np.concatenate(
            [np.ones((n, 1)), -np.array(step)[:, None], np.eye(n)[:, 1:]], axis=1
        )
        prior = fit.prior
        self.mean = np.zeros(n + 1)
        self.mean[0] = ln(fit.log.stints[0].stitches)
        self.mean[1] = prior.needle_response_factor
        self.cov = np.diag(
            [_ANY_SHARE**2, prior.needle_response_log_sd**2, *[OWN_SHARE**2] * (n - 1)]
        )
        now = fit.stint_drifts[-1] if fit.stint_drifts else None
        for stint in stints:
            turn = stint.stitches + stint.drift.mean
            if stint is not now and stint.needle_mm and turn > 0:
                share = hypot(stint.drift.sd / turn, SAME_NEEDLE_SHARE)
                self.told(stint.needle_mm, ln(turn), share)

    def told(self, needle_mm: float, log_turn: float, share: float) -> None:
        """Take in that M on a needle is exp(``log_turn``), give or take ``share`` of it.

        The logarithm, because a present stint that says little beside the earlier ones has one
        that no number holds.
        """
        row = self.gives[self.sizes.index(needle_mm)]
        along = self.cov @ row
        total = float(row @ along) + share**2
        self.mean = self.mean + along * (log_turn - float(row @ self.mean)) / total
        self.cov = self.cov - np.outer(along, along) / total

    def turn(self, needle_mm: float) -> tuple[float, float]:
        """Return mean and spread of M on a needle, stitches."""
        row = self.gives[self.sizes.index(needle_mm)]
        mean = exp(float(row @ self.mean))
        return mean, mean * float(np.sqrt(row @ self.cov @ row))

    def turn_on(self, needle_mm: float, other_mm: float) -> Turn:
        """Return M on another needle, split into what hangs on the one in use and what does not."""
        here, there = self.sizes.index(needle_mm), self.sizes.index(other_mm)
        rows = self.gives[[here, there]]
        mean = exp(float(rows[1] @ self.mean))
        spread = rows @ self.cov @ rows.T
        along = float(spread[0, 1]) / max(float(spread[0, 0]) ** 0.5, 1e-9)
        apart = max(float(spread[1, 1]) - along**2, 0.0) ** 0.5
        # a larger needle makes fewer stitches of a turn: the answer's sign follows the step
        return Turn(mean, mean * along, mean * (apart if other_mm > needle_mm else -apart))
