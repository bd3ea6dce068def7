"""A few dozen ways the truth may be, all equally likely.

The decision is priced in each of them and averaged.  Two things are not known: the drift
of the needle in use, and the knitter's answer to another needle.  What a project costs
rises and falls with every stitch of drift, as counts are whole, so the truths must not
line up in rows: they are the points of a Fibonacci lattice (Sloan & Joe, Lattice Methods
for Multiple Integration, 1994), whose every point has a drift and an answer of its own.
"""

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

from knitlog.advice.belief import Belief
from knitlog.advice.workings import Working

FloatArray = npt.NDArray[np.float64]

_ONE = 9
"""Truths where only the drift is not known."""
_TWO, _TWO_STEP = 21, 13
"""Truths where the answer to a needle is not known either: neighbours in Fibonacci's row."""


@dataclass(frozen=True, slots=True)
class Truths:
    """S ways the truth may be, for C ways of working."""

    weight: FloatArray
    """Shape (S,), sums to 1."""
    now: FloatArray
    """z of each: what is not known of the needle in use, shape (S,)."""
    answer: FloatArray
    """x of each: what is not known of the answer to another needle, shape (S,)."""
    drift: FloatArray
    """Drift less the target of each way of working, stitches/round, shape (C, S)."""
    offset: FloatArray
    """Expected offset now under each, stitches, shape (S,)."""
    offset_sd: float
    """Spread of the offset that the drift does not explain, stitches."""


def truths(belief: Belief, ways: tuple[Working, ...], target: float) -> Truths:
    """Return the truths weighed for ``belief`` over ``ways`` of working."""
    one_needle = all(way.turn.answer == 0.0 for way in ways)
    points = _ONE if one_needle else _TWO
    order = np.arange(points)
    now = _standard((order + 0.5) / points)
    answer = np.zeros(points)
    if not one_needle:
        answer = _standard((order * _TWO_STEP % points + 0.5) / points)
        answer = _standardised(answer - now * float(answer @ now) / float(now @ now))
    drift = np.array(
        [
            w.turn.mean - w.stitches - target + w.turn.now * now + w.turn.answer * answer
            for w in ways
        ]
    )
    # offset given drift: mean + cov / sd(d) z, and what is left of its variance
    along = belief.covariance / belief.drift_sd
    left = max(belief.offset_var - along**2, 1e-6)
    return Truths(
        weight=np.full(points, 1 / points),
        now=now,
        answer=answer,
        drift=drift,
        offset=belief.offset + along * now,
        offset_sd=float(np.sqrt(left)),
    )


def _standard(chance: FloatArray) -> FloatArray:
    """Return standard normal values at these chances, exactly of mean 0 and spread 1."""
    normal = NormalDist()
    return _standardised(np.array([normal.inv_cdf(float(c)) for c in chance]))


def _standardised(value: FloatArray) -> FloatArray:
    away = value - value.mean()
    found: FloatArray = away / np.sqrt(np.mean(away**2))
    return found
