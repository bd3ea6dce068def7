"""What was told to happen, as the drift and the path take it: worked out by hand.

A round uses k L of yarn, so (N1 + d1) s1 = (N2 + d2) s2 (the loop law and the needle's answer:
tests/references; the shares of a step that are believed: the defaults of the prior).
"""

from math import exp, log, sqrt

import numpy as np
import pytest

from knitlog.drift import DriftLog, Fix, Prior, Reading, Stint, TensionAsked
from knitlog.drift.readings import sort_readings
from knitlog.drift.response import stint_change, tension_step
from knitlog.drift.timeline import timeline
from knitlog.drift.unwrap import _Carried, _Event, _events

PRIOR = Prior(
    needle_response_log_sd=0.35,
    stint_sd_share=0.004,
    count_sd_share=0.0025,
    tension_response_mean=0.6,
    tension_response_sd=0.4,
)
COUNT, NEEDLE = Stint(4, 132, 4.5), Stint(4, 128, 5.0)
ANSWER = log(1.0746)
"""Of 4.5 to 5 mm with a yarn 2.2 mm thick: (5 + 2.2) / (4.5 + 2.2)."""


def told(*stints: Stint, rounds: tuple[int, ...] = (1, 2, 3, 4, 5), **more: object) -> DriftLog:
    """A mark a quarter into each round."""
    readings = tuple(Reading(number, 32.0) for number in rounds)
    stints = (Stint(1, 128, 4.5), *stints)
    return DriftLog(readings, stints, yarn_thickness_mm=2.2, **more)  # type: ignore[arg-type]


def events(log: DriftLog) -> dict[int, _Event]:
    return _events(log, sort_readings(log), PRIOR)


def test_another_count_moves_the_drift_by_the_count() -> None:
    change = stint_change(*told(COUNT).stints, told(), PRIOR)
    # 128 to 132: four stitches more a round than the colours, give or take 132 x 0.25 %
    assert (change.turn, change.add, change.count) == (1.0, 0.0, -4.0)
    assert change.sd == pytest.approx(0.33)
    # somewhere within a round: half of it, and half a stitch
    assert change.step_sd == pytest.approx(2.5)


def test_another_needle_turns_the_drift_by_the_yarn_a_stitch_takes() -> None:
    change = stint_change(*told(NEEDLE).stints, told(), PRIOR)
    assert change.turn == pytest.approx(exp(-ANSWER), abs=1e-4)
    assert change.add == pytest.approx(128 / 1.0746 - 128, abs=0.01)
    assert change.count == 0.0
    assert change.sd == pytest.approx(128 * sqrt((0.35 * ANSWER) ** 2 + 0.004**2), rel=1e-3)
    assert change.step_sd == pytest.approx(0.5 * (128 - 128 / 1.0746) + 0.5, abs=0.01)


def test_a_tension_asked_moves_it_by_the_yarn_a_stitch_is_to_take() -> None:
    # (128 + d) / 1.02 stitches a round where all is given
    assert tension_step(told(), 2.0) == pytest.approx(128 / 1.02 - 128)


def test_the_round_of_a_needle_shows_the_part_of_it_that_was_knitted() -> None:
    event = events(told(NEEDLE))[3]
    add, sd = 128 / 1.0746 - 128, stint_change(*told(NEEDLE).stints, told(), PRIOR).sd
    assert event.turn == pytest.approx(1 / 1.0746, abs=1e-4)
    assert event.add == pytest.approx(add, abs=0.01)
    assert event.drift_var == pytest.approx(sd**2)
    # the mark lies a quarter into the round: three quarters of the step are not seen yet
    assert event.move == pytest.approx(-0.75 * add, abs=0.01)
    assert event.move_var == pytest.approx(0.75**2 * sd**2)


def test_the_round_of_a_count_shows_nothing_of_it() -> None:
    event = events(told(COUNT))[3]
    assert (event.add, event.move) == (-4.0, 4.0)


def test_a_round_not_read_is_no_part_of_a_round() -> None:
    later = events(told(NEEDLE, rounds=(1, 2, 3, 5, 6)))[3]
    assert (later.move, later.move_var) == (0.0, 0.0)


def test_a_needle_and_a_tension_together() -> None:
    both = told(NEEDLE, tension=(TensionAsked(4, 2.0),))
    needle, asked = events(told(NEEDLE))[3], 0.6 * (128 / 1.02 - 128)
    event = events(both)[3]
    assert event.add == pytest.approx(needle.add + asked)
    assert event.drift_var == pytest.approx(needle.drift_var + (0.4 * asked / 0.6) ** 2)
    assert event.move == pytest.approx(needle.move - 0.75 * asked)


def test_a_fix_moves_the_place_at_once() -> None:
    # give or take half a stitch and a fifth, as the regression has it too
    event = events(told(fixes=(Fix(3, -7.0),)))[3]
    assert (event.move, event.move_var) == (7.0, pytest.approx((0.5 + 0.2 * 7.0) ** 2))


def test_what_was_told_before_the_first_round_read_is_no_event() -> None:
    assert events(told(NEEDLE, rounds=(4, 5, 6))) == {}


def test_a_state_is_turned_moved_and_carried_on() -> None:
    # the same by matrices: A = diag(1, turn), then one round on, then the move
    event = _Event(turn=0.9, add=-2.0, drift_var=0.3, move=1.5, move_var=0.2)
    own = _Carried(3.0, 1.2, 0.8, 0.1, 0.5, {})
    own.pass_rounds(3, event, 0.7, 0.0)
    turned, on = np.diag((1.0, 0.9)), np.array(((1.0, 3.0), (0.0, 1.0)))
    cov = turned @ np.array(((0.8, 0.1), (0.1, 0.5))) @ turned + np.diag((0.0, 0.3))
    cov = on @ cov @ on.T + np.diag((3 * 0.7 + 0.2, 0.0))
    drift = 0.9 * 1.2 - 2.0
    assert (own.x, own.d) == (pytest.approx(3.0 + 3 * drift + 1.5), pytest.approx(drift))
    assert np.array(((own.pxx, own.pxd), (own.pxd, own.pdd))) == pytest.approx(cov)


def test_where_in_a_round_a_mark_lies_is_that_of_its_nearest_reading() -> None:
    log = DriftLog((Reading(1, 32.0), Reading(5, 64.0)), (Stint(1, 128),))
    line = timeline(log, sort_readings(log), np.zeros(2, dtype=np.int64), by_strand=False)
    shares = line.share_in(np.array((0, 1, 2, 4, 5, 9)), 0)
    assert shares.tolist() == [0.25, 0.25, 0.25, 0.5, 0.5, 0.5]
