"""Normal estimates: a mean, a spread, and chances worked out from them."""

import math
from statistics import NormalDist

from knitlog.drift.fit_result import Estimate

Z95 = NormalDist().inv_cdf(0.975)
"""Half width of a 95 % interval in standard deviations."""


def normal_estimate(mean: float, sd: float) -> Estimate:
    """An estimate with the 95 % interval of a normal distribution.

    >>> round(normal_estimate(10, 1).high95, 3)
    11.96
    """
    return Estimate(mean, sd, mean - Z95 * sd, mean + Z95 * sd)


def ratio_estimate(mean: float, relative_sd: float) -> Estimate:
    """An estimate above zero whose logarithm is normal, for quotients and lengths.

    ``mean`` and ``relative_sd`` (sd over mean) are of the quantity itself; the interval is
    that of the log-normal with those two moments, so it never reaches below zero.
    """
    # sigma^2 = ln(1 + cv^2), median = mean exp(-sigma^2 / 2)
    sigma = math.sqrt(math.log1p(relative_sd**2))
    median = mean * math.exp(-(sigma**2) / 2)
    return Estimate(
        mean,
        mean * relative_sd,
        median * math.exp(-Z95 * sigma),
        median * math.exp(Z95 * sigma),
    )


def chance_within(mean: float, sd: float, half_width: float) -> float:
    """Chance that a normal quantity lies within ``half_width`` of zero, 0 to 1.

    >>> round(chance_within(0, 1, 1.959964), 4)
    0.95
    """
    if sd <= 0:
        return 1.0 if abs(mean) <= half_width else 0.0
    normal = NormalDist(mean, sd)
    return normal.cdf(half_width) - normal.cdf(-half_width)


def chance_above(mean: float, sd: float, threshold: float) -> float:
    """Chance that a normal quantity is at least ``threshold``, 0 to 1."""
    if sd <= 0:
        return 1.0 if mean >= threshold else 0.0
    return 1.0 - NormalDist(mean, sd).cdf(threshold)
