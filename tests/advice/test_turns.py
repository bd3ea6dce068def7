from dataclasses import replace

import pytest

from knitlog.advice.belief import Belief
from knitlog.advice.turns import Answer, needle_answer, seen_before, turn_now, turn_on
from knitlog.drift import Prior
from knitlog.drift.result import StintDrift

from .stand_in import estimate, stand_in

BELIEF = Belief(0.0, 0.0, 0.2, 0.04, 0.0, 0.7, 0.5)


def stint(needle: float, drift: float, sd: float = 0.2, stitches: int = 128) -> StintDrift:
    return StintDrift(1, 9, stitches, needle, estimate(drift, sd), logged=True)


def test_a_needle_step_moves_nine_stitches_on_128() -> None:
    # 4.5 to 5.0 mm with yarn of 2.2 mm: (5 + 2.2) / (4.5 + 2.2) = 1.0746, so the turn of 128
    # stitches becomes 128 / 1.0746 = 119.1 (the loop law, s near t pi (D + y))
    fit = stand_in()
    now = turn_now(fit, BELIEF, 128)
    other = turn_on(fit, now, 4.5, 5.0, Answer(1.0, 0.35))
    assert other.mean == pytest.approx(128 * 6.7 / 7.2, abs=0.01)
    assert other.mean - 128 == pytest.approx(-8.9, abs=0.05)


def test_the_answer_to_a_needle_is_not_known_well_and_its_sign_follows_the_step() -> None:
    fit = stand_in()
    now = turn_now(fit, BELIEF, 128)
    larger = turn_on(fit, now, 4.5, 5.0, Answer(1.0, 0.35))
    smaller = turn_on(fit, now, 4.5, 4.0, Answer(1.0, 0.35))
    assert larger.answer * smaller.answer < 0
    assert 2.0 < abs(larger.answer) < 5.0


def test_her_own_changes_teach_her_answer() -> None:
    # a step that did half of what the loop law says
    half = 128 * (1 - (6.7 / 7.2) ** 0.5)
    learnt = needle_answer((stint(4.5, 0.0), stint(5.0, -half)), Prior(), 2.2)
    usual = needle_answer((stint(4.5, 0.0),), Prior(), 2.2)
    assert usual.mean == 1.0
    assert 0.45 < learnt.mean < 0.65
    assert learnt.sd < usual.sd / 2


def test_an_unlogged_change_teaches_nothing_of_needles() -> None:
    unlogged = replace(stint(5.0, -5.0), logged=False)
    assert needle_answer((stint(4.5, 0.0), unlogged), Prior(), 2.2).mean == 1.0


def test_what_a_needle_did_before_is_worth_more_than_the_law() -> None:
    fit = replace(stand_in(), stint_drifts=(stint(5.0, -4.0), stint(4.5, 0.0)))
    before = seen_before(fit, 5.0)
    assert before is not None
    assert before[0] == pytest.approx(124.0)
    now = turn_now(fit, BELIEF, 128)
    back = turn_on(fit, now, 4.5, 5.0, Answer(1.0, 0.35))
    assert back.mean == pytest.approx(124.0, abs=0.3)
    assert back.sd < 0.5


def test_the_needle_in_use_now_is_not_its_own_past() -> None:
    assert seen_before(stand_in(), 4.5) is None
