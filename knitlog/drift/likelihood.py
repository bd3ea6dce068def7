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

from knitlog.drift.local_level import sums_by_round
from knitlog.drift.prior import Prior
from knitlog.drift.result import BoolArray, FloatArray, IntArray

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
class Mixture:
    """The answer: a mixture of normals, one a node; shapes (n,), (n, 3) and (n, 3, 3)."""

    log_weight: FloatArray
    """Unnormalised log posterior mass."""
    mean: FloatArray
    """Means of (drift, offset at the last round, the last round's tension error)."""
    cov: FloatArray
    """Their covariances."""
    tension_sd: FloatArray
    """w, stitches."""
    reading_sd: FloatArray
    """m, stitches."""
    memory: FloatArray
    """rho."""
    coefficients: FloatArray
    """Mean of b, shape (n, p)."""
    coefficient_cov: FloatArray
    """Covariance of b, shape (n, p, p)."""

    @property
    def log_evidence(self) -> float:
        """Return the log of the total mass."""
        return log_sum(self.log_weight)


def log_sum(values: FloatArray) -> float:
    """Return log(sum(exp(values))) without overflow."""
    top = float(np.max(values))
    return top + float(np.log(np.sum(np.exp(values - top))))


_EDGE = 7
"""Steps of a path beyond which all rows of its precision but those at the ends are alike."""


def path_precision(steps: int, memory: FloatArray) -> FloatArray:
    """Return P for each rho, its diagonal and two bands below: shape (k, steps, 3).

    P = D'TD with D the first difference and T the precision of AR(1) steps of unit
    spread, T = 1/(1 - rho^2) * tridiagonal(-rho; 1, 1 + rho^2, ..., 1 + rho^2, 1; -rho).
    """
    if steps > _EDGE:
        short = path_precision(_EDGE, memory)
        bands = np.repeat(short[:, 2:3], steps, axis=1)
        bands[:, :2], bands[:, -3:] = short[:, :2], short[:, -3:]
        return bands
    rho = memory[:, None]
    main = np.repeat(1.0 + rho**2, steps, axis=1)
    main[:, [0, -1]] = 1.0
    if steps == 1:
        main[:] = 1.0 - rho**2
    side = np.repeat(-rho, steps, axis=1)
    side[:, -1] = 0.0
    next_main = np.zeros_like(main)
    next_main[:, :-1] = main[:, 1:]
    next_side = np.zeros_like(side)
    next_side[:, :-1] = side[:, 1:]
    bands = np.empty((len(memory), steps, 3))
    bands[:, :, 0] = main - 2.0 * side + next_main
    bands[:, :, 1] = side - next_main + next_side
    bands[:, -1:, 1] = 0.0
    bands[:, :, 2] = -next_side
    bands[:, -2:, 2] = 0.0
    return bands / (1.0 - rho[:, :, None] ** 2)


@dataclass(frozen=True, slots=True)
class _Solved:
    """S^-1 Z'[X, y] and what else of S is needed, one entry a node."""

    columns: FloatArray
    """Shape (p + 1, k, n)."""
    log_det: FloatArray
    """log |S|, shape (k,)."""
    tail_cov: FloatArray
    """The last two rows and columns of S^-1, shape (k, 2, 2)."""


def _solve_plain(q: FloatArray, counts: FloatArray, pushed: FloatArray) -> _Solved:
    """Solve for nodes without memory: S is tridiagonal."""
    from scipy.linalg import lapack

    k, (width, n) = len(q), pushed.shape
    main = np.repeat(2.0 / q[:, None], n, axis=1) + counts
    main[:, -1] -= 1.0 / q
    side = np.repeat(-1.0 / q[:, None], n, axis=1)
    side[:, -1] = 0.0
    # one long system, each node a block of it
    pivots, multipliers, info = lapack.dpttrf(main.ravel(), side.ravel()[:-1], 1, 1)
    if info != 0:
        raise np.linalg.LinAlgError("the tridiagonal system is not positive definite")
    solved = lapack.dpttrs(pivots, multipliers, np.tile(pushed, k).T, overwrite_b=1)[0]
    pivots = pivots.reshape(k, n)
    tail = np.zeros((k, 2, 2))
    tail[:, 1, 1] = 1.0 / pivots[:, -1]
    if n > 1:
        # S = L D L':  S^-1[n-1, n] = -l S^-1[n, n],  S^-1[n-1, n-1] = 1/d - l S^-1[n-1, n]
        last = multipliers[n - 2 :: n]
        tail[:, 0, 1] = tail[:, 1, 0] = -last * tail[:, 1, 1]
        tail[:, 0, 0] = 1.0 / pivots[:, -2] - last * tail[:, 0, 1]
    return _Solved(solved.T.reshape(width, k, n), np.log(pivots).sum(axis=1), tail)


def _solve_remembering(
    q: FloatArray, memory: FloatArray, counts: FloatArray, pushed: FloatArray
) -> _Solved:
    """Solve for nodes with memory: S has two bands below its diagonal."""
    from scipy.linalg import lapack

    k, (width, n) = len(q), pushed.shape
    bands = path_precision(n, memory)
    bands /= q[:, None, None]
    bands[:, :, 0] += counts
    # one long system, each node a block of it
    factor, info = lapack.dpbtrf(bands.reshape(k * n, 3).T, lower=1, overwrite_ab=1)
    if info != 0:
        raise np.linalg.LinAlgError("the banded system is not positive definite")
    solved, _ = lapack.dpbtrs(factor, np.tile(pushed, k).T, lower=1, overwrite_b=1)
    # the trailing block of S^-1 is the inverse of the trailing block of C C'
    diagonal = factor[0].reshape(k, n)
    tail = np.zeros((k, 2, 2))
    tail[:, 1, 1] = diagonal[:, -1]
    if n > 1:
        tail[:, 0, 0] = diagonal[:, -2]
        tail[:, 1, 0] = factor[1].reshape(k, n)[:, -2]
        inverse = np.linalg.inv(tail)
        tail_cov = np.matmul(inverse.transpose(0, 2, 1), inverse)
    else:
        tail_cov = np.zeros((k, 2, 2))
        tail_cov[:, 1, 1] = 1.0 / tail[:, 1, 1] ** 2
    return _Solved(solved.T.reshape(width, k, n), 2.0 * np.log(diagonal).sum(axis=1), tail_cov)


@dataclass(frozen=True, slots=True)
class _Sums:
    """Omega^-1 inner products of [X, y] and what the path needs, one entry a node."""

    xx: FloatArray
    xy: FloatArray
    yy: FloatArray
    log_det: FloatArray
    path_x: FloatArray
    path_y: FloatArray
    tail_cov: FloatArray


def _sums(reg: Regression, keep: BoolArray, noise: Noise) -> _Sums:
    k, n = len(noise.log_ratio), reg.steps
    at = reg.at[keep]
    columns = np.column_stack((reg.design[keep], reg.y[keep]))
    width = columns.shape[1]
    moving = at > 0
    place = at[moving] - 1
    counts = np.bincount(place, minlength=n).astype(float)
    pushed = sums_by_round(place, columns[moving], n)

    own = columns.T @ columns
    inner = np.empty((k, width, width))
    log_det, tail_cov = np.empty(k), np.empty((k, 2, 2))
    last = np.zeros((k, 2, width))
    q = np.exp(2.0 * noise.log_ratio)
    plain = noise.memory == 0.0
    for chosen in (np.flatnonzero(plain), np.flatnonzero(~plain)):
        if len(chosen) == 0:
            continue
        if plain[chosen[0]]:
            solved = _solve_plain(q[chosen], counts, pushed)
        else:
            solved = _solve_remembering(q[chosen], noise.memory[chosen], counts, pushed)
        # [X y]' Omega^-1 [X y] = [X y]'[X y] - (Z'[X y])' S^-1 (Z'[X y])
        inner[chosen] = own - (solved.columns @ pushed.T).transpose(1, 0, 2)
        log_det[chosen], tail_cov[chosen] = solved.log_det, solved.tail_cov
        last[chosen, max(2 - n, 0) :] = solved.columns[:, :, -2:].transpose(1, 2, 0)
    # |P| = |T| = (1 - rho^2)^-(n - 1), since |D| = 1
    log_det_p = -(n - 1) * np.log1p(-(noise.memory**2)) - n * np.log(q)
    return _Sums(
        xx=inner[:, :-1, :-1],
        xy=inner[:, :-1, -1],
        yy=inner[:, -1, -1],
        log_det=log_det - log_det_p,
        path_x=last[:, :, :-1],
        path_y=last[:, :, -1],
        tail_cov=tail_cov,
    )


def _log_scales(
    reg: Regression, sums: _Sums, count: int, noise: Noise, prior: Prior, stitches: float
) -> tuple[FloatArray, FloatArray]:
    """Return mode and spread of log m for each node, shapes (k,), (k,)."""
    ridge = reg.prior_precision * prior.reading_noise_median**2
    best = np.linalg.solve(sums.xx + ridge, (sums.xy + ridge @ reg.prior_mean)[:, :, None])[:, :, 0]
    fitted = 2.0 * np.einsum("kp,kp->k", best, sums.xy)
    fitted -= np.einsum("kp,kpq,kq->k", best, sums.xx, best)
    rss = np.maximum(sums.yy - fitted, 1e-12)
    precision = 2.0 / prior.noise_log_sd**2
    centre = 0.5 * (prior.log_reading_noise() + prior.log_tension_noise(stitches) - noise.log_ratio)
    free = max(count - reg.design.shape[1], 0)
    # near the mode: where the readings alone and the prior alone have it, by their bends
    alone = 0.5 * np.log(rss / max(free, 1))
    mode = (2.0 * free * alone + precision * centre) / (2.0 * free + precision)
    for _ in range(12):
        # d/du of [-free u - rss exp(-2u)/2 - precision (u - centre)^2 / 2], u = log m
        pull = rss * np.exp(-2.0 * mode)
        slope = -free + pull - precision * (mode - centre)
        bend = 2.0 * pull + precision
        step = np.minimum(np.maximum(slope / bend, -1.0), 1.0)
        mode += step
        if np.abs(step).max() < 1e-5:
            break
    mode = np.maximum(mode, np.log(reg.least_reading_sd))
    pull = rss * np.exp(-2.0 * mode)
    return mode, 1.0 / np.sqrt(2.0 * pull + precision)


def posterior(
    reg: Regression, keep: BoolArray, noise: Noise, prior: Prior, stitches: float
) -> Mixture:
    """Return the mixture over the noise grid for the readings ``keep`` (shape (m,)).

    ``log_weight`` is the log of the joint density of the kept readings and the noises,
    times the width of the node, so that its log-sum is the log evidence.
    """
    sums = _sums(reg, keep, noise)
    count = int(keep.sum())
    mode, spread = _log_scales(reg, sums, count, noise, prior, stitches)
    log_m = mode[:, None] + spread[:, None] * _SCALE_NODES
    possible = log_m >= np.log(reg.least_reading_sd) - 1e-9
    k, j = log_m.shape
    p = reg.design.shape[1]
    inv_var = np.exp(-2.0 * log_m)

    # b | y, noises: precision A = X'Omega^-1 X / m^2 + L, A mean = X'Omega^-1 y / m^2 + L mu
    information = sums.xx[:, None] * inv_var[:, :, None, None] + reg.prior_precision
    push = sums.xy[:, None] * inv_var[:, :, None] + reg.prior_precision @ reg.prior_mean
    cov = np.linalg.inv(information)
    mean = np.matmul(cov, push[..., None])[..., 0]
    log_det_a = np.linalg.slogdet(information)[1]
    log_det_prior = np.linalg.slogdet(reg.prior_precision)[1]
    quad = sums.yy[:, None] * inv_var
    quad = quad + reg.prior_mean @ reg.prior_precision @ reg.prior_mean
    quad = quad - np.einsum("kjp,kjp->kj", mean, push)
    log_like = -0.5 * (
        count * (_LOG_2PI + 2.0 * log_m) + sums.log_det[:, None] + log_det_a - log_det_prior + quad
    )
    log_w = log_m + noise.log_ratio[:, None]
    z_m = (log_m - prior.log_reading_noise()) / prior.noise_log_sd
    z_w = (log_w - prior.log_tension_noise(stitches)) / prior.noise_log_sd
    log_prior = -0.5 * (z_m**2 + z_w**2) - _LOG_2PI - 2.0 * np.log(prior.noise_log_sd)
    width = np.log(spread)[:, None] + np.log(_SCALE_NODES[1] - _SCALE_NODES[0])
    log_weight = log_like + log_prior + width + noise.log_weight[:, None]
    log_weight = np.where(possible, log_weight, -np.inf)

    # drift = c'b; offset = c'b + g[n]; last tension error = g[n] - g[n-1]
    rows = np.zeros((k, 3, p))
    rows[:, 0] = reg.drift_row
    rows[:, 1] = reg.offset_row - sums.path_x[:, 1]
    rows[:, 2] = sums.path_x[:, 0] - sums.path_x[:, 1]
    path = np.zeros((k, 3))
    path[:, 1] = sums.path_y[:, 1]
    path[:, 2] = sums.path_y[:, 1] - sums.path_y[:, 0]
    pick = np.array([[0.0, 0.0], [0.0, 1.0], [-1.0, 1.0]])
    out_mean = np.matmul(mean, rows.transpose(0, 2, 1)) + path[:, None]
    out_cov = rows[:, None] @ cov @ rows.transpose(0, 2, 1)[:, None]
    out_cov = out_cov + (pick @ sums.tail_cov @ pick.T)[:, None] / inv_var[:, :, None, None]
    return Mixture(
        log_weight=log_weight.ravel(),
        mean=out_mean.reshape(k * j, 3),
        cov=out_cov.reshape(k * j, 3, 3),
        tension_sd=np.exp(log_w).ravel(),
        reading_sd=np.exp(log_m).ravel(),
        memory=np.repeat(noise.memory, j),
        coefficients=mean.reshape(k * j, p),
        coefficient_cov=cov.reshape(k * j, p, p),
    )


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
    sums = _sums(reg, np.ones(len(y), dtype=bool), noise)
    xx, xy = sums.xx[0] / m**2, sums.xy[0] / m**2
    quad = float(sums.yy[0] / m**2 - xy @ np.linalg.solve(xx, xy))
    # -1/2 [n log 2 pi + log |V| + log |X'V^-1 X| + (y - Xb)'V^-1 (y - Xb)]
    log_det = 2.0 * len(y) * np.log(m) + float(sums.log_det[0]) + np.linalg.slogdet(xx)[1]
    return float(-0.5 * (len(y) * _LOG_2PI + log_det + quad))
