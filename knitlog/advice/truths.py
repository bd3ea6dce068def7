"""A few dozen ways the truth may be, each with its weight.

The decision is priced in each of them and averaged.  They are the points of a
Gauss-Hermite rule over the two things not known: the drift of the needle in use, and the
knitter's answer to another needle.  Seven points (five where needles differ) integrate
any polynomial of degree 13 (9) exactly.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numpy.polynomial.hermite_e import hermegauss

from knitlog.advice.belief import Belief
from knitlog.advice.workings import Working

FloatArray = npt.NDArray[np.float64]


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
    z, p = _rule(7 if one_needle else 5)
    x, q = (np.zeros(1), np.ones(1)) if one_needle else _rule(3)
    now, answer = np.repeat(z, len(x)), np.tile(x, len(z))
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
        weight=np.repeat(p, len(x)) * np.tile(q, len(z)),
        now=now,
        answer=answer,
        drift=drift,
        offset=belief.offset + along * now,
        offset_sd=float(np.sqrt(left)),
    )


def _rule(points: int) -> tuple[FloatArray, FloatArray]:
    z, weight = hermegauss(points)
    return z, weight / weight.sum()
