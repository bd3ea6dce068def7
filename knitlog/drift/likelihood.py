r"""The state-space model's likelihood, as generalised least squares.

The readings are y = X b + x + e.  X b holds all that is a number to be found (homes, the drift
of the first round, an even trend of it, the answer to a tension asked, the pattern's rounds);
x is the path beyond it: the running sum of the rounds' own tension errors, sd w each, and of a
drift that itself changes by sd v = creep * w from one round to the next; e is reading noise, sd m.
With Var(y) = m^2 Omega the banded solver (:mod:`knitlog.drift.banded`) gives [X, y]'Omega^-1 [X, y]
and |Omega| at once for many (w / m, memory, creep): the local linear trend as generalised least
squares (Durbin & Koopman 2012, sections 3.2 and 4.13, "matrix formulation").

The noises are integrated out on a quadrature grid: over w / m, memory and creep by nodes, and
over m, for each of them, about its own mode.  Nothing is plugged in as if it were known.
"""

from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np

from knitlog.drift.banded import Looks, Solved, Steps, solve
from knitlog.drift.fit_result import BoolArray, FloatArray, IntArray
from knitlog.drift.prior import Prior

_LOG_2PI = float(np.log(2.0 * np.pi))
_SCALE_NODES = np.linspace(-2.7, 2.7, 7)
SCALES = len(_SCALE_NODES)


class Spread(NamedTuple):
    """Prior spreads of columns that may be none at all, one node of their quadrature."""

    pattern: float = 0.0
    """Of the pattern's effects, stitches."""
    trend: float = 0.0
    """Of what an even trend of the drift comes to over the log, stitches/round."""
    log_share: float = 0.0
    """Log of its probability."""


@dataclass(frozen=True, slots=True)
class Regression:
    """The log as numbers, ready for the likelihood."""

    y: FloatArray
    """Unwrapped readings, stitches, shape (m,)."""
    design: FloatArray
    """X, shape (m, p)."""
    at: IntArray
    """Index of each reading's round on the path, 0 for the first round, shape (m,)."""
    trust: FloatArray
    """Over the spread of each reading about the path, that of the most exact, shape (m,)."""
    ahead: FloatArray
    """Part of a round by which each lies beyond the path's place in its round, shape (m,)."""
    rounds: int
    """Unknown rounds of the path, n: it has one more, the first, at zero."""
    steps: Steps
    """What may have happened at each of them beside knitting."""
    prior_mean: FloatArray
    """Mean of b, shape (p,)."""
    prior_sd: FloatArray
    """Spread of b, shape (p,); 1 for the columns of the pattern and the trend."""
    homes: int
    """Columns that are homes: the first."""
    drift_column: int
    """Column of X that is the drift of the first round."""
    trend_columns: slice = field(default_factory=lambda: slice(0, 0))
    """The column of what an even trend of the drift comes to, where there may be one."""
    response_column: int | None = None
    """Column of the answer to a tension asked."""
    move_columns: slice = field(default_factory=lambda: slice(0, 0))
    """Columns of the sizes of what happened."""
    pattern_columns: slice = field(default_factory=lambda: slice(0, 0))
    """Columns of the pattern's rounds."""
    spreads: tuple[Spread, ...] = (Spread(),)
    least_reading_sd: float = 1e-6
    """What rounding alone puts into a reading, stitches: m is never below it."""

    @property
    def free(self) -> int:
        """Return how many numbers are found beside the pattern's and the trend's."""
        some = (self.pattern_columns, self.trend_columns)
        return int(self.design.shape[1] - sum(own.stop - own.start for own in some))

    def precision(self, spread: Spread) -> FloatArray:
        """Return the diagonal of b's prior precision, shape (p,)."""
        sd = self.prior_sd.copy()
        sd[self.pattern_columns] = max(spread.pattern, 1e-4)
        sd[self.trend_columns] = max(spread.trend, 1e-6)
        precision: FloatArray = sd**-2
        return precision


@dataclass(frozen=True, slots=True)
class Noise:
    """Nodes of the noise grid: one entry a node."""

    log_ratio: FloatArray
    """log(w / m), shape (k,)."""
    memory: FloatArray
    """rho, shape (k,)."""
    creep: FloatArray
    """v / w, shape (k,)."""
    log_weight: FloatArray
    """log of prior mass of the node in rho and v / w and of its width in log ratio, shape (k,)."""

    def __getitem__(self, own: BoolArray) -> "Noise":
        """Return some of the nodes."""
        return Noise(*(getattr(self, name)[own] for name in self.__slots__))


@dataclass(frozen=True, slots=True)
class Kept:
    """The r readings an account keeps, summed by round: the same at all noises."""

    regression: Regression
    readings: IntArray
    """Which readings they are, shape (r,)."""
    columns: FloatArray
    """[X, y]', times trust, shape (p + 1, r)."""
    looks: Looks
    own: FloatArray
    """[X, y]'[X, y], shape (p + 1, p + 1)."""
    pushed: FloatArray
    """(Z'[X, y])', shape (p + 1, n)."""

    @classmethod
    def of(cls, reg: Regression, keep: BoolArray) -> "Kept":
        """Sum the readings ``keep`` (shape (m,)) of ``reg``."""
        columns = (reg.trust * np.vstack((reg.design.T, reg.y)))[:, keep]
        looks = Looks.of(reg.at[keep], reg.rounds, reg.trust[keep], reg.ahead[keep])
        return cls(
            regression=reg,
            readings=np.flatnonzero(keep),
            columns=columns,
            looks=looks,
            own=columns @ columns.T,
            pushed=looks.sums(columns),
        )


@dataclass(frozen=True, slots=True)
class Mixture:
    """The answer: a mixture of normals, n of them: s spreads, k nodes, j scales."""

    noise: Noise
    """The nodes."""
    log_weight: FloatArray
    """Unnormalised log posterior mass, shape (n,)."""
    log_mass: FloatArray
    """The same of each node, shape (k,)."""
    log_evidence: float
    """The log of the total mass."""
    tension_sd: FloatArray
    """w, stitches, shape (n,)."""
    reading_sd: FloatArray
    """m, stitches, shape (n,)."""
    pattern_sd: FloatArray
    """Spread of the pattern's effects, stitches, shape (n,)."""
    trend_sd: FloatArray
    """Spread of the trend, stitches/round over the log, shape (n,)."""
    coefficients: FloatArray
    """Mean of b, shape (n, p)."""
    coefficient_cov: FloatArray
    """Covariance of b, shape (n, p, p)."""
    path: Solved
    """The end of the path at each node."""

    def of_node(self, values: FloatArray) -> FloatArray:
        """Return ``values`` of shape (k, ...), one a node, as (n, ...)."""
        k = len(self.log_mass)
        s, j = len(self.log_weight) // k // SCALES, SCALES
        wide = np.broadcast_to(values[None, :, None], (s, k, j, *values.shape[1:]))
        return wide.reshape(-1, *values.shape[1:])


def log_sum(values: FloatArray) -> float:
    """Return log(sum(exp(values))) without overflow."""
    top = float(np.max(values))
    return top + float(np.log(np.sum(np.exp(values - top))))


@dataclass(frozen=True, slots=True)
class Sums:
    """Omega^-1 inner products of [X, y], one entry a node, and the end of the path."""

    xx: FloatArray
    xy: FloatArray
    yy: FloatArray
    path: Solved


def summed(kept: Kept, noise: Noise) -> Sums:
    """Return the sums of squares of the readings at every point of ``noise``."""
    q = np.exp(2.0 * noise.log_ratio)
    path = solve(q, noise.memory, noise.creep, kept.looks, kept.pushed, kept.regression.steps)
    # [X y]' Omega^-1 [X y] = [X y]'[X y] - (Z'[X y])' S^-1 (Z'[X y])
    inner = kept.own - path.inner
    return Sums(inner[:, :-1, :-1], inner[:, :-1, -1], inner[:, -1, -1], path)


def _log_scales(
    sums: Sums, precision: FloatArray, kept: Kept, noise: Noise, prior: Prior, stitches: float
) -> tuple[FloatArray, FloatArray]:
    """Return mode and spread of log m for each node, shapes (k,), (k,)."""
    from scipy.special import wrightomega

    reg = kept.regression
    ridge = np.diag(precision) * prior.reading_noise_median**2
    push = sums.xy + ridge @ reg.prior_mean
    best = np.linalg.solve(sums.xx + ridge, push[:, :, None])[:, :, 0]
    fitted = 2.0 * np.einsum("kp,kp->k", best, sums.xy)
    fitted -= np.einsum("kp,kpq,kq->k", best, sums.xx, best)
    rss = np.maximum(sums.yy - fitted, 1e-12)
    bend = 2.0 / prior.noise_log_sd**2
    centre = 0.5 * (prior.log_reading_noise() + prior.log_tension_noise(stitches) - noise.log_ratio)
    free = max(len(kept.readings) - reg.free, 0)
    # d/du of [-free u - rss exp(-2u)/2 - bend (u - centre)^2 / 2] = 0, u = log m, which
    # is z + log z = ... for z = 2 (free / bend + u - centre): Wright's omega
    # (Corless & Jeffrey 2002, "The Wright omega function")
    start = centre - free / bend
    mode = start + 0.5 * wrightomega(np.log(2.0 * rss / bend) - 2.0 * start)
    mode = np.maximum(mode, np.log(reg.least_reading_sd))
    pull = rss * np.exp(-2.0 * mode)
    return mode, 1.0 / np.sqrt(2.0 * pull + bend)


def posterior(kept: Kept, noise: Noise, prior: Prior, stitches: float) -> Mixture:
    """Return the mixture over the quadrature grid for the ``kept`` readings.

    ``log_weight`` is the log of the joint density of the kept readings and the noises,
    times the width of the node, so that its log-sum is the log evidence.
    """
    sums = summed(kept, noise)
    spreads = kept.regression.spreads
    parts = [_at_spread(sums, spread, kept, noise, prior, stitches) for spread in spreads]
    log_weight, log_m, log_w, mean, cov = (np.concatenate(own) for own in zip(*parts, strict=True))
    by_node = log_weight.reshape(len(spreads), len(noise.memory), SCALES)
    top = by_node.max(axis=(0, 2))
    log_mass = top + np.log(np.exp(by_node - top[:, None]).sum(axis=(0, 2)))
    return Mixture(
        noise=noise,
        log_weight=log_weight,
        log_mass=log_mass,
        log_evidence=log_sum(log_mass),
        tension_sd=np.exp(log_w),
        reading_sd=np.exp(log_m),
        pattern_sd=np.repeat([spread.pattern for spread in spreads], len(parts[0][0])),
        trend_sd=np.repeat([spread.trend for spread in spreads], len(parts[0][0])),
        coefficients=mean,
        coefficient_cov=cov,
        path=sums.path,
    )


def _at_spread(
    sums: Sums,
    spread: Spread,
    kept: Kept,
    noise: Noise,
    prior: Prior,
    stitches: float,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return log weight, log m, log w, mean and covariance of b at one node of the spreads."""
    reg = kept.regression
    precision = reg.precision(spread)
    mode, wide = _log_scales(sums, precision, kept, noise, prior, stitches)
    log_m = mode[:, None] + wide[:, None] * _SCALE_NODES
    inv_var = np.exp(-2.0 * log_m)

    # b | y, noises: precision A = X'Omega^-1 X / m^2 + L, A mean = X'Omega^-1 y / m^2 + L mu
    prior_push = precision * reg.prior_mean
    information = sums.xx[:, None] * inv_var[:, :, None, None] + np.diag(precision)
    push = sums.xy[:, None] * inv_var[:, :, None] + prior_push
    cov = np.linalg.inv(information)
    mean = np.matmul(cov, push[..., None])[..., 0]
    # -2 log p(y | noises) = count log(2 pi m^2) + log |Omega| + log |A| - log |L|
    #     + (y - X mean)'Omega^-1 (y - X mean) / m^2 + (mean - mu)'L (mean - mu)
    surprise = len(kept.readings) * (_LOG_2PI + 2.0 * log_m) + sums.path.log_det[:, None]
    surprise -= 2.0 * np.log(reg.trust[kept.readings]).sum()
    surprise += np.linalg.slogdet(information)[1] - np.log(precision).sum()
    fitted = np.einsum("kjp,kjp->kj", mean, 2.0 * sums.xy[:, None] - mean @ sums.xx)
    surprise += (sums.yy[:, None] - fitted) * inv_var + (mean - reg.prior_mean) ** 2 @ precision
    # the noises' own prior, log-normal each
    log_w = log_m + noise.log_ratio[:, None]
    surprise += ((log_m - prior.log_reading_noise()) / prior.noise_log_sd) ** 2
    surprise += ((log_w - prior.log_tension_noise(stitches)) / prior.noise_log_sd) ** 2
    log_width = np.log(wide * (_SCALE_NODES[1] - _SCALE_NODES[0])) + noise.log_weight
    log_width += spread.log_share - _LOG_2PI - 2.0 * np.log(prior.noise_log_sd)
    log_weight = log_width[:, None] - 0.5 * surprise
    # no reading is truer than its rounding
    log_weight[log_m < np.log(reg.least_reading_sd) - 1e-9] = -np.inf
    n, p = log_m.size, len(prior_push)
    return (
        log_weight.ravel(),
        log_m.ravel(),
        log_w.ravel(),
        mean.reshape(n, p),
        cov.reshape(n, p, p),
    )


def values_at_end(
    mixture: Mixture, of_coefficients: FloatArray, of_end: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return means (n, v) and covariances (n, v, v) of v sums of b and the path's last round.

    Value i is ``of_coefficients[i]`` b + ``of_end[i]`` (mu, x, e); shapes (v, p) and (v, 3).
    """
    # (mu, x, e) | b = S^-1 Z'(y - X b) at the end, with m^2 times the end of S^-1 about it
    lift = mixture.of_node(of_end @ mixture.path.end)
    rows = of_coefficients - lift[:, :, :-1]
    mean = np.matmul(rows, mixture.coefficients[:, :, None])[:, :, 0] + lift[:, :, -1]
    cov = rows @ mixture.coefficient_cov @ rows.transpose(0, 2, 1)
    own = mixture.of_node(of_end @ mixture.path.end_cov @ of_end.T)
    return mean, cov + own * mixture.reading_sd[:, None, None] ** 2


def centred(reg: Regression) -> tuple[Regression, FloatArray]:
    """Return the regression about a rough solution, and that solution (shape (p,)).

    Offsets run to thousands of stitches in a long log while the noise is a fraction of
    one; taking a rough line out first keeps the sums of squares exact.
    """
    weight = 1e-3 / reg.prior_sd
    stacked = np.vstack([reg.design, np.diag(weight)])
    target = np.concatenate([reg.y, weight * reg.prior_mean])
    rough = np.linalg.lstsq(stacked, target, rcond=None)[0]
    moved = replace(reg, y=reg.y - reg.design @ rough, prior_mean=reg.prior_mean - rough)
    return moved, rough
