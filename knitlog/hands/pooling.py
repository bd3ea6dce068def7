"""Pooling one number over several projects.

Each project gave x_i with spread s_i; projects differ among themselves:

    x_i ~ Normal(theta_i, s_i^2)     theta_i ~ Normal(mu, tau^2)
    mu  ~ Normal(centre, centre_sd^2)     tau ~ half-normal(spread)

The usual two-stage model (Gelman et al., Bayesian Data Analysis, 3rd ed., section 5.4;
half-normal spread: Gelman, Bayesian Analysis 1, 2006, 515).  mu is integrated out in closed
form, tau over a grid, so that few projects give a wide answer and none gives the belief
held beforehand.  The next project is theta_new ~ Normal(mu, tau^2).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from knitlog.drift.fit_result import Estimate, FloatArray
from knitlog.drift.mixture import estimate, moments, weights


class HandsError(ValueError):
    """A record that cannot be; the message is one sentence for the knitter."""


@dataclass(frozen=True, slots=True)
class Hyperprior:
    """What is believed before any project."""

    centre: float
    centre_sd: float
    """Spread of knitters' own means about it."""
    spread: float
    """Scale of the spread among one knitter's projects."""


@dataclass(frozen=True, slots=True)
class Pooled:
    """One number over all projects."""

    mean: Estimate
    """Of this knitter."""
    between_sd: float
    """Spread among her projects (posterior mean)."""
    next: Estimate
    """What to expect of her next project."""
    count: int
    """How many projects or changes it rests on."""


_NODES = 60
_REACH = 4.0


def spread_grid(
    scale: float, nodes: int = _NODES, reach: float = _REACH
) -> tuple[FloatArray, FloatArray]:
    """Return nodes of tau over a half-normal of ``scale`` and the logs of their weights.

    The nodes lie evenly from 0 to ``reach`` scales.
    """
    tau = scale * reach * (np.arange(nodes) + 0.5) / nodes
    return tau, -0.5 * (tau / scale) ** 2


def pool(values: Sequence[float], sds: Sequence[float], belief: Hyperprior) -> Pooled:
    """Pool ``values``, each with its own spread; the unit is that of the values.

    Raises:
        HandsError: a value is not a number, or a spread is not above zero.

    """
    x, s = np.asarray(values, dtype=float), np.asarray(sds, dtype=float)
    if x.shape != s.shape or not np.all(np.isfinite(x)) or not np.all(s > 0):
        raise HandsError("Every number to be pooled needs a spread above zero.")
    tau, log_weight = spread_grid(belief.spread)
    # given tau: x_i ~ Normal(mu, v_i), v_i = s_i^2 + tau^2; with mu's own prior
    precision = 1.0 / (s[None, :] ** 2 + tau[:, None] ** 2)
    start = 1.0 / belief.centre_sd**2
    total = start + precision.sum(axis=1)
    mu = (start * belief.centre + precision @ x) / total
    # log p(x | tau) = sum log N(x_i; mu, v_i) + log N(mu; centre) - log N(mu; mu, 1 / total)
    log_weight = log_weight + 0.5 * (
        np.log(precision).sum(axis=1)
        - np.log(total)
        - (precision * (x[None, :] - mu[:, None]) ** 2).sum(axis=1)
        - start * (mu - belief.centre) ** 2
    )
    weight = weights(log_weight)
    return Pooled(
        mean=estimate(weight, mu, 1.0 / total),
        between_sd=moments(weight, tau, np.zeros_like(tau))[0],
        next=estimate(weight, mu, 1.0 / total + tau**2),
        count=len(x),
    )


@dataclass(frozen=True, slots=True)
class Kinds:
    """Which of a few kinds her projects are, each kind a number."""

    nodes: tuple[tuple[float, float], ...]
    """(number, probability) for the next project; the probabilities sum to one."""
    mean: float
    count: int
    """How many projects it rests on."""


_BELIEVED_PROJECTS = 3.0
"""How many projects of any knitter's what is believed beforehand counts for (own judgement)."""
_ROUNDS_OF_EM = 200


def pool_kinds(
    log_likelihoods: Sequence[Sequence[float]], nodes: Sequence[tuple[float, float]]
) -> Kinds:
    """Return how likely each kind is in the next project.

    ``log_likelihoods`` holds one row a project, an entry for each of ``nodes`` (number,
    probability believed).  The shares of a mixture with known parts, found by expectation and
    maximisation with what is believed as so many projects more (Dempster, Laird & Rubin, J. R.
    Statist. Soc. B 39, 1977, 1; from memory).
    """
    number, believed = (np.array(v, dtype=float) for v in zip(*nodes, strict=True))
    believed = believed / believed.sum()
    share = believed
    if log_likelihoods:
        table = np.asarray(log_likelihoods, dtype=float)
        table = np.exp(table - table.max(axis=1, keepdims=True))
        for _ in range(_ROUNDS_OF_EM):
            kind = share * table
            counts = (kind / kind.sum(axis=1, keepdims=True)).sum(axis=0)
            share = counts + _BELIEVED_PROJECTS * believed
            share = share / share.sum()
    return Kinds(
        tuple(zip(number.tolist(), share.tolist(), strict=True)),
        float(number @ share),
        len(log_likelihoods),
    )
