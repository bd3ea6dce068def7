r"""The state-space model's likelihood, as generalised least squares.

The readings are y = X b + g + e.  X b holds all that is a number to be found
(homes, drifts, fixes); g is the running sum of the rounds' own tension errors,
sd w each, with correlation rho from one round to the next; e is reading noise, sd m.
Write q = (w/m)^2.  Then Var(y) = m^2 Omega, and with one unknown of g a round

    S = P / q + Z'Z,   Omega^-1 = I - Z S^-1 Z',   |Omega| = |S| / |P / q|

where P is the precision of a running sum of AR(1) steps.  P has two bands below
its diagonal, so one banded Cholesky does a whole log in linear time, and logs for
many (q, rho) stack into one banded system.  For rho = 0 this is the local level
model with drift (Harvey 1989, section 2.3; Durbin & Koopman 2012, chapter 2);
the GLS form is Durbin & Koopman section 4.13 ("matrix formulation").

The noises are integrated out on a grid: over q and rho by nodes, and over m, for
each of them, about its own mode.  Nothing is plugged in as if it were known.
"""

from dataclasses import dataclass

import numpy as np

from knitlog.drift.local_level import Places
from knitlog.drift.prior import Prior
from knitlog.drift.result import BoolArray, FloatArray, IntArray
from knitlog.drift.running_sum import Solved, solve

_LOG_2PI = float(np.log(2.0 * np.pi))
_SCALE_NODES = np.linspace(-2.7, 2.7, 7)


@dataclass(frozen=True, slots=True)
class Regression:
    """The log as numbers, ready for the likelihood."""

    y: FloatArray
    """Unwrapped readings, stitches, shape (m,)."""
    design: FloatArray
    """X, shape (m, p)."""
    at: IntArray
    """Index of each reading's round on the path, 0 for the first round, shape (m,)."""
    steps: int
    """Unknowns of the running sum: the path has ``steps + 1`` rounds, the first at zero."""
    prior_mean: FloatArray
    """Mean of b, shape (p,)."""
    prior_precision: FloatArray
    """Inverse covariance of b, shape (p, p)."""
    drift_row: FloatArray
    """c with c'b the present drift, stitches/round, shape (p,)."""
    offset_row: FloatArray
    """c with c'b + g[last] the offset at the last logged round, shape (p,)."""
    drift_columns: tuple[int, ...]
    """Columns of X that are the drifts of the segments, in order."""
    first_jump: int
    """Column of the first jump nobody logged; the others follow it."""
    least_reading_sd: float = 1e-6
    """What rounding alone puts into a reading, stitches: m is never below it."""


@dataclass(frozen=True, slots=True)
class Noise:
    """Nodes of the noise grid: one entry a node."""

    log_ratio: FloatArray
    """log(w / m), shape (k,)."""
    memory: FloatArray
    """rho, shape (k,)."""
    log_weight: FloatArray
    """log of prior mass of the node in rho and of its width in log ratio, shape (k,)."""


@dataclass(frozen=True, slots=True)
class Kept:
    """The r readings an account keeps, summed by round: the same at all noises."""

    regression: Regression
    readings: IntArray
    """Which readings they are, shape (r,)."""
    columns: FloatArray
    """[X, y]', shape (p + 1, r)."""
    places: Places
    own: FloatArray
    """[X, y]'[X, y], shape (p + 1, p + 1)."""
    pushed: FloatArray
    """(Z'[X, y])', shape (p + 1, n)."""
    prior_log_det: float
    """log |L| of the coefficients' prior precision L."""

    @classmethod
    def of(cls, reg: Regression, keep: BoolArray) -> "Kept":
        """Sum the readings ``keep`` (shape (m,)) of ``reg``."""
        columns = np.vstack((reg.design.T, reg.y))[:, keep]
        places = Places.of(reg.at[keep], reg.steps)
        return cls(
            regression=reg,
            readings=np.flatnonzero(keep),
            columns=columns,
            places=places,
            own=columns @ columns.T,
            pushed=places.sums(columns),
            prior_log_det=float(np.linalg.slogdet(reg.prior_precision)[1]),
        )


@dataclass(frozen=True, slots=True)
class Mixture:
    """The answer: a mixture of normals, j of them a node of the noise grid, n = k j in all."""

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
    coefficients: FloatArray
    """Mean of b, shape (n, p)."""
    coefficient_cov: FloatArray
    """Covariance of b, shape (n, p, p)."""
    path: Solved
    """S^-1 and Z'[X, y], at each node."""

    @property
    def memory(self) -> FloatArray:
        """Return rho, shape (n,)."""
        return np.repeat(self.noise.memory, len(self.log_weight) // len(self.noise.memory))

    def by_node(self, values: FloatArray) -> FloatArray:
        """Return ``values`` of shape (n, ...) as (k, j, ...)."""
        return values.reshape(len(self.noise.memory), -1, *values.shape[1:])


def log_sum(values: FloatArray) -> float:
    """Return log(sum(exp(values))) without overflow."""
    top = float(np.max(values))
    return top + float(np.log(np.sum(np.exp(values - top))))


@dataclass(frozen=True, slots=True)
class _Sums:
    """Omega^-1 inner products of [X, y], one entry a node, and what of the path is needed."""

    xx: FloatArray
    xy: FloatArray
    yy: FloatArray
    log_det: FloatArray
    path: Solved


def _sums(kept: Kept, noise: Noise) -> _Sums:
    n = len(kept.places.counts)
    q = np.exp(2.0 * noise.log_ratio)
    path = solve(q, noise.memory, kept.places.counts, kept.pushed)
    # [X y]' Omega^-1 [X y] = [X y]'[X y] - (Z'[X y])' S^-1 (Z'[X y])
    inner = kept.own - path.inner
    # |P| = |T| = (1 - rho^2)^-(n - 1), since |D| = 1
    log_det_p = -(n - 1) * np.log1p(-(noise.memory**2)) - 2.0 * n * noise.log_ratio
    return _Sums(
        xx=inner[:, :-1, :-1],
        xy=inner[:, :-1, -1],
        yy=inner[:, -1, -1],
        log_det=path.log_det - log_det_p,
        path=path,
    )


def _log_scales(
    kept: Kept, sums: _Sums, noise: Noise, prior: Prior, stitches: float
) -> tuple[FloatArray, FloatArray]:
    """Return mode and spread of log m for each node, shapes (k,), (k,)."""
    from scipy.special import wrightomega

    reg = kept.regression
    ridge = reg.prior_precision * prior.reading_noise_median**2
    best = np.linalg.solve(sums.xx + ridge, (sums.xy + ridge @ reg.prior_mean)[:, :, None])[:, :, 0]
    fitted = 2.0 * np.einsum("kp,kp->k", best, sums.xy)
    fitted -= np.einsum("kp,kpq,kq->k", best, sums.xx, best)
    rss = np.maximum(sums.yy - fitted, 1e-12)
    precision = 2.0 / prior.noise_log_sd**2
    centre = 0.5 * (prior.log_reading_noise() + prior.log_tension_noise(stitches) - noise.log_ratio)
    free = max(len(kept.readings) - reg.design.shape[1], 0)
    # d/du of [-free u - rss exp(-2u)/2 - precision (u - centre)^2 / 2] = 0, u = log m, which
    # is z + log z = ... for z = 2 (free / precision + u - centre): Wright's omega
    # (Corless & Jeffrey 2002, "The Wright omega function")
    start = centre - free / precision
    mode = start + 0.5 * wrightomega(np.log(2.0 * rss / precision) - 2.0 * start)
    mode = np.maximum(mode, np.log(reg.least_reading_sd))
    pull = rss * np.exp(-2.0 * mode)
    return mode, 1.0 / np.sqrt(2.0 * pull + precision)


def posterior(kept: Kept, noise: Noise, prior: Prior, stitches: float) -> Mixture:
    """Return the mixture over the noise grid for the ``kept`` readings.

    ``log_weight`` is the log of the joint density of the kept readings and the noises,
    times the width of the node, so that its log-sum is the log evidence.
    """
    reg = kept.regression
    sums = _sums(kept, noise)
    mode, spread = _log_scales(kept, sums, noise, prior, stitches)
    log_m = mode[:, None] + spread[:, None] * _SCALE_NODES
    inv_var = np.exp(-2.0 * log_m)

    # b | y, noises: precision A = X'Omega^-1 X / m^2 + L, A mean = X'Omega^-1 y / m^2 + L mu
    prior_push = reg.prior_precision @ reg.prior_mean
    information = sums.xx[:, None] * inv_var[:, :, None, None] + reg.prior_precision
    push = sums.xy[:, None] * inv_var[:, :, None] + prior_push
    cov = np.linalg.inv(information)
    mean = np.matmul(cov, push[..., None])[..., 0]
    # -2 log p(y | noises) = count log(2 pi m^2) + log |Omega| + log |A| - log |L|
    #     + y'Omega^-1 y / m^2 + mu'L mu - mean'A mean
    surprise = len(kept.readings) * (_LOG_2PI + 2.0 * log_m) + sums.log_det[:, None]
    surprise += np.linalg.slogdet(information)[1] - kept.prior_log_det
    surprise += sums.yy[:, None] * inv_var + reg.prior_mean @ prior_push
    surprise -= np.einsum("kjp,kjp->kj", mean, push)
    # the noises' own prior, log-normal each
    log_w = log_m + noise.log_ratio[:, None]
    surprise += ((log_m - prior.log_reading_noise()) / prior.noise_log_sd) ** 2
    surprise += ((log_w - prior.log_tension_noise(stitches)) / prior.noise_log_sd) ** 2
    log_width = np.log(spread * (_SCALE_NODES[1] - _SCALE_NODES[0])) + noise.log_weight
    log_width -= _LOG_2PI + 2.0 * np.log(prior.noise_log_sd)
    log_weight = log_width[:, None] - 0.5 * surprise
    # no reading is truer than its rounding
    log_weight[log_m < np.log(reg.least_reading_sd) - 1e-9] = -np.inf

    top = log_weight.max(axis=1)
    log_mass = top + np.log(np.exp(log_weight - top[:, None]).sum(axis=1))
    n, p = log_m.size, len(prior_push)
    return Mixture(
        noise=noise,
        log_weight=log_weight.ravel(),
        log_mass=log_mass,
        log_evidence=log_sum(log_mass),
        tension_sd=np.exp(log_w).ravel(),
        reading_sd=np.exp(log_m).ravel(),
        coefficients=mean.reshape(n, p),
        coefficient_cov=cov.reshape(n, p, p),
        path=sums.path,
    )


def present(reg: Regression, mixture: Mixture) -> tuple[FloatArray, FloatArray]:
    """Return what the mixture says of the present: means, shape (n, 3), and covariances.

    Of the drift (stitches/round), the offset at the last logged round and that round's own
    tension error (stitches); the covariances have shape (n, 3, 3).
    """
    path, path_cov = mixture.path.end()
    path_x, path_y = path[:, :, :-1], path[:, :, -1]
    # drift = c'b; offset = c'b + g[n]; last tension error = g[n] - g[n-1]
    rows = np.empty((len(path_x), 3, path_x.shape[2]))
    rows[:, 0] = reg.drift_row
    rows[:, 1] = reg.offset_row - path_x[:, 1]
    rows[:, 2] = path_x[:, 0] - path_x[:, 1]
    pick = np.array([[0.0, 0.0], [0.0, 1.0], [-1.0, 1.0]])
    across = rows.transpose(0, 2, 1)
    mean = mixture.by_node(mixture.coefficients) @ across + (path_y @ pick.T)[:, None]
    cov = rows[:, None] @ mixture.by_node(mixture.coefficient_cov) @ across[:, None]
    variance = mixture.by_node(mixture.reading_sd)[:, :, None, None] ** 2
    cov = cov + (pick @ path_cov @ pick.T)[:, None] * variance
    return mean.reshape(-1, 3), cov.reshape(-1, 3, 3)


def diffuse_log_likelihood(
    y: FloatArray, design: FloatArray, at: IntArray, w: float, m: float, rho: float = 0.0
) -> float:
    """Return the exact diffuse log-likelihood of readings at known noises.

    ``y`` has shape (m,), ``design`` (m, p) with coefficients nothing is known of, ``at``
    (m,) holds the path index of each reading; ``w`` and ``m`` are sds in the unit of ``y``.
    Durbin & Koopman 2012, section 7.2: log L_d = lim [log L(kappa) + p/2 log kappa]
    as the coefficients' prior variance kappa grows.
    """
    rough = np.linalg.lstsq(design, y, rcond=None)[0]
    p = design.shape[1]
    nothing = np.zeros(p)
    reg = Regression(
        y=y - design @ rough,
        design=design,
        at=at,
        steps=max(int(at.max()), 1),
        prior_mean=nothing,
        prior_precision=np.zeros((p, p)),
        drift_row=nothing,
        offset_row=nothing,
        drift_columns=(),
        first_jump=p,
    )
    noise = Noise(np.array([np.log(w / m)]), np.array([rho]), np.zeros(1))
    sums = _sums(Kept.of(reg, np.ones(len(y), dtype=bool)), noise)
    xx, xy = sums.xx[0] / m**2, sums.xy[0] / m**2
    quad = float(sums.yy[0] / m**2 - xy @ np.linalg.solve(xx, xy))
    # -1/2 [n log 2 pi + log |V| + log |X'V^-1 X| + (y - Xb)'V^-1 (y - Xb)]
    log_det = 2.0 * len(y) * np.log(m) + float(sums.log_det[0]) + np.linalg.slogdet(xx)[1]
    return float(-0.5 * (len(y) * _LOG_2PI + log_det + quad))
