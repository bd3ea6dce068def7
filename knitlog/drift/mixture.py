"""Reading a mixture of normals: means, intervals, draws."""

import numpy as np

from knitlog.drift.fit_result import Estimate, FloatArray

Z95 = 1.959963984540054
TAILS = np.array([0.025, 0.975])


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
    ``levels`` (q,).  The result has shape (q,) or (q, h).  Found by Newton's steps kept
    within a bracket that each step tightens, to within a millionth of the spread.
    """
    from scipy.special import ndtr, ndtri

    single = mean.ndim == 1
    heavy = weight > 1e-6 * weight.max()
    weight = weight[heavy] / weight[heavy].sum()
    # one row a mixture: (h, 1, n) against levels (h, q, 1)
    mean, sd = (np.ascontiguousarray(np.atleast_2d(x[heavy].T))[:, None] for x in (mean, sd))
    low, high = (mean - 8.0 * sd).min(axis=2), (mean + 8.0 * sd).max(axis=2)
    centre = mean @ weight
    spread = np.sqrt((sd**2 + (mean - centre[..., None]) ** 2) @ weight)
    at: FloatArray = np.minimum(np.maximum(centre + ndtri(levels) * spread, low), high)
    bell = (weight / (sd * np.sqrt(2.0 * np.pi))).transpose(0, 2, 1)
    for _ in range(60):
        z = (at[..., None] - mean) / sd
        miss = ndtr(z) @ weight - levels
        density = (np.exp(-0.5 * z * z) @ bell)[..., 0]
        low, high = np.where(miss < 0.0, at, low), np.where(miss < 0.0, high, at)
        step = at - miss / np.maximum(density, 1e-300)
        inside = (step >= low) & (step <= high)
        new = np.where(inside, step, 0.5 * (low + high))
        done = np.all(np.abs(new - at) <= 1e-6 * spread)
        at = new
        if done:
            break
    return at[0] if single else at.T


def moments(weight: FloatArray, mean: FloatArray, variance: FloatArray) -> tuple[float, float]:
    """Return mean and sd of a mixture, all inputs of shape (n,)."""
    centre = float(weight @ mean)
    spread = float(weight @ (variance + (mean - centre) ** 2))
    return centre, float(np.sqrt(max(spread, 0.0)))


def estimate(weight: FloatArray, mean: FloatArray, variance: FloatArray) -> Estimate:
    """Return mean, sd and the central 95 % interval of a mixture, inputs of shape (n,)."""
    return estimates(weight, mean[:, None], variance[:, None])[0]


def estimates(weight: FloatArray, mean: FloatArray, variance: FloatArray) -> list[Estimate]:
    """Return the same for several mixtures at once: ``mean`` and ``variance`` of shape (n, h)."""
    low, high = quantiles(weight, mean, np.sqrt(np.maximum(variance, 1e-18)), TAILS)
    told = []
    for i in range(mean.shape[1]):
        centre, sd = moments(weight, mean[:, i], variance[:, i])
        told.append(Estimate(centre, sd, float(low[i]), float(high[i])))
    return told
