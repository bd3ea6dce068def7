"""What a logged change does to the drift, before its first round is read.

A new needle changes the yarn a stitch takes; a new stitch count does not, but
changes how far it goes round.  Both are beliefs with an honest spread: the first rounds of the
new stint soon outweigh them.
"""

from dataclasses import dataclass
from math import exp, sqrt
from math import log as ln

from knitlog.drift.log import DriftLog, Stint
from knitlog.drift.prior import Prior
from knitlog.yarn.geometry import likely_yarn_thickness, needle_response_factor


@dataclass(frozen=True, slots=True)
class StintChange:
    """New drift = turn * old drift + add + count, give or take sd; all in stitches/round."""

    turn: float
    add: float
    """What the yarn a stitch takes does beside."""
    count: float
    """What the count itself does, known to the stitch; first read in the round after, since the
    reading in the round of the change still measures the loops of the one before."""
    sd: float
    step_sd: float
    """Spread of the one-off move of the offset as the change falls somewhere within a
    round, stitches."""


def yarn_thickness_mm(log: DriftLog) -> float:
    """Return the yarn's thickness, mm: as given, or what the first stint's target makes likely."""
    if log.yarn_thickness_mm is not None:
        return log.yarn_thickness_mm
    first = log.stints[0]
    loop = None
    if log.repeat_length_mm is not None:
        loop = log.repeats * log.repeat_length_mm / first.stitches
    return likely_yarn_thickness(loop, first.needle_mm)


def stint_change(old: Stint, new: Stint, log: DriftLog, prior: Prior) -> StintChange:
    """Return what the change from ``old`` to ``new`` should do to the drift."""
    step = 0.0
    if old.needle_mm and new.needle_mm and old.needle_mm != new.needle_mm:
        y = yarn_thickness_mm(log)
        step = prior.needle_response_factor * ln(
            needle_response_factor(old.needle_mm, new.needle_mm, y)
        )
    # k L = (N1 + d1) s1 = (N2 + d2) s2, so d2 = (N1 + d1) s1 / s2 - N2
    turn = exp(-step)
    add = old.stitches * (turn - 1.0)
    count = float(old.stitches - new.stitches)
    own = prior.stint_sd_share if step else prior.count_sd_share
    sd = new.stitches * sqrt((prior.needle_response_log_sd * step) ** 2 + own**2)
    return StintChange(turn, add, count, sd, step_sd=0.5 * abs(add + count) + 0.5)


def tension_step(log: DriftLog, percent: float) -> float:
    """Return the change of drift that ``percent`` more yarn a stitch makes, stitches/round."""
    # s -> s (1 + q): N + d -> (N + d) / (1 + q)
    whole = log.stints[-1].stitches + log.target_drift
    return whole / (1.0 + percent / 100.0) - whole


def fix_miss(taken_out: float) -> float:
    """Return the spread of what a fix meant to take out ``taken_out`` does, stitches.

    Half a stitch and a fifth of what was meant (common practice, no source).
    """
    return 0.5 + 0.2 * abs(taken_out)
