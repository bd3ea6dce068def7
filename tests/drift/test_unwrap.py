"""The filter that follows a whole log at once, against whole matrices and against the walk."""

from dataclasses import replace

import numpy as np
import pytest

from knitlog.drift import DriftLog, Fix, Prior, Reading, Stint
from knitlog.drift.readings import sort_readings
from knitlog.drift.unwrap import _follow, _follow_at_once, one_step_misses
from knitlog.simulate.knitter import Knitter, Work, knit


@pytest.mark.parametrize(
    "gaps", [[1], [1, 1], [1, 2, 1, 1, 5, 1, 1], [1] * 12], ids=["one", "two", "missing", "plain"]
)
def test_one_step_misses_are_those_of_the_joint_normal(gaps):
    mean, sd, w2, m2 = 1.5, 4.0, 0.8, 0.3
    gaps = np.array(gaps)
    rounds = np.cumsum(gaps)
    moved = 2.0 * rounds + np.random.default_rng(len(gaps)).normal(0.0, 1.5, len(gaps))
    # Var(offset[s], offset[t]) = m2 + w2 min(s, t) + sd^2 s t, each read with variance 2 m2;
    # and the mean and variance of one normal given others (any text on the multivariate normal)
    cov = m2 + w2 * np.minimum.outer(rounds, rounds) + sd**2 * np.multiply.outer(rounds, rounds)
    cov += 2.0 * m2 * np.eye(len(gaps))
    miss, variance = one_step_misses(moved, gaps, (mean, sd), (w2, m2))
    for i in range(len(gaps)):
        weight = np.linalg.solve(cov[:i, :i], cov[:i, i])
        foretold = mean * rounds[i] + weight @ (moved[:i] - mean * rounds[:i])
        assert miss[i] == pytest.approx(moved[i] - foretold, rel=1e-9, abs=1e-9)
        assert variance[i] == pytest.approx(cov[i, i] - weight @ cov[:i, i], rel=1e-9)


@pytest.mark.parametrize("drift", [-20.0, -3.0, 0.0, 0.4, 8.0, 30.0])
def test_following_at_once_chooses_what_the_walk_chooses(drift):
    for seed in range(6):
        log = knit(Knitter(drift=drift), Work(rounds=40), seed=seed).log
        readings = sort_readings(log)
        at_once = _follow_at_once(log, readings, Prior())
        assert at_once is not None
        assert np.array_equal(at_once, _follow(log, readings, Prior()))


AT = [40.0 + 3.0 * i for i in range(12)]


def log_of(at: list[float], **more) -> DriftLog:
    readings = tuple(Reading(i + 1, stitch % 128.0) for i, stitch in enumerate(at))
    return DriftLog(**{"readings": readings, "stints": (Stint(1, 128),), **more})


PLAIN = log_of(AT)
NOT_PLAIN = {
    "one reading": log_of(AT[:1]),
    "a reading too far off to be believed": log_of([*AT[:8], AT[8] + 25.0, *AT[9:]]),
    "a drift of half a round": log_of([40.0 + 62.0 * i for i in range(12)]),
    "repeats too short to be told apart": log_of(AT, repeats=4),
    "two changes": log_of(AT, readings=(*PLAIN.readings, Reading(13, 76.0, change=2))),
    "a fix": log_of(AT, fixes=(Fix(6, 4.0),)),
    "another stitch count": log_of(AT, stints=(Stint(1, 128), Stint(7, 130))),
    "a repeat the knitter has settled": log_of(
        AT, readings=(*PLAIN.readings[:-1], replace(PLAIN.readings[-1], period_shift=1))
    ),
}


def test_a_plain_log_is_followed_at_once():
    assert np.all(_follow_at_once(PLAIN, sort_readings(PLAIN), Prior()) == 0)


@pytest.mark.parametrize("log", NOT_PLAIN.values(), ids=NOT_PLAIN.keys())
def test_what_is_not_plain_is_left_to_the_walk(log):
    assert _follow_at_once(log, sort_readings(log), Prior()) is None
