"""Miscounts, changes nobody logged, and wraps that could be either."""

from dataclasses import replace

import numpy as np
import pytest

from knitlog.drift import DriftLog, Reading, Stint, fit
from knitlog.simulate.knitter import Knitter, Work, knit


def with_miscount(log: DriftLog, number: int, by: float) -> DriftLog:
    count = log.stints[0].stitches
    return replace(
        log,
        readings=tuple(
            replace(r, stitch=(r.stitch + by) % count) if r.round == number else r
            for r in log.readings
        ),
    )


@pytest.mark.parametrize("number", [1, 2, 8, 14, 15])
@pytest.mark.parametrize("by", [-14.0, 9.0])
def test_a_miscount_is_named_and_hardly_moves_the_drift(number, by):
    log = knit(Knitter(drift=2.5), Work(rounds=15), seed=11).log
    before, after = fit(log), fit(with_miscount(log, number, by))
    assert [s.round for s in after.suspects] == [number]
    assert abs(after.drift.mean - before.drift.mean) < 0.6 * before.drift.sd
    (suspect,) = after.suspects
    true = next(r.stitch for r in log.readings if r.round == number)
    assert suspect.expected == pytest.approx(true, abs=4.0)
    assert any(f"Round {number} reads" in w for w in after.warnings)


def test_two_miscounts_that_hide_each_other_are_both_named():
    log = knit(Knitter(drift=-1.0), Work(rounds=15), seed=4).log
    both = with_miscount(with_miscount(log, 7, 15.0), 8, 13.0)
    assert {s.round for s in fit(both).suspects} == {7, 8}


def test_a_quiet_log_names_nothing():
    for seed in range(12):
        answer = fit(knit(Knitter(drift=1.0), Work(rounds=20), seed=seed).log)
        assert answer.suspects == ()
        assert answer.breaks == ()


def test_a_change_of_drift_is_found_and_dated():
    work = Work(rounds=40, drift_changes=((24, 3.0),))
    answer = fit(knit(Knitter(drift=0.5), work, seed=2).log)
    (found,) = answer.breaks
    assert found.kind == "drift"
    assert abs(found.round - 24) <= 3
    assert found.size == pytest.approx(3.0, abs=0.8)
    assert answer.drift.low95 <= 3.5 <= answer.drift.high95
    assert any("Something changed around round" in w for w in answer.warnings)
    before, after = answer.stint_drifts
    assert before.logged
    assert not after.logged


def test_an_unlogged_fix_is_a_jump():
    log = knit(Knitter(drift=1.5, tension_noise_sd=0.4), Work(rounds=24), seed=3).log
    moved = replace(
        log,
        readings=tuple(
            replace(r, stitch=(r.stitch - 11.0) % 128) if r.round >= 12 else r for r in log.readings
        ),
    )
    (found,) = fit(moved).breaks
    assert found.kind == "jump"
    assert abs(found.round - 12) <= 1
    assert found.size == pytest.approx(-11.0, abs=2.0)


def test_when_every_other_round_is_read_both_drifts_are_told():
    # 62 stitches in two rounds on 128: 31 a round, or 31 - 64 = -33 a round
    readings = tuple(Reading(r, float((40.0 + 31.0 * (r - 1)) % 128)) for r in (1, 3, 5, 7))
    answer = fit(DriftLog(readings, (Stint(1, 128),)))
    assert answer.direction == "unclear"
    (other,) = answer.alternatives
    assert {round(answer.drift.mean), round(other.drift)} == {31, -33}
    assert "which it was" in other.question


def test_the_knitter_settles_which_turn_it_was():
    readings = tuple(
        Reading(r, float((40.0 - 33.0 * (r - 1)) % 128), period_shift=shift)
        for r, shift in ((1, 0), (3, -1), (5, -1), (7, -2))
    )
    answer = fit(DriftLog(readings, (Stint(1, 128),)))
    assert answer.drift.mean == pytest.approx(-33.0, abs=0.5)
    assert answer.alternatives == ()


@pytest.mark.parametrize("share", [0.4, -0.4, 0.3, -0.3])
@pytest.mark.parametrize(("stitches", "repeats"), [(128, 1), (120, 2)])
def test_a_drift_of_two_fifths_of_the_repeat_is_unwrapped(share, stitches, repeats):
    drift = share * stitches / repeats
    log = knit(
        Knitter(drift=drift), Work(stitches=stitches, rounds=12, repeats=repeats), seed=8
    ).log
    assert fit(log).drift.mean == pytest.approx(drift, abs=1.0)


def test_sittings_that_differ_widen_the_interval():
    knitter = Knitter(drift=1.0, sitting_sd=1.2, rounds_per_sitting=5, sittings_noted=True)
    noted = knit(knitter, Work(rounds=40), seed=6).log
    bare = replace(noted, readings=tuple(replace(r, sitting=None) for r in noted.readings))
    alike = knit(replace(knitter, sitting_sd=0.0), Work(rounds=40), seed=6).log
    assert fit(noted).drift.sd > 1.5 * fit(alike).drift.sd
    assert fit(noted).forecast(10).sd[-1] > fit(bare).forecast(10).sd[-1]


def test_positions_and_turns_do_not_depend_on_where_the_round_begins():
    log = knit(Knitter(drift=3.0), Work(rounds=15, homes=(10.0,)), seed=21).log
    turned = replace(
        log, readings=tuple(replace(r, stitch=(r.stitch + 50.0) % 128) for r in log.readings)
    )
    assert fit(turned).drift.mean == pytest.approx(fit(log).drift.mean, abs=0.05)
    assert np.isfinite(fit(turned).offset.mean)
