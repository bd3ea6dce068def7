"""Accounts that have been weighed: what the fit hands to whoever tells the result."""

from dataclasses import dataclass

import numpy as np

from knitlog.drift.assemble import Account, Timeline
from knitlog.drift.likelihood import Kept, Mixture, Regression, present
from knitlog.drift.mixture import weights
from knitlog.drift.result import FloatArray


@dataclass(frozen=True, slots=True)
class Weighed:
    """One account with its answer."""

    account: Account
    line: Timeline
    log_mass: float
    """Log evidence plus log prior of the account."""
    mixture: Mixture
    kept: Kept
    """The readings that count, in the regression about ``rough``."""
    rough: FloatArray
    """What was taken out before fitting, shape (p,)."""
    sitting_sd: float = 0.0
    """Spread of the drift between sittings in this account, stitches/round."""

    @property
    def regression(self) -> Regression:
        """Return the regression as fitted."""
        return self.kept.regression


@dataclass(frozen=True, slots=True)
class Blend:
    """All accounts' nodes side by side; n nodes in all."""

    weight: FloatArray
    """Shape (n,), sums to 1."""
    mean: FloatArray
    """(drift, offset at the last round, last tension error), shape (n, 3); drift less target."""
    cov: FloatArray
    """Shape (n, 3, 3)."""
    tension_sd: FloatArray
    reading_sd: FloatArray
    memory: FloatArray
    sitting_sd: FloatArray
    """Spread of the drift between sittings, stitches/round."""
    account: FloatArray
    """Posterior probability of each account, in the order given."""


def blend(accounts: tuple[Weighed, ...]) -> Blend:
    """Return the nodes of ``accounts``, weighted by the accounts' own masses."""
    log_weight, mean, cov = [], [], []
    for w in accounts:
        reg = w.regression
        log_weight.append(w.mixture.log_weight + (w.log_mass - w.mixture.log_evidence))
        own_mean, own_cov = present(reg, w.mixture)
        mean.append(own_mean + np.array([reg.drift_row @ w.rough, reg.offset_row @ w.rough, 0.0]))
        cov.append(own_cov)
    return Blend(
        weight=weights(np.concatenate(log_weight)),
        mean=np.concatenate(mean),
        cov=np.concatenate(cov),
        tension_sd=np.concatenate([w.mixture.tension_sd for w in accounts]),
        reading_sd=np.concatenate([w.mixture.reading_sd for w in accounts]),
        memory=np.concatenate([w.mixture.memory for w in accounts]),
        sitting_sd=np.concatenate([np.full(len(w.mixture.memory), w.sitting_sd) for w in accounts]),
        account=weights(np.array([w.log_mass for w in accounts])),
    )
