"""The few nodes of the noise grid against very many."""

import numpy as np
import pytest

from knitlog.drift import Prior, fit
from knitlog.drift.likelihood import posterior
from knitlog.drift.mixture import weights
from knitlog.drift.nodes import noise_nodes
from knitlog.simulate.knitter import Knitter, Work, knit


def told(mixture) -> tuple[np.ndarray, np.ndarray, float]:
    weight = weights(mixture.log_weight)
    mean = weight @ mixture.mean[:, :2]
    variance = np.stack([mixture.cov[:, i, i] for i in (0, 1)], axis=1)
    sd = np.sqrt(weight @ (variance + (mixture.mean[:, :2] - mean) ** 2))
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
    keep = np.ones(rounds, dtype=bool)
    whole = posterior(plain.regression, keep, many, prior, 128.0)
    mean, sd, remembers = told(plain.mixture)
    true_mean, true_sd, true_remembers = told(whole)
    assert np.all(np.abs(mean - true_mean) < 0.05 * true_sd)
    assert sd == pytest.approx(true_sd, rel=0.05)
    assert remembers == pytest.approx(true_remembers, abs=0.03)
    assert plain.mixture.log_evidence == pytest.approx(whole.log_evidence, abs=0.15)
