"""A drift that changes slowly is told as slow, one that changes at once as sudden."""

from dataclasses import replace

import numpy as np
import pytest

from knitlog.drift import fit
from tests.simulator import Work, hand_for, knit, percent

WORK = Work(
    stitches=128,
    repeats=1,
    repeat_length_mm=1524.0,
    needle_mm=4.5,
    yarn_thickness_mm=2.2,
    rounds=40,
    places=(64.0,),
)


def fitted(seed: int, rounds: int = 40, **hand):
    work = replace(WORK, rounds=rounds)
    usual = {"drift": 0.5, "tension_noise_sd": 0.5}
    return fit(knit(hand_for(work, **(usual | hand)), work, seed).to_drift_log())


def test_an_even_tightening_is_told_as_slow():
    told = [fitted(seed, tightening_percent=percent(0.06)) for seed in range(8)]
    slow = [f.slow_change for f in told if f.slow_change is not None]
    assert len(slow) >= 5
    assert sum(bool(f.breaks) for f in told) <= 1
    for change in slow:
        # 2.4 stitches a round over forty rounds, towards smaller stitches
        assert change.change.low95 > 0.0
        assert change.change.mean == pytest.approx(2.4, abs=1.5)
        assert change.since_round <= 25
    late = np.mean([f.drift_path.mean[-1] - f.drift_path.mean[1] for f in told])
    assert late == pytest.approx(2.4, abs=0.8)


def test_a_change_at_once_is_told_as_sudden():
    told = [fitted(seed, sudden=((21, -percent(3.0)),)) for seed in range(8)]
    assert sum(len(f.breaks) == 1 for f in told) >= 6
    assert all(f.slow_change is None for f in told if f.breaks)
    for f in told:
        for found in f.breaks:
            assert abs(found.round - 21) <= 4


def test_a_steady_hand_is_told_neither():
    told = [fitted(seed) for seed in range(12)]
    assert all(f.slow_change is None for f in told)
    assert all(f.breaks == () for f in told)


def test_the_path_of_the_drift_ends_at_the_drift():
    for seed, more in ((1, {}), (2, {"tightening_percent": percent(0.06)})):
        f = fitted(seed, **more)
        path = f.drift_path
        assert len(path.rounds) == len(path.mean) == len(path.low95) == len(path.high95)
        assert path.rounds[-1] == f.last_round
        assert path.mean[-1] == pytest.approx(f.drift.mean, abs=0.1 * f.drift.sd)
        assert path.high95[-1] - path.low95[-1] == pytest.approx(
            f.drift.high95 - f.drift.low95, rel=0.05
        )


def test_accounts_of_the_log_add_up():
    f = fitted(3, sudden=((21, -percent(1.6)),))
    assert sum(a.probability for a in f.accounts) == pytest.approx(1.0)
    assert f.accounts[0].probability >= f.accounts[-1].probability
    mean = sum(a.probability * a.drift.mean for a in f.accounts)
    assert mean == pytest.approx(f.drift.mean, abs=1e-6)
    draws = f.draws(20_000, seed=1)
    for i, account in enumerate(f.accounts):
        assert np.mean(draws.account == i) == pytest.approx(account.probability, abs=0.02)


PATTERN = (3.0, 0.0, 0.0, 0.0)
"""The first of four rounds takes 3 % more yarn."""


def test_a_told_pattern_is_measured_and_foretold():
    work = replace(WORK, rounds=24, pattern_rounds=4, places=(12.0,))
    knitting = knit(hand_for(work, drift=0.2, pattern_percent=PATTERN), work, 3)
    f = fit(knitting.to_drift_log())
    assert f.pattern is not None
    assert f.pattern.rounds == 4
    # against their average of 0.75 %: + 2.25, - 0.75 three times; more yarn is less offset
    for found, true in zip(f.pattern.percent, (2.25, -0.75, -0.75, -0.75), strict=True):
        assert found.low95 < true < found.high95
        assert found.sd < 0.6
    assert sum(e.mean for e in f.pattern.effects) == pytest.approx(0.0, abs=1e-9)
    assert f.pattern.effects[0].mean < -1.5
    assert f.pattern_found is None
    steps = f.draws(2000, seed=1).pattern
    assert steps.shape == (2000, 4)
    ahead = np.diff(f.forecast(4).mean, prepend=f.offset.mean) - f.drift.mean
    assert steps.mean(axis=0) == pytest.approx(ahead, abs=0.15)


def test_a_pattern_nobody_told_is_found_and_its_like_is_not():
    work = replace(WORK, rounds=32, places=(12.0,))
    shown = fit(knit(hand_for(work, drift=0.2, pattern_percent=PATTERN), work, 3).to_drift_log())
    assert shown.pattern_found is not None
    assert shown.pattern_found.rounds == 4
    assert shown.pattern_found.probability > 0.8
    for seed in range(10):
        assert fitted(seed, rounds=24).pattern_found is None


def test_purl_rows_that_take_more_yarn_are_told_in_flat_work():
    work = replace(WORK, rounds=24, flat=True, places=(20.0,))
    knitting = knit(hand_for(work, drift=0.2, purl_percent=2.0), work, 5)
    f = fit(knitting.to_drift_log())
    assert f.pattern is not None
    assert f.pattern.rounds == 2
    more = f.pattern.percent[1].mean - f.pattern.percent[0].mean
    assert more == pytest.approx(2.0, abs=0.8)
