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
import numpy.typing as npt

from knitlog.advice.belief import Belief
from knitlog.drift.fitted import DriftFit
from knitlog.drift.response import yarn_thickness_mm
from knitlog.yarn.geometry import needle_response_factor

FloatArray = npt.NDArray[np.float64]

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


class Needles:
    """What the log's earlier stints say of M on every needle."""

    def __init__(self, fit: DriftFit, needle_mm: float, others_mm: tuple[float, ...]) -> None:
        """Weigh all logged stints but the last, which a belief tells of."""
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
                self.told(stint.needle_mm, turn, share)

    def told(self, needle_mm: float, turn: float, share: float) -> None:
        """Take in that M on a needle is ``turn``, give or take ``share`` of it."""
        row = self.gives[self.sizes.index(needle_mm)]
        along = self.cov @ row
        total = float(row @ along) + share**2
        self.mean = self.mean + along * (ln(turn) - float(row @ self.mean)) / total
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


def turn_now(fit: DriftFit, belief: Belief, stitches: int) -> Turn:
    """Return M on the needle in use."""
    return Turn(stitches + fit.log.target_drift + belief.drift, belief.drift_sd, 0.0)


def told_by_others(fit: DriftFit, belief: Belief, stitches: int, needle_mm: float) -> Belief:
    """Return the belief once what earlier stints say of the needle in use is counted in."""
    before = {s.needle_mm for s in fit.stint_drifts[:-1] if s.logged and s.needle_mm}
    if needle_mm not in before and len(before) < 2:
        # only the loop law speaks of it yet, and the fit has heard that
        return belief
    mean, sd = Needles(fit, needle_mm, ()).turn(needle_mm)
    spread = hypot(sd, SAME_NEEDLE_SHARE * mean)
    return belief.told_drift(mean - stitches - fit.log.target_drift, spread)


def turns_on(
    fit: DriftFit, belief: Belief, stitches: int, needle_mm: float, others_mm: tuple[float, ...]
) -> dict[float, Turn]:
    """Return M on ``others_mm``, the belief of the needle in use counted in."""
    if not others_mm:
        return {}
    needles = Needles(fit, needle_mm, others_mm)
    now = turn_now(fit, belief, stitches)
    here = max(now.mean, 1.0)
    mean, sd = needles.turn(needle_mm)
    # what the belief says that the earlier stints did not: precisions subtract
    share, before = now.sd / here, sd / mean
    var = 1 / max(1 / share**2 - 1 / before**2, 1e-2 / share**2)
    told = ln(here) + ln(here / mean) * var / before**2
    needles.told(needle_mm, exp(told), var**0.5)
    return {other: needles.turn_on(needle_mm, other) for other in others_mm}
