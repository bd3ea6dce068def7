from dataclasses import replace
from math import log

import pytest

from knitlog.advice.turns import OWN_SHARE, SAME_NEEDLE_SHARE, Turn, turns_on
from knitlog.drift.fit_result import StintDrift

from .stand_in import estimate, stand_in

NOW = Turn(128.0, 0.2, 0.0)


def stint(needle: float, drift: float, sd: float = 0.2, stitches: int = 128) -> StintDrift:
    return StintDrift(1, 9, stitches, needle, estimate(drift, sd), logged=True)


def having(*stints: StintDrift):
    return replace(stand_in(), stint_drifts=stints)


def turn_on(fit, needle_mm: float, now_mm: float = 4.5) -> Turn:
    return turns_on(fit, NOW, now_mm, (needle_mm,))[needle_mm]


def test_a_needle_step_moves_nine_stitches_on_128() -> None:
    # 4.5 to 5.0 mm with yarn of 2.2 mm: (5 + 2.2) / (4.5 + 2.2) = 1.0746, so the turn of 128
    # stitches becomes 128 / 1.0746 = 119.1 (the loop law, s near t pi (D + y))
    other = turn_on(stand_in(), 5.0)
    assert other.mean == pytest.approx(128 * 6.7 / 7.2, abs=0.01)
    assert other.mean - 128 == pytest.approx(-8.9, abs=0.05)


def test_the_answer_to_a_needle_is_not_known_well_and_its_sign_follows_the_step() -> None:
    larger, smaller = turn_on(stand_in(), 5.0), turn_on(stand_in(), 4.0)
    assert larger.answer * smaller.answer < 0
    assert 2.0 < abs(larger.answer) < 5.0
    # her answer's spread times the step, and what the needle does beside its size
    step = log(7.2 / 6.7)
    assert abs(larger.answer) == pytest.approx(
        larger.mean * ((0.35 * step) ** 2 + OWN_SHARE**2) ** 0.5, rel=1e-3
    )


def test_what_is_not_known_of_the_needle_in_use_goes_over_to_the_other() -> None:
    # 0.2 of 128 stitches is the same share of 119.1
    assert turn_on(stand_in(), 5.0).now == pytest.approx(0.2 * 6.7 / 7.2, rel=0.01)


def test_her_own_changes_teach_her_answer() -> None:
    # a step that did half of what the loop law says
    half = 128 * (1 - (6.7 / 7.2) ** 0.5)
    usual = turn_on(stand_in(), 4.0)
    fit = having(stint(4.5, 0.0), stint(5.0, -half), stint(4.5, 0.0))
    learnt = turn_on(fit, 4.0)
    # half the law's answer on the other side as well: 128 (6.7 / 6.2)^(1/2)
    by_half = 128 * (6.7 / 6.2) ** 0.5
    assert abs(learnt.mean - by_half) < 0.35 * abs(usual.mean - by_half)
    assert learnt.sd < usual.sd / 2


def test_a_needle_tried_leaves_the_others_something_of_their_own() -> None:
    fit = having(stint(4.5, 0.0, 0.01), stint(5.0, -8.9, 0.01), stint(4.5, 0.0, 0.01))
    assert turn_on(fit, 4.0).sd > OWN_SHARE * 128


def test_an_unlogged_change_teaches_nothing_of_needles() -> None:
    unlogged = replace(stint(5.0, -5.0), logged=False)
    fit = having(stint(4.5, 0.0), unlogged, stint(4.5, 0.0))
    assert turn_on(fit, 5.0).mean == pytest.approx(128 * 6.7 / 7.2, abs=0.05)


def test_what_a_needle_did_before_is_worth_more_than_the_law() -> None:
    fit = having(stint(5.0, -4.0), stint(4.5, 0.0))
    back = turn_on(fit, 5.0)
    assert back.mean == pytest.approx(124.0, abs=0.3)
    assert back.sd < 0.5


def test_a_present_stint_that_says_next_to_nothing_beside_the_earlier_ones() -> None:
    # a hundred stints of two rounds: what the present one must have said is beyond any number
    earlier = [stint(4.5 + number % 2 / 2, 0.0, sd=0.01) for number in range(100)]
    vague = Turn(160.0, 60.0, 0.0)
    other = turns_on(having(*earlier, stint(4.5, 32.0, sd=60.0)), vague, 4.5, (5.0,))[5.0]
    assert other.mean == pytest.approx(128, rel=0.01)  # as its own fifty stints said


@pytest.mark.parametrize("earlier", [(), (stint(4.5, 1.0, 0.4), stint(5.0, -6.0, 0.4))])
def test_of_the_needle_in_use_comes_out_what_was_told(earlier: tuple[StintDrift, ...]) -> None:
    # what the earlier stints said of it is taken out first, so as not to count it twice
    now = Turn(129.0, 0.3, 0.0)
    same = turns_on(having(*earlier, stint(4.5, 1.0, 0.3)), now, 4.5, (4.5,))[4.5]
    assert same.mean == pytest.approx(129.0, abs=0.02)
    assert same.now == pytest.approx(0.3, rel=0.02)
    assert abs(same.answer) < 1e-6


def test_what_two_needles_share_is_their_covariance_over_the_spread_of_the_one_in_use() -> None:
    # 5 mm was knitted before, and little is known of 4.5 in use: by hand, the normal of
    # (a, b, e of 5 mm) given ln M on 5 mm to a share and ln M on 4.5 mm to another
    now = Turn(128.0, 4.0, 0.0)
    fit = having(stint(5.0, -8.9, 0.2), stint(4.5, 0.0, 4.0))
    step = log(7.2 / 6.7)
    share = ((0.2 / 119.1) ** 2 + SAME_NEEDLE_SHARE**2) ** 0.5
    # M on 5 mm is known to that share, M on 4.5 mm from it by her answer to the step besides;
    # the present stint's own 4 in 128 says what those together do (precisions subtract)
    answer = ((0.35 * step) ** 2 + OWN_SHARE**2) ** 0.5
    here = 4.0 / 128.0
    before = (share**2 + answer**2) ** 0.5
    other = turns_on(fit, now, 4.5, (5.0,))[5.0]
    weight = share**2 / before**2
    # given what is told of 4.5 the rest of 5 mm: a regression on it
    var_here = 1 / max(1 / here**2 - 1 / before**2, 1e-2 / here**2)
    together = before**2 * var_here / (before**2 + var_here)
    along = weight * together / together**0.5
    assert other.now / other.mean == pytest.approx(along, rel=0.02)
