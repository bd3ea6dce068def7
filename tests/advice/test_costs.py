import math

import pytest

from knitlog.advice import Costs, CostsError, advise

from .stand_in import ask, stand_in


def test_a_round_out_of_tolerance_is_worth_two_minutes_by_default() -> None:
    assert Costs().round_out_of_tolerance_minutes == 2.0


@pytest.mark.parametrize("wrong", [-1.0, math.nan, math.inf, 1e9])
def test_a_cost_that_cannot_be_is_refused_in_one_sentence(wrong: float) -> None:
    with pytest.raises(CostsError, match=r"needle change minutes.*type 0 or more minutes\.$"):
        Costs(needle_change_minutes=wrong)


def test_each_stitch_added_costs_its_price() -> None:
    fit = stand_in(drift=4.0, drift_sd=0.1, offset=8.0)
    usual, dear = (
        advise(ask(fit, costs=Costs(count_change_minutes_per_stitch=price))).recommended
        for price in (0.5, 1.0)
    )
    assert usual.details["stitches_added"] == dear.details["stitches_added"] == 4
    # 4 stitches, half a minute more each
    assert dear.minutes - usual.minutes == pytest.approx(2.0)
