"""Yarn paths: where the colours stand in every round, as knitted or under a remedy.

A path says, for rounds 1 to R, how far the colours stand past their place (the offset), by
how much the round itself moves them (its drift, unevenness included) and what is taken out
by hand before the next one:

    offset[r+1] = offset[r] + drift[r] - taken out[r]

Laid along the strand: a path is worked out from where a colour change comes up in each
round, whatever was done to bring it there.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from knitlog.plan.checks import PlanError, check_not_negative, check_positive

FloatArray = npt.NDArray[np.floating[Any]]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class YarnPath:
    """Rounds 1 to R of one project, each array of shape (R,)."""

    offsets: FloatArray
    """How far past their place the colours stand, stitches."""
    drifts: FloatArray
    """How far the round moves them, stitches."""
    stitches: IntArray
    """Stitches in the round."""
    taken_out: FloatArray
    """What is worked into the fabric by hand once the round is done, stitches; + pulls late
    colours back."""

    @property
    def rounds(self) -> int:
        """How many rounds the path has, R."""
        return len(self.offsets)


def along_the_strand(
    positions: FloatArray,
    turns: FloatArray,
    stitches: IntArray,
    taken_out: FloatArray,
    repeats: float = 1.0,
    home: float = 0.0,
) -> YarnPath:
    """The path on which a colour change comes up where it is told to.

    Counted along the strand, between the change at x[r] and the next one lie the rest of its
    round and x[r+1] stitches of the following one, which took k L of yarn:

        (N[r] - x[r] + f[r]) s[r] + x[r+1] s[r+1] = k L

    Args:
        positions: where it comes up, shape (R + 1,), stitches; the last for the round to come,
            had it the size of stitch of round R.
        turns: stitches one turn of the colours (k L) makes in each round, shape (R,).
        stitches: stitches in each round, shape (R,).
        taken_out: worked in by hand after each round, f, shape (R,), stitches.
        repeats: repeats a round, k.
        home: the place that the path's offsets are counted from, stitches.

    """
    _check_rounds(len(turns))
    size = np.append(turns, turns[-1])
    # in turns of the colours, to the nearest of the k changes of its kind
    moved = np.diff(np.mod(positions, size / repeats) / size)
    moved -= np.round(moved * repeats) / repeats
    # (N + f) s = 1 - what the change has moved by, s = 1 / (N + d)
    drifts = (stitches + taken_out) / (1 - moved) - stitches
    return YarnPath(positions[:-1] - home, drifts, stitches, taken_out)


def tension_errors(rounds: int, sd: float, seed: int) -> FloatArray:
    """A hand's unevenness, round by round, shape (rounds,), stitches.

    Args:
        rounds: how many.
        sd: spread of one round's own error, stitches.
        seed: the same seed gives the same errors.

    Raises:
        PlanError: a number makes no sense.

    """
    _check_rounds(rounds)
    check_not_negative(sd, "spread of a round's tension", "in stitches, as 0.7")
    return sd * np.random.default_rng(seed).normal(0.0, 1.0, rounds)


def carry_on(
    offset: float, drift: float, stitches: int, rounds: int, errors: FloatArray | None = None
) -> YarnPath:
    """The path if nothing is done.

    Args:
        offset: as the first round begins, stitches.
        drift: mean, stitches a round.
        stitches: stitches a round.
        rounds: rounds to come.
        errors: unevenness of each round, shape (rounds,), stitches; none if None.

    Raises:
        PlanError: a count is not above zero, or ``errors`` has another length.

    """
    check_positive(stitches, "stitch count", "as 128")
    drifts = drift + _errors(errors, rounds)
    if np.any(stitches + drifts <= 0):
        raise PlanError("the colours would move by more than a whole round: check the drift")
    # offset[r+1] = offset[r] + drift[r]
    offsets = offset + np.concatenate(([0.0], np.cumsum(drifts[:-1])))
    counts = np.full(rounds, stitches, dtype=np.int64)
    return YarnPath(offsets, drifts, counts, np.zeros(rounds))


def _errors(errors: FloatArray | None, rounds: int) -> FloatArray:
    _check_rounds(rounds)
    if errors is None:
        return np.zeros(rounds)
    if errors.shape != (rounds,):
        raise PlanError(
            f"there are {rounds} rounds but {errors.size} tension errors: give one a round"
        )
    return errors


def _check_rounds(rounds: int) -> None:
    if rounds < 1:
        raise PlanError("there must be at least one round to look at: type it as 40")
