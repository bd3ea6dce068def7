"""Drift paths: where the colours stand in every round, as knitted or under a remedy.

A path says, for rounds 1 to R, how far the colours stand past their place as the round
begins (the offset) and by how much the round itself moves them (its drift, fixes and
unevenness included):

    offset[r+1] = offset[r] + drift[r]

All remedies may be given the same unevenness, so that side by side only the remedy
differs.  A tapestry needle or ripping back mends the offset and leaves the drift, so it
comes due again; a needle or a stitch count mends the drift and leaves the offset.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from knitlog.plan.errors import PlanError, check_not_negative, check_positive

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class DriftPath:
    """Rounds 1 to R of one project, each array of shape (R,)."""

    offsets: FloatArray
    """How far past their place the colours stand as the round begins, stitches."""
    drifts: FloatArray
    """How far the round moves them, stitches."""
    stitches: IntArray
    """Stitches in the round."""
    mended: BoolArray
    """True where an offset was taken out by hand in the round."""

    @property
    def rounds(self) -> int:
        """How many rounds the path has, R."""
        return len(self.offsets)

    @property
    def end_offset(self) -> float:
        """Offset after the last round, stitches."""
        return float(self.offsets[-1] + self.drifts[-1])

    def then(self, later: "DriftPath") -> "DriftPath":
        """Knit another path on after this one."""
        return DriftPath(
            np.concatenate((self.offsets, later.offsets)),
            np.concatenate((self.drifts, later.drifts)),
            np.concatenate((self.stitches, later.stitches)),
            np.concatenate((self.mended, later.mended)),
        )

    def share_in_tolerance(self, tolerance: float, target_drift: float = 0.0) -> float:
        """Share of rounds that begin within tolerance of the wanted look, 0 to 1."""
        wanted = target_drift * np.arange(self.rounds)
        return float(np.mean(np.abs(self.offsets - wanted) <= tolerance))


def tension_errors(rounds: int, sd: float, seed: int, memory: float = 0.0) -> FloatArray:
    """A hand's unevenness, round by round, shape (rounds,), stitches.

    Args:
        rounds: how many.
        sd: spread of one round's own error, stitches.
        seed: the same seed gives the same errors.
        memory: correlation of one round's error with the next, 0 up to but not 1.

    Raises:
        PlanError: a number makes no sense.

    """
    _check_rounds(rounds)
    check_not_negative(sd, "spread of a round's tension", "in stitches, as 0.7")
    if not 0 <= memory < 1:
        raise PlanError("the memory of the tension must lie from 0 up to but not 1: type it as 0")
    own = np.random.default_rng(seed).normal(0.0, 1.0, rounds)
    errors = np.empty(rounds)
    # e[r] = memory e[r-1] + sqrt(1 - memory^2) own[r], so that every e has spread sd
    errors[0] = own[0]
    fresh = np.sqrt(1 - memory**2)
    for r in range(1, rounds):
        errors[r] = memory * errors[r - 1] + fresh * own[r]
    return sd * errors


def carry_on(
    offset: float, drift: float, stitches: int, rounds: int, errors: FloatArray | None = None
) -> DriftPath:
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
    drifts = drift + _errors(errors, rounds)
    return _path(offset, drifts, stitches, np.zeros(rounds, dtype=np.bool_))


def after_needle_change(
    offset: float,
    drift: float,
    stitches: int,
    rounds: int,
    factor: float,
    errors: FloatArray | None = None,
) -> DriftPath:
    """The path on another needle, which multiplies yarn per stitch by ``factor``.

    Raises:
        PlanError: a count or the factor is not above zero, or ``errors`` has another length.

    """
    check_positive(factor, "change of yarn per stitch", "as 1.05")
    # (N + d2) s f = (N + d) s
    return carry_on(offset, (stitches + drift) / factor - stitches, stitches, rounds, errors)


def after_stitch_count_change(
    offset: float,
    drift: float,
    stitches: int,
    rounds: int,
    new_stitches: int,
    errors: FloatArray | None = None,
) -> DriftPath:
    """The path on another stitch count at the same tension.

    Raises:
        PlanError: a count is not above zero, or ``errors`` has another length.

    """
    # N2 + d2 = N + d
    return carry_on(offset, stitches + drift - new_stitches, new_stitches, rounds, errors)


def with_mending(
    offset: float,
    drift: float,
    stitches: int,
    rounds: int,
    tolerance: float,
    errors: FloatArray | None = None,
    *,
    at_once: bool = False,
    target_drift: float = 0.0,
    most_stitches: float | None = None,
) -> DriftPath:
    """The path when the offset is taken out by hand whenever it leaves its tolerance.

    That is the tapestry needle; with ``at_once`` the first mending is done in the first
    round come what may, as when ripping back.  A mending takes the whole offset out, or
    ``most_stitches`` of it.

    Args:
        offset: as the first round begins, stitches, against the wanted look.
        drift: mean, stitches a round.
        stitches: stitches a round.
        rounds: rounds to come.
        tolerance: stitches either way.
        errors: unevenness of each round, shape (rounds,), stitches; none if None.
        at_once: mend in the first round whatever the offset.
        target_drift: wanted drift, stitches a round.
        most_stitches: most that one mending takes out, stitches; all if None.

    Raises:
        PlanError: a count is not above zero, or ``errors`` has another length.

    """
    check_not_negative(tolerance, "tolerance", "in stitches, as 3")
    if most_stitches is not None:
        check_positive(most_stitches, "most that is mended at once", "in stitches, as 8")
    drifts = drift + _errors(errors, rounds)
    mended = np.zeros(rounds, dtype=np.bool_)
    reach = np.inf if most_stitches is None else most_stitches
    stands = offset
    for r in range(rounds):
        off = stands - target_drift * r
        if abs(off) > tolerance or (at_once and r == 0 and off != 0):
            mended[r] = True
            drifts[r] -= np.clip(off, -reach, reach)
        stands += drifts[r]
    return _path(offset, drifts, stitches, mended)


def from_offsets(
    offsets: npt.ArrayLike, stitches: int, last_drift: float | None = None
) -> DriftPath:
    """The path of rounds already knitted, from the fitted offset of each.

    Args:
        offsets: offset of each round, shape (R,), stitches.
        stitches: stitches a round.
        last_drift: drift of the last round, stitches; that of the round before if None.

    Raises:
        PlanError: no offsets, one that is not a number, or a count not above zero.

    """
    stands = np.asarray(offsets, dtype=np.float64)
    if stands.ndim != 1 or len(stands) == 0 or not np.all(np.isfinite(stands)):
        raise PlanError("give one offset a round, at least one, all of them numbers")
    between = np.diff(stands)
    if last_drift is None:
        last_drift = float(between[-1]) if len(between) else 0.0
    drifts = np.append(between, last_drift)
    return _path(float(stands[0]), drifts, stitches, np.zeros(len(stands), dtype=np.bool_))


def _path(offset: float, drifts: FloatArray, stitches: int, mended: BoolArray) -> DriftPath:
    check_positive(stitches, "stitch count", "as 128")
    if np.any(stitches + drifts <= 0):
        raise PlanError("the colours would move by more than a whole round: check the drift")
    # offset[r+1] = offset[r] + drift[r]
    offsets = offset + np.concatenate(([0.0], np.cumsum(drifts[:-1])))
    return DriftPath(offsets, drifts, np.full(len(drifts), stitches, dtype=np.int64), mended)


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
