"""The few nodes of the noise grid against very many."""

import numpy as np
import pytest

from knitlog.drift import Prior, fit
from knitlog.drift.likelihood import Kept, Mixture, Regression, posterior, present
from knitlog.drift.mixture import weights
from knitlog.drift.nodes import noise_nodes
from knitlog.simulate.knitter import Knitter, Work, knit


def told(reg: Regression, mixture: Mixture) -> tuple[np.ndarray, np.ndarray, float]:
    weight = weights(mixture.log_weight)
    means, covs = present(reg, mixture)
    mean = weight @ means[:, :2]
    variance = np.stack([covs[:, i, i] for i in (0, 1)], axis=1)
    sd = np.sqrt(weight @ (variance + (means[:, :2] - mean) ** 2))
    return mean, sd, float(weight[mixture.memory > 0.0].sum())


@pytest.mark.parametrize("rounds", [15, 40, 80, 400])
@pytest.mark.parametrize("memory", [0.0, 0.5])
def test_a_few_nodes_tell_what_many_do(rounds, memory):
    knitter = Knitter(drift=1.0, tension_memory=memory)
    log = knit(knitter, Work(rounds=rounds), seed=rounds).log
    # the noises alone: no account but the plain one
    prior = Prior(miscount_rate=1e-12, breaks_a_log=1e-12, jump_rate=1e-12)
    plain = fit(log, prior)._best
    many = noise_nodes(np.linspace(-4.0, 3.0, 140), prior.memory_nodes)
    kept = Kept.of(plain.regression, np.ones(rounds, dtype=bool))
    whole = posterior(kept, many, prior, 128.0)
    mean, sd, remembers = told(plain.regression, plain.mixture)
    true_mean, true_sd, true_remembers = told(plain.regression, whole)
    assert np.all(np.abs(mean - true_mean) < 0.05 * true_sd)
    assert sd == pytest.approx(true_sd, rel=0.05)
    assert remembers == pytest.approx(true_remembers, abs=0.03)
    assert plain.mixture.log_evidence == pytest.approx(whole.log_evidence, abs=0.15)
