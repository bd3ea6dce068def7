"""Steering with the hand: what to ask of it, from where the colours stand.

Each round adds what is not held of the drift, and what is asked takes some away:

    y[r+1] = y[r] + d - u

with y the offset the colours will have once the round in hand is knitted to its end, d the
drift of a hand of which nothing is asked, and u the answer to what is asked, all in stitches.
Weighing y^2 against r times the square of what is asked beyond holding the drift, the best
steering is u = d + k y with

    P = 1 + P - P^2 / (P + r),   k = P / (P + r),

the discrete algebraic Riccati equation of one state (Bertsekas, Dynamic Programming and
Optimal Control, section 3.1).  Correcting the whole of each reading, k = 1 without a filter, is
rule 2 of the funnel (Deming, Out of the Crisis, 1986, p. 327) and doubles the variance.
"""

from math import sqrt

import numpy as np
import numpy.typing as npt

from knitlog.advice.belief import FloatArray

EFFORT = 0.5
"""r: three quarters of the way back each round; then as usual again, for minding one's hand is
work too."""
ASK_STEP = 0.5
"""What is asked is told in half percents: nobody feels less."""
HELD_STITCHES = 0.6
"""An asked tension whose answer is this near the best one's, stitches/round, is left as it is."""
STRAYS_WITHIN = 2
"""Rounds ahead within which colours that come near the edge count as straying."""
ROUNDS_TO_THE_EDGE = 5
"""Or a slide that takes them there from their place within so many."""
_HOLD_PERCENT = (0.5, 1.5)


def riccati_gain(effort: float = EFFORT) -> float:
    """Return k, the share of the offset taken back each round.

    >>> round(riccati_gain(6.0), 4)
    0.3333
    """
    # P^2 - P - r = 0
    p = (1 + sqrt(1 + 4 * effort)) / 2
    return p / (p + effort)


def trust(response: FloatArray) -> float:
    """Return by what to divide a wanted answer to get what to ask: E c^2 / E c.

    The expected square of what is missed is least there; a hand little known is asked less.
    """
    mean = float(response.mean())
    return max(float((response**2).mean()) / max(mean, 1e-3), 0.05)


def hold_percent(turn: float, response: float) -> float:
    """Return how near what is asked must be to the best to be left as it is, %."""
    # a tension of q % answered with c moves M by about M c q / 100
    return float(np.clip(100 * HELD_STITCHES / (turn * response), *_HOLD_PERCENT))


def ease(tolerance: float, tension_sd: float) -> float:
    """Return how far off the colours may be, stitches, for the hand to be left alone.

    One spread of a round's luck is kept of the tolerance, and half of it at most.
    """
    return max(tolerance - tension_sd, tolerance / 2)


def ask(
    wanted: FloatArray,
    asked: FloatArray,
    range_percent: float,
    hold: float,
    straying: npt.NDArray[np.bool_],
) -> FloatArray:
    """Return what to ask of the hand, %, in steps, within its range, and held on to.

    All in percent; ``wanted`` is what would be best, ``asked`` what is asked now, ``hold`` as
    :func:`hold_percent` gives it.  A hand of which nothing is asked is left alone until the
    colours are ``straying``.
    """
    step = np.round(np.clip(wanted, -range_percent, range_percent) / ASK_STEP) * ASK_STEP
    step = np.where(np.abs(step) < hold, 0.0, step)
    idle = (asked == 0) & ~straying
    near = (np.abs(wanted - asked) < hold) & (np.abs(asked) <= range_percent)
    found: FloatArray = np.where(idle | near, asked, step)
    return found
