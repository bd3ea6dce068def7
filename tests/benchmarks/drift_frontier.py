"""How narrow an interval can be that holds a steady hand and a tightening one.

A bound for any method, not only for this fit.  The expected width of an interval is the
integral of the chances that it holds each wrong drift (Pratt, Length of confidence intervals,
Journal of the American Statistical Association 56, 1961, from memory), so by the lemma of
Neyman and Pearson the narrowest set in the steady world that holds the truth often enough in
both worlds has the drifts d with

    p(d | y, steady) + ratio p(d | y, changing) m(y | changing) / m(y | steady) >= level

where p are posterior densities under a flat prior of d and of the first place, and m the
marginal likelihoods.  It is told more than any knitter can tell the fit: which turn every
reading belongs to, that noises are Gaussian, from which population they come, and that a hand
that changes gains exactly ``gain`` stitches a round over the log, one way or the other; or,
where it is told less, that its gain is normal with that spread.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tests.benchmarks.drift_worlds import NOISE_LOG_SD, READING_NOISE, TENSION_NOISE

FloatArray = npt.NDArray[np.float64]

_GRID = np.linspace(-5.0, 5.0, 501)
"""Drifts about the truth, stitches a round."""
_RATIOS = np.geomspace(0.02, 50.0, 25)


@dataclass(frozen=True, slots=True)
class Frontier:
    """Mean widths in the steady world of the narrowest intervals, stitches a round."""

    steady: float
    """Of one that need hold the steady world alone."""
    both: float
    """Of one that holds both."""


def frontier(
    rounds: int,
    logs: int,
    *,
    gain: float = 1.5,
    gain_known: bool = True,
    held_steady: float = 0.95,
    held_changing: float = 0.9,
    seed: int = 1,
) -> Frontier:
    """Draw ``logs`` logs of either world and find the narrowest intervals by trying."""
    rng = np.random.default_rng(seed)
    way = np.linspace(-1.0, 0.0, rounds)  # how much of the gain is still to come
    bend = gain * np.cumsum(way)
    steady = _Seen(_readings(rng, rounds, logs), bend, gain_known)
    sides = rng.choice((-1.0, 1.0), size=logs)
    changing = _Seen(_readings(rng, rounds, logs) + sides[:, None] * bend, bend, gain_known)
    alone = _level(steady.at_truth(0.0), held_steady)
    widths = [steady.width(0.0, alone)]
    for ratio in _RATIOS:
        level = min(
            _level(steady.at_truth(ratio), held_steady),
            _level(changing.at_truth(ratio), held_changing),
        )
        widths.append(steady.width(ratio, level))
    return Frontier(widths[0], min(widths[1:]))


def _readings(rng: np.random.Generator, rounds: int, logs: int) -> FloatArray:
    """Readings (logs, rounds) of a drift of 0, each log with noises of its own."""
    w = TENSION_NOISE * np.exp(rng.normal(0.0, NOISE_LOG_SD, (logs, 1)))
    m = READING_NOISE * np.exp(rng.normal(0.0, NOISE_LOG_SD, (logs, 1)))
    walked = np.cumsum(rng.normal(size=(logs, rounds)), axis=1)
    return w * walked + m * rng.normal(size=(logs, rounds))


class _Seen:
    """Logs, and the posterior densities of their drift under either world."""

    def __init__(self, readings: FloatArray, bend: FloatArray, gain_known: bool) -> None:
        none = np.zeros_like(bend)
        found = [_posterior(readings, none)]
        if gain_known:
            found += [_posterior(readings - side * bend, none) for side in (-1.0, 1.0)]
        else:
            found += [_posterior(readings, bend)]
        top = np.max([weights.max(axis=1) for weights, _, _ in found], axis=0)
        self._steady, *changing = [_mixed(*each, top) for each in found]
        self._changing = np.mean(changing, axis=0)
        step = _GRID[1] - _GRID[0]
        whole = self._steady.sum(axis=1, keepdims=True) * step  # m(y | steady), but for the top
        self._steady, self._changing = self._steady / whole, self._changing / whole
        self._step = step

    def _score(self, ratio: float) -> FloatArray:
        return self._steady + ratio * self._changing

    def at_truth(self, ratio: float) -> FloatArray:
        """What the set asks of a drift, at the true one, of each log."""
        return self._score(ratio)[:, len(_GRID) // 2]

    def width(self, ratio: float, level: float) -> float:
        """Mean width of the set."""
        return float((self._score(ratio) >= level).sum(axis=1).mean() * self._step)


def _level(scores: FloatArray, share: float) -> float:
    """The level that this share of the logs reaches."""
    return float(np.quantile(scores, 1.0 - share))


def _posterior(readings: FloatArray, bend: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Log weights and means of the drift (logs, nodes), and its sd (nodes).

    By generalised least squares at each node of the two noises; ``bend`` times a standard
    normal is one noise more.
    """
    rounds = readings.shape[1]
    at = np.arange(1.0, rounds + 1.0)
    x = np.column_stack((np.ones(rounds), at))
    z, share = np.polynomial.hermite_e.hermegauss(7)
    weights, means, sds = [], [], []
    for (zw, pw), (zm, pm) in (
        (a, b) for a in zip(z, share, strict=True) for b in zip(z, share, strict=True)
    ):
        w = TENSION_NOISE * np.exp(NOISE_LOG_SD * zw)
        m = READING_NOISE * np.exp(NOISE_LOG_SD * zm)
        v = w**2 * np.minimum.outer(at, at) + m**2 * np.eye(rounds)
        v += np.outer(bend, bend)
        inverse = np.linalg.inv(v)
        information = x.T @ inverse @ x
        told = readings @ inverse @ x
        found = np.linalg.solve(information, told.T).T
        left = np.einsum("nt,tu,nu->n", readings, inverse, readings) - (found * told).sum(axis=1)
        scale = np.linalg.slogdet(v)[1] + np.linalg.slogdet(information)[1]
        weights.append(np.log(pw * pm) - 0.5 * (scale + left))
        means.append(found[:, 1])
        sds.append(np.sqrt(np.linalg.inv(information)[1, 1]))
    return np.array(weights).T, np.array(means).T, np.array(sds)


def _mixed(weights: FloatArray, means: FloatArray, sds: FloatArray, top: FloatArray) -> FloatArray:
    """The density of the drift on the grid (logs, grid), times the marginal likelihood."""
    density = np.zeros((len(weights), len(_GRID)))
    for node, sd in enumerate(sds):
        off = (_GRID - means[:, node, None]) / sd
        density += np.exp(weights[:, node, None] - top[:, None] - 0.5 * off**2) / sd
    return density
