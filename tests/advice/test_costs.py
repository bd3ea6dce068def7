import math

import pytest

from knitlog.advice import Costs, CostsError


def test_a_round_out_of_tolerance_is_worth_two_minutes_by_default() -> None:
    assert Costs().round_out_of_tolerance_minutes == 2.0


@pytest.mark.parametrize("wrong", [-1.0, math.nan, math.inf, 1e9])
def test_a_cost_that_cannot_be_is_refused_in_one_sentence(wrong: float) -> None:
    with pytest.raises(CostsError, match=r"needle change minutes.*type 0 or more minutes\.$"):
        Costs(needle_change_minutes=wrong)
