"""The path round by round: smoothed position and drift of a hypothesis.

Smoothed at the posterior mean of the noises of each kind of hand that counts (creeping so much
or not at all, with an even trend or without), homes' and drift's own spread included; the kinds
are averaged by their mass.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from knitlog.drift.banded import Smoother
from knitlog.drift.fit_result import FloatArray, IntArray
from knitlog.drift.hypothesis import asked_in, columns, found_moves, known, moves, trend_rounds
from knitlog.drift.likelihood import Spread
from knitlog.drift.mixture import weights
from knitlog.drift.prior import Prior
from knitlog.drift.response import tension_step
from knitlog.drift.weighed import Weighed

_COUNTS = 0.02
"""Share of the mass from which a kind of hand has a say in the path."""


@dataclass(frozen=True, slots=True)
class Smoothed:
    """Normals of each of the n rounds from the first to the last logged, one kind of hand."""

    weight: float
    creep: float
    """As a share of w."""
    trend: float
    """Spread of the trend, stitches/round over the log."""
    position: FloatArray
    """Unwrapped position of the first colour change, less the target's own drift, shape (n,)."""
    position_variance: FloatArray
    drift: FloatArray
    """Less the target, stitches/round, shape (n,)."""
    drift_variance: FloatArray
    to_now: FloatArray
    """How far the drift has come from each round to the last, stitches/round, shape (n,)."""
    to_now_variance: FloatArray


def rounds_of(best: Weighed) -> IntArray:
    """Return the numbers of the rounds from the first to the last logged."""
    return best.line.first_round + np.arange(best.line.last + 1)


def smoothed(best: Weighed, prior: Prior, *, changing: bool = False) -> list[Smoothed]:
    """Return the smoothed path of one hypothesis, one for each kind of hand that counts.

    Of those alone whose drift may change slowly where ``changing``.
    """
    mix = best.mixture
    weight = weights(mix.log_weight)
    creep = mix.of_node(mix.noise.creep)
    kinds = set(zip(creep.tolist(), mix.trend_sd.tolist(), strict=True))
    masses = [
        (c, trend, weight * ((creep == c) & (mix.trend_sd == trend))) for c, trend in sorted(kinds)
    ]
    counted = [own for own in masses if own[2].sum() >= _COUNTS]
    whole = sum(float(mass.sum()) for *_, mass in counted)
    if changing:
        counted = [own for own in counted if own[0] > 0.0 or own[1] > 0.0]
    if not counted:
        return []
    rows = _rows(best, prior)
    return [_of_kind(best, rows, *own, whole) for own in counted]


class _Rows(NamedTuple):
    """What the rounds' values are of b, and of what was told: the same for all kinds of hand."""

    position: FloatArray
    """Shape (n, p)."""
    known_position: FloatArray
    """Shape (n,)."""
    drift: FloatArray
    known_drift: FloatArray
    grown: FloatArray


def _rows(best: Weighed, prior: Prior) -> _Rows:
    reg, line = best.regression, best.line
    rounds = rounds_of(best)
    told = moves(line, prior)
    spots = line.spots_at(rounds)
    position = columns(line, best.hypothesis, prior, spots, sittings=best.sitting_sd > 0.0)
    drift = np.zeros_like(position)
    drift[:, reg.drift_column] = 1.0
    since = (rounds - line.first_round)[:, None] / trend_rounds(line, prior)
    drift[:, reg.trend_columns] = since
    if reg.response_column is not None:
        asked_for = [tension_step(line.log, asked_in(line.log, r)) for r in rounds.tolist()]
        drift[:, reg.response_column] = asked_for
    for column, move in enumerate(
        found_moves(line, best.hypothesis, prior), reg.move_columns.start
    ):
        drift[:, column] = np.where(rounds >= move.first_round, move.lasting, 0.0)
    known_drift = np.zeros(len(rounds))
    for move in told:
        known_drift += move.mean * move.lasting * (rounds >= move.first_round)
    grown = np.zeros_like(position)
    grown[:, reg.trend_columns] = since[-1] - since
    return _Rows(position, known(line, told, spots), drift, known_drift, grown)


def _of_kind(
    best: Weighed, rows: _Rows, creep: float, trend: float, weight: FloatArray, whole: float
) -> Smoothed:
    kept, reg, mix = best.kept, best.regression, best.mixture
    share = float(weight.sum())
    weight = weight / share
    w = float(np.exp(weight @ np.log(mix.tension_sd)))
    m = float(np.exp(weight @ np.log(mix.reading_sd)))
    path = Smoother.of(kept.looks, (w / m) ** 2, creep, reg.steps)
    lifted = path.lift(kept.pushed)
    # [X y]'Omega^-1 [X y]
    inner = kept.own - kept.pushed @ lifted[:, 1].T
    precision = reg.precision(Spread(float(weight @ mix.pattern_sd), trend))
    cov = np.linalg.inv(inner[:-1, :-1] / m**2 + np.diag(precision))
    b = cov @ (inner[:-1, -1] / m**2 + precision * reg.prior_mean)
    n = len(rows.position)

    def told(of: FloatArray, own: FloatArray, spread: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Give mean and variance of ``of`` b + an unknown of the path, nothing at the first."""
        lift, variance = np.zeros((n, len(own))), np.zeros(n)
        lift[1:], variance[1:] = own.T[: n - 1], m**2 * spread[: n - 1]
        sway = of - lift[:, :-1]
        mean = of @ best.rough + sway @ b + lift[:, -1]
        return mean, variance + ((sway @ cov) * sway).sum(axis=1)

    position, position_variance = told(rows.position, lifted[:, 1], path.cov[:, 1, 1])
    drift, drift_variance = told(rows.drift, lifted[:, 0], path.cov[:, 0, 0])
    drift += rows.known_drift
    crept = lifted[:, 0, -1:] - lifted[:, 0]
    spread = path.cov[:, 0, 0] + path.cov[-1, 0, 0] - 2.0 * path.of_end()[0, 0]
    to_now, to_now_variance = told(rows.grown, crept, spread)
    for own in (drift, drift_variance, to_now, to_now_variance):
        # the first round makes no step that was read: taken as the next
        own[: min(1, n - 1)] = own[min(1, n - 1)]
    return Smoothed(
        share / whole,
        creep,
        trend,
        position + rows.known_position,
        np.maximum(position_variance, 0.0),
        drift,
        np.maximum(drift_variance, 1e-12),
        to_now,
        np.maximum(to_now_variance, 1e-12),
    )


def blended(paths: list[Smoothed], name: str) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the weights (k,) and the normals' means and variances, shapes (k, n)."""
    weight = np.array([p.weight for p in paths])
    mean = np.stack([getattr(p, name) for p in paths])
    variance = np.stack([getattr(p, f"{name}_variance") for p in paths])
    return weight / weight.sum(), mean, variance
