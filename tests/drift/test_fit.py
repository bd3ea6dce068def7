"""The fit on logs whose answer is known by hand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knitlog.drift import DriftLog, Fix, LogError, Prior, Reading, Stint, fit
from tests.simulator import Work, hand_for, knit


def exact_log(drift, rounds=15, stitches=128, home=40.0, noise=0.0, seed=0, **more):
    rng = np.random.default_rng(seed)
    at = home + drift * np.arange(rounds) + rng.normal(0.0, 1.0, rounds) * noise
    readings = tuple(Reading(r + 1, float(at[r] % stitches)) for r in range(rounds))
    return DriftLog(readings, (Stint(1, stitches),), **more)


@given(
    drift=st.floats(-12.0, 12.0),
    stitches=st.integers(60, 300),
    home=st.floats(0.0, 1.0),
    rounds=st.integers(5, 40),
)
@settings(max_examples=60, deadline=None)
def test_a_noiseless_drift_comes_back_however_it_wraps(drift, stitches, home, rounds):
    drift = drift * stitches / 128.0
    # along the strand: a mark every N + d stitches, none or two in a round beside the edge
    marks = home * (stitches - 1.0) + (stitches + drift) * np.arange(rounds)
    numbers = (marks // stitches).astype(int) + 1
    keep = np.unique(numbers, return_index=True)[1]
    readings = tuple(Reading(int(numbers[i]), float(marks[i] % stitches)) for i in keep)
    log = DriftLog(readings, (Stint(1, stitches),))
    answer = fit(log)
    assert answer.drift.mean == pytest.approx(drift, abs=0.12 * stitches / 128.0)
    # as she counts: what it lies past its place, whole rounds over the edge
    offset = drift * keep[-1]
    assert answer.offset.mean == pytest.approx(offset, abs=0.5 + 0.01 * abs(drift))
    assert answer.drift.low95 <= drift <= answer.drift.high95


@pytest.mark.parametrize("drift", [-9.0, -2.0, 3.0, 11.0])
def test_a_log_counted_by_the_round_comes_back_too(drift):
    answer = fit(exact_log(drift, rounds=40))
    assert answer.drift.mean == pytest.approx(drift, abs=0.12)
    assert answer.offset.mean == pytest.approx(drift * 39, abs=0.5)


@given(
    error=st.floats(-0.06, 0.06),
    stitches=st.integers(80, 240),
    repeats=st.sampled_from([1, 2, 3]),
    length=st.floats(800.0, 2000.0),
    start=st.floats(0.05, 0.95),
)
@settings(max_examples=60, deadline=None)
def test_yarn_per_stitch_survives_knitting_and_fitting(error, stitches, repeats, length, start):
    """Yarn per stitch -> where the colours land along the strand -> fit -> yarn per stitch.

    The strand decides which round a colour change falls in: some rounds have none of
    a turn, some two (then the first is written).
    """
    target = repeats * length / stitches
    true = target * (1.0 + error)
    visible = length / true
    readings = []
    position = start * visible
    while len(readings) < 24:
        number, stitch = int(position // stitches) + 1, position % stitches
        if all(r.round != number for r in readings):
            readings.append(Reading(number, float(stitch)))
        # she follows one turn a round: k visible repeats further on
        position += visible * repeats
    log = DriftLog(tuple(readings), (Stint(1, stitches),), repeats=repeats, repeat_length_mm=length)
    yarn = fit(log).yarn_per_stitch_mm
    assert yarn.mean == pytest.approx(true, rel=0.004)
    assert yarn.low95 <= true * 1.001
    assert yarn.high95 >= true * 0.999


def test_sign_and_yarn_error_by_hand():
    # + 3 on 128: s / s* - 1 = -3 / 131 = -2.29 %; the stitches take too little yarn
    answer = fit(exact_log(3.0, repeat_length_mm=1524.0))
    assert answer.direction == "too small"
    assert answer.yarn_error_percent.mean == pytest.approx(-2.29, abs=0.05)
    assert answer.target_yarn_per_stitch_mm == pytest.approx(1524.0 / 128.0)
    assert answer.yarn_per_stitch_mm.mean == pytest.approx(1524.0 / 131.0, rel=1e-3)
    # s = k L / (N + d): ds = k L / (N + d)^2 dd, the delta method of any textbook
    sd = 1524.0 / 131.0**2 * answer.drift.sd
    assert answer.yarn_per_stitch_mm.sd == pytest.approx(sd, rel=0.01)
    assert fit(exact_log(-3.0)).direction == "too large"
    assert fit(exact_log(0.0, noise=0.3)).direction == "in line"


def test_each_account_dates_what_it_supposes():
    # steady to round 15, from 16 on four stitches more a round: nobody wrote that down
    at = [40.0 + (0.2 if r % 2 else -0.2) + 4.0 * max(r - 15, 0) for r in range(1, 31)]
    readings = tuple(Reading(r, at[r - 1] % 128) for r in range(1, 31))
    answer = fit(DriftLog(readings, (Stint(1, 128),)))
    assert [(b.kind, b.round) for b in answer.breaks] == [("drift", 16)]
    likeliest = answer.accounts[0]
    assert [(h.kind, h.round) for h in likeliest.happenings] == [("drift", 16)]


def test_one_round_says_little_and_says_so():
    answer = fit(exact_log(3.0, rounds=1))
    assert answer.direction == "unclear"
    assert answer.drift.high95 - answer.drift.low95 > 20.0
    assert answer.rounds_logged == 1


def test_yarn_is_not_guessed_without_a_repeat_length():
    answer = fit(exact_log(3.0))
    assert answer.yarn_per_stitch_mm is None
    assert answer.target_yarn_per_stitch_mm is None


def test_a_wanted_spiral_is_in_line():
    answer = fit(exact_log(4.0, target_drift=4.0, noise=0.3))
    assert answer.direction == "in line"
    assert answer.drift.mean == pytest.approx(4.0, abs=0.15)
    assert answer.offset.mean == pytest.approx(0.0, abs=1.0)
    assert abs(answer.yarn_error_percent.mean) < 0.2


def test_a_stated_home_moves_the_offset_not_the_drift():
    answer = fit(exact_log(1.0, home=46.0, homes={1: 40.0}, noise=0.2))
    assert answer.offset.mean == pytest.approx(6.0 + 14.0, abs=0.8)
    assert answer.drift.mean == pytest.approx(1.0, abs=0.2)


def test_two_changes_share_one_drift():
    rounds = range(1, 13)
    both = [Reading(r, 20.0 + 2.0 * r, 1) for r in rounds] + [
        Reading(r, 90.0 + 2.0 * r, 2) for r in rounds
    ]
    alone = fit(DriftLog(tuple(both[:12]), (Stint(1, 128),)))
    together = fit(DriftLog(tuple(both), (Stint(1, 128),)))
    assert together.drift.mean == pytest.approx(2.0, abs=0.05)
    assert together.offset.sd < alone.offset.sd


def test_missing_rounds_leave_the_drift_alone():
    log = exact_log(3.0, rounds=20, noise=0.2)
    some = tuple(r for r in log.readings if r.round not in {4, 5, 9, 13, 14, 15})
    answer = fit(DriftLog(some, log.stints))
    assert answer.drift.mean == pytest.approx(3.0, abs=0.1)
    assert answer.rounds_logged == 14
    assert answer.last_round == 20


def test_a_logged_fix_mends_the_offset_not_the_drift():
    at = 40.0 + 2.0 * np.arange(12)
    at[6:] -= 12.0
    readings = tuple(Reading(i + 1, float(x)) for i, x in enumerate(at))
    answer = fit(DriftLog(readings, (Stint(1, 128),), (Fix(6, 12.0),)))
    assert answer.drift.mean == pytest.approx(2.0, abs=0.1)
    assert answer.offset.mean == pytest.approx(22.0 - 12.0, abs=0.8)
    assert answer.breaks == ()
    assert answer.suspects == ()


def test_a_fix_made_since_the_last_reading_counts_at_once():
    log = exact_log(2.0, rounds=8)
    fixed = DriftLog(log.readings, log.stints, (Fix(8, 14.0),))
    assert fit(fixed).offset.mean == pytest.approx(0.0, abs=0.5)
    assert fit(fixed).drift.mean == pytest.approx(2.0, abs=0.1)


def test_a_needle_change_not_yet_read_is_predicted_by_the_loop_law():
    # y = 2.2 mm: 4.5 to 5.0 takes 7.2 / 6.7 = 1.0746 times the yarn: 131 / 1.0746 - 128 = -6.1
    log = exact_log(3.0, rounds=10, yarn_thickness_mm=2.2)
    changed = DriftLog(
        log.readings, (Stint(1, 128, 4.5), Stint(11, 128, 5.0)), yarn_thickness_mm=2.2
    )
    drift = fit(changed).drift
    assert drift.mean == pytest.approx(131.0 / (7.2 / 6.7) - 128.0, abs=0.2)
    assert drift.sd > 2.0


def test_three_more_stitches_take_three_off_the_drift():
    log = exact_log(3.0, rounds=10)
    changed = fit(DriftLog(log.readings, (Stint(1, 128), Stint(11, 131))))
    assert changed.drift.mean == pytest.approx(0.0, abs=0.2)
    first, second = changed.stint_drifts
    assert first.drift.mean == pytest.approx(3.0, abs=0.1)
    assert second.stitches == 131


def test_past_projects_can_speak_first():
    told = fit(exact_log(3.0, rounds=2, noise=0.5), Prior(drift_mean=3.0, drift_sd=0.2)).drift
    assert told.sd < 0.25
    assert told.mean == pytest.approx(3.0, abs=0.3)


def test_flat_rows_read_back_from_the_right_edge():
    seen = []
    for row in range(1, 15):
        worked = 30.0 + 1.5 * (row - 1)
        seen.append(Reading(row, worked if row % 2 else 128.0 - worked))
    answer = fit(DriftLog(tuple(seen), (Stint(1, 128),), flat=True))
    assert answer.drift.mean == pytest.approx(1.5, abs=0.05)
    round_about = fit(DriftLog(tuple(seen), (Stint(1, 128),)))
    assert abs(round_about.drift.mean - 1.5) > 0.3 or round_about.drift.sd > 3 * answer.drift.sd


def test_a_tighter_half_shows_within_the_round():
    # one repeat a half round, 750 mm: 66 stitches of it in one half, 62 in the other
    rng = np.random.default_rng(3)
    readings = []
    for r in range(1, 15):
        readings.append(Reading(r, float(30.0 + rng.normal(0.0, 0.4)), 1))
        readings.append(Reading(r, float(96.0 + rng.normal(0.0, 0.4)), 2))
    log = DriftLog(tuple(readings), (Stint(1, 128),), repeats=2, repeat_length_mm=750.0)
    first, second = fit(log).sections
    assert first.yarn_per_stitch_mm.mean == pytest.approx(750.0 / 66.0, rel=0.01)
    assert second.yarn_per_stitch_mm.mean == pytest.approx(750.0 / 62.0, rel=0.01)
    assert first.against_round_percent.high95 < 0.0 < second.against_round_percent.low95


def test_sections_need_known_marks():
    log = DriftLog(
        (Reading(1, 30.0, 1), Reading(1, 96.0, 2), Reading(2, 31.0, 1), Reading(2, 97.0, 2)),
        (Stint(1, 128),),
        repeat_length_mm=1500.0,
    )
    assert fit(log).sections == ()
    marked = DriftLog(
        log.readings, log.stints, repeat_length_mm=1500.0, change_marks_mm={1: 0.0, 2: 800.0}
    )
    assert len(fit(marked).sections) == 2


def test_the_forecast_widens_and_meets_the_drift():
    answer = fit(knit(hand_for(Work(), 2.0), Work(), 5, rounds=12).to_drift_log())
    ahead = answer.forecast(10)
    assert list(ahead.rounds) == list(range(13, 23))
    assert np.all(np.diff(ahead.sd) > 0.0)
    assert ahead.mean[9] == pytest.approx(answer.offset.mean + 10 * answer.drift.mean, abs=0.5)


def test_draws_agree_with_the_estimates_and_repeat():
    answer = fit(knit(hand_for(Work(), 2.0), Work(), 5, rounds=12).to_drift_log())
    draws = answer.draws(20_000, seed=1)
    assert draws.drift.mean() == pytest.approx(answer.drift.mean, abs=0.02)
    assert draws.drift.std() == pytest.approx(answer.drift.sd, rel=0.05)
    assert draws.offset.std() == pytest.approx(answer.offset.sd, rel=0.05)
    assert np.array_equal(draws.drift, answer.draws(20_000, seed=1).drift)


def test_whole_readings_all_alike_are_not_trusted_to_a_hair():
    alike = tuple(Reading(r, 40.0) for r in range(1, 31))
    answer = fit(DriftLog(alike, (Stint(1, 128),)))
    # a reading to the whole stitch has at least the spread of rounding, 1 / sqrt(12)
    assert answer.reading_noise_sd >= 1.0 / np.sqrt(12.0)


@pytest.mark.parametrize(
    ("log", "says"),
    [
        (DriftLog((), (Stint(1, 128),)), "no reading yet"),
        (DriftLog((Reading(1, 3.0),), ()), "stitch count is missing"),
        (DriftLog((Reading(1, 3.0),), (Stint(1, 0),)), "at least 1 stitch"),
        (DriftLog((Reading(1, 129.0),), (Stint(1, 128),)), "stitch 129 is outside the round"),
        (DriftLog((Reading(0, 3.0),), (Stint(1, 128),)), "rounds from 1"),
        (DriftLog((Reading(1, 3.0), Reading(1, 4.0)), (Stint(1, 128),)), "twice"),
        (DriftLog((Reading(1, float("nan")),), (Stint(1, 128),)), "outside the round"),
        (DriftLog((Reading(1, 3.0),), (Stint(1, 128),), repeats=0), "above 0"),
        (DriftLog((Reading(1, 3.0),), (Stint(5, 128), Stint(2, 64))), "order of their rounds"),
    ],
)
def test_a_log_that_cannot_be_is_refused_in_a_sentence(log, says):
    with pytest.raises(LogError, match=says):
        fit(log)
