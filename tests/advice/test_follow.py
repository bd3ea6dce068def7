"""One plan followed, by hand."""

import numpy as np
import pytest

from knitlog.advice import Manner, Plan, Remedy, follow
from knitlog.advice.turns import Turn
from knitlog.advice.ways import Way

from .stand_in import ask, stand_in

EVEN = np.zeros(6)


def test_left_alone_the_colours_go_on_by_the_drift_and_the_hands_unevenness() -> None:
    situation = ask(stand_in(drift=2.0, drift_sd=0.01, offset=1.0, offset_sd=0.05))
    plan = Plan(Remedy.CARRY_ON, Manner.AS_USUAL)
    found = follow(situation, plan, np.array([0.0, 1.0, 0.0, 0.0]))
    assert found.moved == pytest.approx([2, 5, 7, 9], abs=1e-6)
    assert found.offsets == pytest.approx([3, 6, 8, 10], abs=1e-6)
    assert found.stitches.tolist() == [128] * 4
    assert found.turns == pytest.approx([130.0] * 4, abs=1e-6)
    assert (found.taken_out.any(), found.taken_out_first) == (False, 0.0)


def test_what_is_taken_out_first_is_taken_out_before_the_first_round() -> None:
    situation = ask(stand_in(drift=2.0, drift_sd=0.01, offset=6.0, offset_sd=0.05))
    plan = Plan(Remedy.TAPESTRY, Manner.AS_USUAL, taken_out=4.0)
    found = follow(situation, plan, EVEN)
    assert found.taken_out_first == 4.0
    assert found.offsets[:3] == pytest.approx([4, 6, 8], abs=1e-6)


def test_evened_out_when_out_of_tolerance() -> None:
    situation = ask(stand_in(drift=2.0, drift_sd=0.01, offset=0.0, offset_sd=0.05), tolerance=3.0)
    found = follow(situation, Plan(Remedy.CARRY_ON, Manner.EVEN_OUT), EVEN)
    # 2, 4: out, and 4 taken out, all that forty stitches give at a tenth each; 2 again ...
    assert found.offsets[:3] == pytest.approx([2, 4, 2], abs=0.05)
    assert found.taken_out[:2] == pytest.approx([0, 4], abs=0.05)


def test_another_count_is_there_from_the_first_round_and_its_place_moves_along() -> None:
    situation = ask(stand_in(drift=4.0, drift_sd=0.01, offset=0.0, offset_sd=0.05))
    way = Way(situation.needle_mm, 132, Turn(132.0, 0.01, 0.0), 3.1)
    plan = Plan(Remedy.CHANGE_STITCH_COUNT, Manner.AS_USUAL, way=way)
    found = follow(situation, plan, EVEN)
    assert found.stitches.tolist() == [132] * 6
    assert found.turns == pytest.approx([132.0] * 6, abs=1e-6)
    # no drift any more: it comes up where one round of the old count brought it
    assert found.moved == pytest.approx([4.0] * 6, abs=0.05)


def test_a_place_taken_anew_is_where_the_colours_come_up() -> None:
    situation = ask(stand_in(drift=0.0, drift_sd=0.01, offset=12.0, offset_sd=0.05))
    found = follow(situation, Plan(Remedy.STACK_FROM_HERE, Manner.AS_USUAL, new_home=True), EVEN)
    assert found.offsets == pytest.approx([0.0] * 6, abs=0.1)
    assert found.moved == pytest.approx([0.0] * 6, abs=0.1)


def test_minding_the_tension_brings_them_back_along_the_way_the_hand_answers() -> None:
    situation = ask(stand_in(drift=1.0, drift_sd=0.05, offset=6.0, offset_sd=0.1))
    found = follow(situation, Plan(Remedy.CHANGE_TENSION, Manner.MIND_TENSION), np.zeros(20))
    # a stitch that takes more yarn makes fewer of a turn
    assert found.turns[1] < 129
    assert abs(found.offsets[-1]) < 3
