"""The few nodes of the noise grid against very many."""

from dataclasses import replace

import numpy as np
import pytest

from knitlog.drift import DriftLog, Prior, Reading, Stint, fit
from knitlog.drift.likelihood import Kept, Mixture, Regression, posterior, values_at_end
from knitlog.drift.mixture import weights
from knitlog.drift.nodes import kinds, noise_nodes
from tests.simulator import Work, hand_for, knit, percent


def told(reg: Regression, mixture: Mixture) -> tuple[np.ndarray, np.ndarray, float]:
    weight = weights(mixture.log_weight)
    # drift, and the path's end beyond it
    rows, end = np.zeros((2, reg.design.shape[1])), np.array([[1.0, 0, 0], [0, 1.0, 0]])
    rows[:, reg.drift_column] = 1.0, reg.rounds
    means, covs = values_at_end(mixture, rows, end)
    mean = weight @ means
    variance = np.einsum("nii->ni", covs)
    sd = np.sqrt(weight @ (variance + (means - mean) ** 2))
    other = mixture.of_node(mixture.noise.memory + mixture.noise.creep) > 0.0
    return mean, sd, float(weight[other].sum())


@pytest.mark.parametrize("rounds", [15, 40, 80, 400])
@pytest.mark.parametrize("memory", [0.0, 0.5])
def test_a_few_nodes_tell_what_many_do(rounds, memory):
    work = Work(rounds=rounds, places=(64.0,))
    hand = hand_for(work, tension_noise_sd=0.0, round_percent=percent(0.7), memory=memory)
    log = knit(hand, work, rounds).to_drift_log()
    # the noises alone: no account but the plain one
    prior = Prior(miscount_rate=1e-12, breaks_a_log=1e-12, jump_rate=1e-12)
    plain = fit(log, prior)._best
    many = noise_nodes(np.linspace(-4.0, 3.0, 140), kinds(prior))
    kept = Kept.of(plain.regression, np.ones(rounds, dtype=bool))
    whole = posterior(kept, many, prior, 128.0)
    mean, sd, remembers = told(plain.regression, plain.mixture)
    true_mean, true_sd, true_remembers = told(plain.regression, whole)
    assert np.all(np.abs(mean - true_mean) < 0.05 * true_sd)
    assert sd == pytest.approx(true_sd, rel=0.05)
    assert remembers == pytest.approx(true_remembers, abs=0.03)
    assert plain.mixture.log_evidence == pytest.approx(whole.log_evidence, abs=0.15)


def test_an_even_change_that_is_none_weighs_as_no_change_at_all():
    # a hand that has come to four stitches a round in 40: what is none must undo all of that
    t = np.arange(40)
    places = 60.0 + 0.05 * t**2 + np.random.default_rng(1).normal(0.0, 0.3, 40)
    readings = tuple(Reading(i + 1, place % 128) for i, place in enumerate(places.tolist()))
    best = fit(DriftLog(readings, (Stint(1, 128),)))._best
    reg, noise = best.regression, best.mixture.noise
    none = replace(reg, spreads=tuple(s for s in reg.spreads if s.trend == 0.0))
    at = reg.trend_columns.start
    assert abs(reg.prior_mean[at]) > 3.0
    plain = replace(
        none,
        y=reg.y - reg.design[:, at] * reg.prior_mean[at],
        design=np.delete(reg.design, at, axis=1),
        prior_mean=np.delete(reg.prior_mean, at),
        prior_sd=np.delete(reg.prior_sd, at),
        trend_columns=slice(0, 0),
        pattern_columns=slice(0, 0),
    )
    all_of_it = np.ones(len(readings), dtype=bool)
    with_it, without = (
        posterior(Kept.of(own, all_of_it), noise, Prior(), 128.0).log_weight
        for own in (none, plain)
    )
    likely = without > without.max() - 30.0
    assert with_it[likely] == pytest.approx(without[likely], abs=1e-6)
