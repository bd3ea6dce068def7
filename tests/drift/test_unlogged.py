"""Miscounts, changes nobody logged, and wraps that could be either."""

from dataclasses import replace

import numpy as np
import pytest

from knitlog.drift import DriftLog, Reading, Stint, fit
from tests.simulator import Knitting, Work, hand_for, knit, percent


def knitted(drift: float, rounds: int, seed: int, work: Work | None = None, **more) -> DriftLog:
    work = work or Work()
    return knit(hand_for(work, drift, **more), work, seed, rounds).to_drift_log()


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
    log = knitted(2.5, 15, seed=11)
    before, after = fit(log), fit(with_miscount(log, number, by))
    assert [s.round for s in after.suspects] == [number]
    assert abs(after.drift.mean - before.drift.mean) < 0.6 * before.drift.sd
    (suspect,) = after.suspects
    true = next(r.stitch for r in log.readings if r.round == number)
    assert suspect.expected == pytest.approx(true, abs=4.0)


def test_two_miscounts_that_hide_each_other_are_both_named():
    log = knitted(-1.0, 15, seed=4)
    both = with_miscount(with_miscount(log, 7, 15.0), 8, 13.0)
    assert {s.round for s in fit(both).suspects} == {7, 8}


def test_a_quiet_log_names_nothing():
    for seed in range(12):
        answer = fit(knitted(1.0, 20, seed))
        assert answer.suspects == ()
        assert answer.breaks == ()


def test_a_change_of_drift_is_found_and_dated():
    answer = fit(knitted(0.5, 40, seed=2, sudden=((24, -percent(3.0)),)))
    (found,) = answer.breaks
    assert found.kind == "drift"
    assert abs(found.round - 24) <= 3
    assert found.size == pytest.approx(3.0, abs=0.8)
    assert answer.drift.low95 <= 3.5 <= answer.drift.high95
    before, after = answer.stint_drifts
    assert before.logged
    assert not after.logged


def test_an_unlogged_fix_is_a_jump():
    knitting = Knitting(hand_for(Work(), 1.5, tension_noise_sd=0.4), Work(), 3)
    for number in range(1, 25):
        knitting.knit_round()
        if number == 11:
            knitting.cut_out(11.0)
    (found,) = fit(knitting.to_drift_log()).breaks
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
    assert other.taken == answer.drift.mean


def test_the_knitter_settles_which_turn_it_was():
    readings = tuple(
        Reading(r, float((40.0 - 33.0 * (r - 1)) % 128), period_shift=shift)
        for r, shift in ((1, 0), (3, -1), (5, -1), (7, -2))
    )
    answer = fit(DriftLog(readings, (Stint(1, 128),)))
    assert answer.drift.mean == pytest.approx(-33.0, abs=0.5)
    assert answer.alternatives == ()


@pytest.mark.parametrize(
    ("stitches", "repeats", "share"),
    [(128, 1, 0.3), (128, 1, -0.3), (120, 2, 0.4), (120, 2, -0.4), (120, 2, 0.3), (120, 2, -0.3)],
)
def test_a_drift_of_a_third_of_the_repeat_is_unwrapped(stitches, repeats, share):
    drift = share * stitches / repeats
    work = Work(stitches=stitches, repeats=repeats, repeat_length_mm=1524.0 / repeats)
    found = fit(knitted(drift, 12, 8, work)).drift
    # the next repeat would be a third of it away or more
    assert abs(found.mean - drift) < 3.0 * found.sd < 0.03 * stitches


def test_sittings_that_differ_widen_the_interval():
    sittings = {"rounds_a_sitting": 5, "notes_sittings": True}
    noted = knitted(1.0, 40, 6, sitting_percent=percent(1.2), **sittings)
    bare = replace(noted, readings=tuple(replace(r, sitting=None) for r in noted.readings))
    alike = knitted(1.0, 40, 6, **sittings)
    assert fit(noted).drift.sd > 1.5 * fit(alike).drift.sd
    assert fit(noted).forecast(10).sd[-1] > fit(bare).forecast(10).sd[-1]


def test_positions_and_turns_do_not_depend_on_where_the_round_begins():
    log = knitted(3.0, 15, 21, Work(places=(10.0,)))
    turned = replace(
        log, readings=tuple(replace(r, stitch=(r.stitch + 50.0) % 128) for r in log.readings)
    )
    assert fit(turned).drift.mean == pytest.approx(fit(log).drift.mean, abs=0.05)
    assert np.isfinite(fit(turned).offset.mean)
