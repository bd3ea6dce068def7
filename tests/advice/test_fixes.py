import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.advice import Costs, Limits, Remedy, advise
from knitlog.advice.details import fix_details
from knitlog.advice.fixes import fix_ways
from knitlog.yarn.gauge import Gauge

from .stand_in import ask, stand_in

COSTS, LIMITS = Costs(), Limits()


def ways(stitches: int = 128, per_cm: float = 2.0):
    return fix_ways(stitches, LIMITS.tapestry_stitches(Gauge(per_cm)), COSTS, LIMITS)


def test_three_inches_at_twenty_stitches_in_four_inches_hold_fifteen_stitches() -> None:
    # 3 in = 7.62 cm exactly (1 in = 2.54 cm, international yard and pound, 1959)
    assert LIMITS.tapestry_stitches(Gauge(20 / 10.16)) == 15
    assert LIMITS.tapestry_stitches(Gauge(28 / 10.16)) == 21


def test_a_tapestry_needle_stops_at_a_fifth_of_a_stitch_over_three_inches() -> None:
    tapestry, _ = ways()
    assert tapestry.largest == pytest.approx(15 / 5)
    assert np.isfinite(tapestry.minutes(np.array(3.0)))
    assert np.isinf(tapestry.minutes(np.array(3.5)))


def test_twenty_stitches_knit_again_take_out_two_at_a_tenth_tighter() -> None:
    # x = m * share: 20 stitches at 10 % make 2
    _, rip = ways()
    assert rip.stitches_handled(2.0) == 20
    assert rip.stitches_handled(4.0) == 40


def test_ripping_back_takes_at_most_forty_stitches_or_the_round() -> None:
    _, rip = ways(stitches=128)
    assert rip.largest == pytest.approx(4.0)
    assert np.isinf(rip.minutes(np.array(4.5)))
    _, rip = ways(stitches=30)
    assert rip.largest == pytest.approx(3.0)


@given(st.floats(0.5, 12.0), st.integers(40, 300), st.floats(1.2, 4.0))
def test_no_stitch_gives_more_than_it_may(taken_out: float, stitches: int, per_cm: float) -> None:
    for way in ways(stitches, per_cm):
        if np.isfinite(way.minutes(np.array(taken_out))):
            over = min(way.stitches_handled(taken_out), stitches)
            assert taken_out / over <= way.share + 1e-6
            assert over <= stitches


def test_both_ways_cost_the_same_in_either_direction() -> None:
    for way in ways():
        assert way.minutes(np.array(-3.0)) == way.minutes(np.array(3.0))


def test_small_is_cheaper_re_knit_and_large_is_cheaper_with_a_tapestry_needle() -> None:
    tapestry, rip = ways()
    assert rip.remedy is Remedy.RIP_BACK
    assert rip.minutes(np.array(2.0)) < tapestry.minutes(np.array(2.0))
    assert rip.minutes(np.array(3.0)) < tapestry.minutes(np.array(3.0)) + 1e-9
    wide = ways(per_cm=4.0)[0]
    assert rip.minutes(np.array(5.0)) > wide.minutes(np.array(5.0))


@pytest.mark.parametrize(("taken_out", "tension"), [(2.0, "looser"), (-2.0, "tighter")])
def test_the_numbers_of_a_fix_by_hand(taken_out: float, tension: str) -> None:
    # no stitch gives or takes more than a fifth of its yarn: 2 / 0.2 = 10 stitches, at 2 a cm
    # 5 cm of them; 2 stitches of 20 mm of yarn are 40 mm
    situation = ask(stand_in(offset=taken_out))
    tapestry, _ = fix_ways(128, LIMITS.tapestry_stitches(Gauge(2.0)), COSTS, LIMITS)
    told = fix_details(situation, tapestry, taken_out)
    assert told == {
        "fix_by": str(Remedy.TAPESTRY),
        "taken_out_stitches": taken_out,
        "over_stitches": 10,
        "over_mm": 50.0,
        "share_of_stitch_percent": 20.0,
        "tension": tension,
        "yarn_mm": 40.0,
        "fix_minutes": round(tapestry.start_minutes + 10 * tapestry.minutes_per_stitch, 1),
    }


def test_a_fix_is_counted_to_the_half_stitch() -> None:
    options = advise(ask(stand_in(drift=0.5, drift_sd=0.1, offset=3.3))).options
    rip = next(o for o in options if o.remedy is Remedy.RIP_BACK)
    assert rip.plan is not None
    assert rip.plan.taken_out == 3.5


def test_a_place_taken_anew_is_something_done() -> None:
    options = advise(ask(stand_in(drift_sd=0.05, offset=30.0, offset_sd=0.1))).options
    stack = next(o for o in options if o.remedy is Remedy.STACK_FROM_HERE)
    assert stack.expected_fixes >= 1.0
