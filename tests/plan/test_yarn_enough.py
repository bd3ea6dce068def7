"""Yarn enough, by hand arithmetic."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.plan.checks import PlanError
from knitlog.plan.normal import normal_estimate
from knitlog.plan.yarn_enough import (
    length_per_round,
    rounds_left_by_label,
    rounds_left_by_length,
    rounds_left_by_weight,
    skeins_needed,
)

TWELVE = normal_estimate(12.0, 0.24)
"""12 mm a stitch, give or take 2 %."""


def test_a_round_takes_stitches_times_yarn() -> None:
    # 125 x 12 = 1500 mm, 2 % of it 30
    each = length_per_round(125, TWELVE)
    assert each.mean == pytest.approx(1500)
    assert each.sd == pytest.approx(30)


def test_rounds_left_by_length() -> None:
    # 90 m at 1.5 m a round: 60 rounds, 2 % of it 1.2
    left = rounds_left_by_length(90_000, 125, TWELVE)
    assert left.rounds_left.mean == pytest.approx(60)
    assert left.rounds_left.sd == pytest.approx(1.2)
    # lower end near 60 - 1.96 x 1.2 = 57.65 (log-normal: 57.68)
    assert left.sure_rounds == 57
    assert left.chance_for(60) == pytest.approx(0.5)
    # (61.2 - 60) / 1.2 = 1 sd: 15.87 %
    assert left.chance_for(61.2) == pytest.approx(0.1587, abs=1e-4)


def test_an_unsure_length_adds_its_share() -> None:
    # 1.35 m on 90 m is 1.5 %; with 2 %: 2.5 % of 60 = 1.5
    left = rounds_left_by_length(90_000, 125, TWELVE, 1350)
    assert left.rounds_left.sd == pytest.approx(1.5)


def test_rounds_left_by_the_label() -> None:
    # 100 g are 400 m, so 30 g are 120 m: 80 rounds of 1.5 m
    # spread: yarn 2 %, label 3 %, scale 0.3/30 = 1 %: root(4 + 9 + 1) = 3.742 %; 2.993 rounds
    left = rounds_left_by_label(30, 400_000, 100, 125, TWELVE)
    assert left.rounds_left.mean == pytest.approx(80)
    assert left.rounds_left.sd == pytest.approx(2.993, abs=1e-3)


def test_rounds_left_by_two_weighings() -> None:
    # 80 g before, 50 g now, 40 rounds between: 0.75 g a round, 50 / 0.75 = 66.7 rounds
    left = rounds_left_by_weight(80, 50, 40)
    assert left.rounds_left.mean == pytest.approx(66.667, abs=1e-3)
    assert left.weight_per_round_g is not None
    assert left.weight_per_round_g.mean == pytest.approx(0.75)
    # 0.3 x 40 x (1/30 + 50/900) = 1.0667 and 0.3 x 40 x 50/900 = 0.6667: root sum 1.2579
    assert left.rounds_left.sd == pytest.approx(1.2579, abs=1e-4)


def test_the_spread_of_two_weighings_is_what_scales_do() -> None:
    # drawn: true 80 and 50 g, each read with sd 0.3
    rng = np.random.default_rng(3)
    before, now = rng.normal(80, 0.3, 200_000), rng.normal(50, 0.3, 200_000)
    drawn = now / (before - now) * 40
    assert rounds_left_by_weight(80, 50, 40).rounds_left.sd == pytest.approx(drawn.std(), rel=0.02)


def test_an_empty_skein_makes_no_round() -> None:
    assert rounds_left_by_length(0, 125, TWELVE).sure_rounds == 0
    assert rounds_left_by_weight(80, 0, 40).rounds_left.mean == 0


@given(st.floats(1e3, 1e6), st.integers(20, 400), st.floats(4, 30))
def test_sure_rounds_are_fewer_than_expected(length: float, stitches: int, s: float) -> None:
    left = rounds_left_by_length(length, stitches, normal_estimate(s, 0.03 * s))
    assert left.sure_rounds <= left.rounds_left.mean
    assert left.rounds_left.mean * stitches * s == pytest.approx(length)


def test_yarn_known_exactly_either_lasts_or_does_not() -> None:
    # 90 m at exactly 1.5 m a round
    left = rounds_left_by_length(90_000, 125, normal_estimate(12.0, 0.0))
    assert (left.chance_for(60), left.chance_for(61)) == (1.0, 0.0)
    assert left.sure_rounds == 60


def test_skeins_needed_by_hand() -> None:
    # 500 rounds of 1.5 m are 750 m; skeins of 400 m: 2 skeins are 800 m = 533 rounds,
    # spread root(2^2 + 3^2) = 3.6 % of 533 = 19.2; (533.3 - 500)/19.2 = 1.73 sd: 95.8 %
    assert skeins_needed(500, 125, TWELVE, 400_000) == 2
    # 515 rounds: (533.3 - 515)/19.2 = 0.95 sd: 83 %, so a third as well
    assert skeins_needed(515, 125, TWELVE, 400_000) == 3
    assert skeins_needed(1, 125, TWELVE, 400_000) == 1


def test_senseless_amounts_are_refused() -> None:
    for call in (
        lambda: rounds_left_by_length(-1, 125, TWELVE),
        lambda: rounds_left_by_length(1, 0, TWELVE),
        lambda: rounds_left_by_label(30, 0, 100, 125, TWELVE),
        lambda: rounds_left_by_label(30, 400_000, 0, 125, TWELVE),
        lambda: rounds_left_by_weight(50, 50, 10),
        lambda: rounds_left_by_weight(50, 40, 0),
        lambda: skeins_needed(0, 125, TWELVE, 400_000),
        lambda: skeins_needed(500, 125, normal_estimate(12, 12), 400_000),
    ):
        with pytest.raises(PlanError):
            call()
