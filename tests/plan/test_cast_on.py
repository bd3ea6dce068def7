"""The cast-on check by hand arithmetic."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.plan.cast_on import CastOnVerdict, check_cast_on, off_from_yarn_left
from knitlog.plan.checks import PlanError


def test_eight_stitches_past_on_128_wants_6_percent_more_yarn() -> None:
    # 8 / 128 = 6.25 %
    check = check_cast_on(8, 128)
    assert check.yarn_change_percent == pytest.approx(6.25)
    assert check.verdict is CastOnVerdict.AGAIN


def test_four_stitches_short_wants_less_yarn() -> None:
    # -4 / 128 = -3.125 %
    check = check_cast_on(-4, 128)
    assert check.yarn_change_percent == pytest.approx(-3.125)
    assert check.verdict is CastOnVerdict.AGAIN


def test_within_tolerance_knit_on() -> None:
    assert check_cast_on(3, 128).verdict is CastOnVerdict.KNIT_ON
    assert check_cast_on(-3, 128).verdict is CastOnVerdict.KNIT_ON
    assert check_cast_on(3.5, 128).verdict is CastOnVerdict.AGAIN
    assert check_cast_on(3.5, 128, 4.0).verdict is CastOnVerdict.KNIT_ON


def test_beyond_what_a_hand_can_do_the_plan_is_wrong() -> None:
    # 20 / 128 = 15.6 %
    check = check_cast_on(20, 128)
    assert check.verdict is CastOnVerdict.CHANGE_PLAN
    # a tenth is still within reach: 12 / 120
    assert check_cast_on(12, 120).verdict is CastOnVerdict.AGAIN
    assert check_cast_on(12.1, 120).verdict is CastOnVerdict.CHANGE_PLAN


@given(st.integers(20, 500), st.floats(-15, 15))
def test_the_change_named_makes_the_repeats_fit(stitches: int, off: float) -> None:
    # the yarn a stitch took, changed as told, fills k repeats in exactly N stitches
    repeat = 1524.0
    took = repeat / (stitches + off)
    needed = took * (1 + check_cast_on(off, stitches).yarn_change_percent / 100)
    assert needed * stitches == pytest.approx(repeat)


def test_off_from_the_yarn_left() -> None:
    # one repeat of 1524 mm, 84 mm left: 1440 mm on 120 stitches is 12 mm each; 84 / 12 = 7
    assert off_from_yarn_left(84, 120, 1, 1524) == pytest.approx(7)
    # 36 mm of the next repeat used: 1560 / 120 = 13; -36 / 13 = -2.77
    assert off_from_yarn_left(-36, 120, 1, 1524) == pytest.approx(-2.769, abs=1e-3)


def test_senseless_cast_ons_are_refused() -> None:
    with pytest.raises(PlanError, match="stitch count"):
        check_cast_on(2, 0)
    with pytest.raises(PlanError, match="more than the whole"):
        check_cast_on(-128, 128)
    with pytest.raises(PlanError, match="tolerance"):
        check_cast_on(2, 128, tolerance=-1)
    with pytest.raises(PlanError, match="yarn used"):
        off_from_yarn_left(1524, 128, 1, 1524)
