"""Reading a mixture of normals: means, intervals, draws."""

import numpy as np

from knitlog.drift.result import Estimate, FloatArray

_TAILS = np.array([0.025, 0.975])


def weights(log_weight: FloatArray) -> FloatArray:
    """Return normalised weights of log masses, shape kept."""
    mass: FloatArray = np.exp(log_weight - np.max(log_weight))
    mass /= mass.sum()
    return mass


def quantiles(
    weight: FloatArray, mean: FloatArray, sd: FloatArray, levels: FloatArray
) -> FloatArray:
    """Return quantiles of mixtures.

    ``weight`` has shape (n,); ``mean`` and ``sd`` (n,) or (n, h) for h mixtures at once;
    ``levels`` (q,).  The result has shape (q,) or (q, h).  Found by bisection between
    the lowest and the highest component, to within a billionth of the spread.
    """
    from scipy.special import ndtr

    heavy = weight > 1e-7
    weight, mean, sd = weight[heavy], mean[heavy], sd[heavy]
    single = mean.ndim == 1
    if single:
        mean, sd = mean[:, None], sd[:, None]
    low = np.tile((mean - 9.0 * sd).min(axis=0), (len(levels), 1))
    high = np.tile((mean + 9.0 * sd).max(axis=0), (len(levels), 1))
    for _ in range(34):
        middle = 0.5 * (low + high)
        cdf = np.einsum("n,nqh->qh", weight, ndtr((middle[None] - mean[:, None]) / sd[:, None]))
        below = cdf < levels[:, None]
        low = np.where(below, middle, low)
        high = np.where(below, high, middle)
    found: FloatArray = 0.5 * (low + high)
    return found[:, 0] if single else found


def moments(weight: FloatArray, mean: FloatArray, variance: FloatArray) -> tuple[float, float]:
    """Return mean and sd of a mixture, all inputs of shape (n,)."""
    centre = float(weight @ mean)
    spread = float(weight @ (variance + (mean - centre) ** 2))
    return centre, float(np.sqrt(max(spread, 0.0)))


def estimate(weight: FloatArray, mean: FloatArray, variance: FloatArray) -> Estimate:
    """Return mean, sd and the central 95 % interval of a mixture, inputs of shape (n,)."""
    centre, sd = moments(weight, mean, variance)
    low, high = quantiles(weight, mean, np.sqrt(np.maximum(variance, 1e-18)), _TAILS)
    return Estimate(centre, sd, float(low), float(high))
