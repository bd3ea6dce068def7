"""How many stitches one turn of the colours makes on each needle.

k repeats of yarn make M = k L / s stitches, whatever is on the needles; on N stitches the
drift is M - N.  So the one thing to know of a needle is its M.  For the needle in use the
fit says it.  For another it is the same, turned by the loop law (:mod:`knitlog.drift.response`),
with a spread that this knitter's own changes narrow; and where she has used that needle in
this project before, what it did then is worth more than any law.
"""

from dataclasses import dataclass
from itertools import pairwise
from math import exp, hypot, sqrt
from math import log as ln

from knitlog.advice.belief import Belief
from knitlog.drift.fitted import DriftFit
from knitlog.drift.prior import Prior
from knitlog.drift.response import yarn_thickness_mm
from knitlog.drift.result import StintDrift
from knitlog.yarn.geometry import needle_response_factor

SAME_NEEDLE_SHARE = 0.002
"""How far a needle's M may have moved since it was last used, as a share of it (common
practice, no source)."""


@dataclass(frozen=True, slots=True)
class Turn:
    """M on one needle: mean + now * z + answer * x, z and x standard normal.

    z is what is not known of the needle in use, x what is not known of this knitter's
    answer to another needle.  All in stitches.
    """

    mean: float
    now: float
    answer: float

    @property
    def sd(self) -> float:
        """Return the spread of M, stitches."""
        return hypot(self.now, self.answer)


@dataclass(frozen=True, slots=True)
class Answer:
    """A knitter's answer to a needle step, as a share of the loop law's."""

    mean: float
    sd: float


def needle_answer(stints: tuple[StintDrift, ...], prior: Prior, thickness_mm: float) -> Answer:
    """Return the answer believed of this knitter once her own changes are counted in."""
    mean, var = prior.needle_response_factor, prior.needle_response_log_sd**2
    for old, new in pairwise(stints):
        if not (new.logged and old.needle_mm and new.needle_mm):
            continue
        # expected: ln(s2 / s1) = ln((D2 + y) / (D1 + y)); s is k L / (N + d)
        step = ln(needle_response_factor(old.needle_mm, new.needle_mm, thickness_mm))
        m_old, m_new = old.stitches + old.drift.mean, new.stitches + new.drift.mean
        if abs(step) < 1e-3 or min(m_old, m_new) <= 0:
            continue
        seen = ln(m_old / m_new) / step
        spread = hypot(old.drift.sd / m_old, new.drift.sd / m_new, prior.stint_sd_share) / abs(step)
        gain = var / (var + spread**2)
        mean, var = mean + gain * (seen - mean), var * (1 - gain)
    return Answer(mean, sqrt(var))


def seen_before(fit: DriftFit, needle_mm: float | None) -> tuple[float, float] | None:
    """Return mean and spread of M on a needle from earlier stints of this log, or None."""
    found: tuple[float, float] | None = None
    for stint in fit.stint_drifts[:-1]:
        if not stint.logged or needle_mm is None or stint.needle_mm != needle_mm:
            continue
        m = stint.stitches + stint.drift.mean
        sd = hypot(stint.drift.sd, SAME_NEEDLE_SHARE * m)
        if found is None:
            found = m, sd
            continue
        here, there = 1 / sd**2, 1 / found[1] ** 2
        found = (here * m + there * found[0]) / (here + there), sqrt(1 / (here + there))
    return found


def turn_now(fit: DriftFit, belief: Belief, stitches: int) -> Turn:
    """Return M on the needle in use."""
    return Turn(stitches + fit.log.target_drift + belief.drift, belief.drift_sd, 0.0)


def turn_on(
    fit: DriftFit, now: Turn, needle_now_mm: float, needle_mm: float, answer: Answer
) -> Turn:
    """Return M on another needle."""
    y = yarn_thickness_mm(fit.log)
    step = ln(needle_response_factor(needle_now_mm, needle_mm, y))
    # M2 = M1 s1 / s2
    ratio = exp(-answer.mean * step)
    mean, along = now.mean * ratio, now.now * ratio
    apart = mean * hypot(answer.sd * step, fit.prior.stint_sd_share)
    before = seen_before(fit, needle_mm)
    if before is not None:
        whole = along**2 + apart**2
        gain = whole / (whole + before[1] ** 2)
        mean += gain * (before[0] - mean)
        along *= 1 - gain
        apart = sqrt(max(whole * (1 - gain) - along**2, 0.0))
    # a larger needle makes fewer stitches of a turn: the answer's sign follows the step
    return Turn(mean, along, apart if step > 0 else -apart)
