"""What is told of a round shows in its reading as the strand has it: judged by yarn really laid.

The simulator lays stitches that each take their yarn, with a mark every k L; it shares no formula
with the fit.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from knitlog.drift import NewHome, fit
from tests.simulator import Knitting, Work, hand_for

BEFORE = 12
DEEDS: dict[str, Callable[[Knitting], None]] = {
    "seven stitches more": lambda k: k.change_stitches(135),
    "eight stitches fewer": lambda k: k.change_stitches(120),
    "a needle 0.5 mm up": lambda k: k.change_needle(5.0),
    "a needle 0.5 mm down": lambda k: k.change_needle(4.0),
    "two percent looser": lambda k: k.ask_tension(2.0),
    "three percent tighter": lambda k: k.ask_tension(-3.0),
}


def begun(place: float, seed: int, drift: float = 1.0) -> Knitting:
    work = Work(
        stitches=128,
        repeats=1,
        repeat_length_mm=1524.0,
        needle_mm=4.5,
        yarn_thickness_mm=2.2,
        rounds=60,
        places=(place,),
    )
    knitting = Knitting(hand_for(work, drift=drift, tension_noise_sd=0.3), work, seed=seed)
    for _ in range(BEFORE):
        knitting.knit_round()
    return knitting


def missed(said: float, read: float, stitches: int) -> float:
    """How far a reading lies from what was said, the round being a round."""
    half = stitches / 2.0
    return (read - said + half) % stitches - half


@pytest.mark.parametrize("deed", DEEDS.values(), ids=DEEDS.keys())
@pytest.mark.parametrize("place", [8.0, 60.0, 104.0])
def test_the_readings_that_follow_come_where_they_were_expected(deed, place):
    off = []
    for seed in range(6):
        knitting = begun(place, seed)
        deed(knitting)
        told = fit(knitting.to_drift_log())
        expected = told.expected(3)
        for i in range(3):
            readings = knitting.knit_round()
            if not readings:
                # no mark falls into the round
                break
            found = fit(knitting.to_drift_log())
            # the good reading is not asked about
            assert found.suspects == ()
            assert found.breaks == ()
            off.append(missed(expected.stitch[i], readings[0].stitch, knitting.stitches))
    # the hand gives on the whole what it is believed to; its own unevenness is 0.3 a round
    assert abs(np.mean(off)) < 0.9


@pytest.mark.parametrize("percent", [-3.0, 4.0])
def test_the_answer_to_a_tension_asked_is_learnt(percent):
    knitting = begun(40.0, 5)
    before = fit(knitting.to_drift_log()).tension_response
    assert (before.mean, before.sd) == (pytest.approx(0.6), pytest.approx(0.4))
    knitting.ask_tension(percent)
    for _ in range(14):
        knitting.knit_round()
    found = fit(knitting.to_drift_log())
    answer = found.tension_response
    assert found.tension_asked_percent == percent
    assert answer.sd < 0.25
    # what she gives differs from one time to the next
    assert answer.mean == pytest.approx(knitting.hand.answer, abs=0.2)
    draws = found.draws(4000, seed=1)
    assert draws.response.mean() == pytest.approx(answer.mean, abs=0.03)


def test_a_place_taken_anew_is_home_from_then_on():
    knitting = begun(40.0, 3, drift=2.0)
    log = knitting.to_drift_log()
    before = fit(log)
    taken = fit(replace(log, new_homes=(NewHome(8),)))
    # four rounds of two since then; the rounds before keep the old home
    assert before.offset.mean == pytest.approx(22.0, abs=2.5)
    assert taken.offset.mean == pytest.approx(8.0, abs=2.0)
    assert taken.path.mean[:7] == pytest.approx(before.path.mean[:7])
    assert taken.path.mean[7] == pytest.approx(0.0, abs=0.5)
    assert taken.drift == before.drift
    ahead, first = taken.forecast(5), before.forecast(5)
    moved = before.offset.mean - taken.offset.mean
    assert ahead.mean == pytest.approx(first.mean - moved, abs=0.01)
    assert taken.expected(5).stitch == pytest.approx(before.expected(5).stitch)
    stated = fit(replace(log, new_homes=(NewHome(8, stitch=50.0),)))
    read = next(r.stitch for r in log.readings if r.round == 12)
    assert stated.offset.mean == pytest.approx(read - 50.0, abs=1.0)


@pytest.mark.parametrize("drift", [-9.0, 9.0])
def test_a_mark_that_leaves_the_round_leaves_the_drift_alone(drift):
    knitting = begun(64.0, 1, drift=drift)
    for _ in range(40):
        knitting.knit_round()
    found = fit(knitting.to_drift_log())
    assert found.drift.low95 < drift < found.drift.high95
    assert found.suspects == found.breaks == ()
    # as she counts: whole rounds apart from where the last mark lies
    last = knitting.to_drift_log().readings[-1]
    wrapped = (found.offset.mean - (last.stitch - 64.0) + 64.0) % 128.0 - 64.0
    assert wrapped == pytest.approx(0.0, abs=1.5)


def test_counts_that_change_again_and_again_keep_the_path_together():
    knitting = begun(40.0, 4, drift=0.5)
    for count in (132, 126, 135, 128):
        knitting.change_stitches(count)
        for _ in range(6):
            knitting.knit_round()
    found = fit(knitting.to_drift_log())
    assert found.suspects == found.breaks == ()
    assert found.tension_noise_sd < 0.8
    assert found.drift.low95 < knitting.drift < found.drift.high95
