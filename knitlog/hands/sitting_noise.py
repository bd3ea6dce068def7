"""How much one sitting differs from the next.

From the end of one sitting to the end of the next the colours move by

    moved[i] = n[i] (drift + shift[i]) + n[i] rounds' tension noise + reading[i] - reading[i-1]

with shift ~ Normal(0, tau^2) the sitting's own.  The drift of each run is integrated out
flat (restricted likelihood: Patterson and Thompson, Biometrika 58, 1971, 545), tau over a
half-normal.
"""

from collections.abc import Sequence

import numpy as np

from knitlog.drift.fit_result import Estimate, FloatArray
from knitlog.drift.mixture import moments, weights
from knitlog.drift.prior import REFERENCE_STITCHES
from knitlog.hands.pooling import spread_grid
from knitlog.hands.records import SittingRun

SCALE = 0.4
"""Scale of the spread between sittings, stitches a round on 128 (common practice, no source)."""


def sitting_noise(runs: Sequence[SittingRun]) -> Estimate:
    """Return the spread of drift between sittings, stitches a round on 128."""
    tau, log_weight = spread_grid(SCALE)
    for run in runs:
        log_weight = log_weight + np.array([_log_likelihood(run, t) for t in tau])
    weight = weights(log_weight)
    mean, sd = moments(weight, tau, np.zeros_like(tau))
    cumulative = np.cumsum(weight)
    low, high = (float(tau[np.searchsorted(cumulative, q)]) for q in (0.025, 0.975))
    return Estimate(mean, sd, low, high)


def _log_likelihood(run: SittingRun, tau: float) -> float:
    n: FloatArray = np.array(run.rounds, dtype=float)
    y: FloatArray = np.array(run.moved)
    share = run.stitches / REFERENCE_STITCHES
    m2 = run.reading_sd**2
    own = n * run.tension_sd**2 + np.array(run.known_sd) ** 2 + (n * tau * share) ** 2 + 2 * m2
    # two neighbours share the reading between them, with opposite signs
    cov = np.diag(own) - m2 * (np.eye(len(n), k=1) + np.eye(len(n), k=-1))
    pushed = np.linalg.solve(cov, np.column_stack((n, y)))
    information = float(n @ pushed[:, 0])
    drift = float(n @ pushed[:, 1]) / information
    left = y - drift * n
    _, log_det = np.linalg.slogdet(cov)
    # log restricted likelihood, up to a constant
    return float(-0.5 * (log_det + np.log(information) + left @ np.linalg.solve(cov, left)))
