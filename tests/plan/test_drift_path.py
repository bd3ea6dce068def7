"""Drift paths under each remedy, by hand arithmetic."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.plan.drift_path import (
    after_needle_change,
    after_stitch_count_change,
    carry_on,
    from_offsets,
    tension_errors,
    with_mending,
)
from knitlog.plan.errors import PlanError


def test_nothing_done_the_drift_adds_up() -> None:
    path = carry_on(1.0, 1.5, 128, 4)
    assert path.offsets.tolist() == [1.0, 2.5, 4.0, 5.5]
    assert path.end_offset == 7.0
    assert path.stitches.tolist() == [128] * 4


def test_unevenness_stays_in_all_later_rounds() -> None:
    path = carry_on(0.0, 1.0, 128, 4, np.array([0.0, 2.0, 0.0, 0.0]))
    assert path.offsets.tolist() == [0.0, 1.0, 4.0, 5.0]


def test_a_stitch_count_mends_the_drift_and_leaves_the_offset() -> None:
    # 3 a round past on 128, six past now: on 131 it stays six
    path = after_stitch_count_change(6.0, 3.0, 128, 5, 131)
    assert path.offsets.tolist() == [6.0] * 5
    assert path.stitches.tolist() == [131] * 5


def test_a_needle_by_hand() -> None:
    # 131 / 1.025 - 128 = -0.195 a round
    path = after_needle_change(6.0, 3.0, 128, 3, 1.025)
    assert path.drifts == pytest.approx([-0.1951] * 3, abs=1e-4)
    assert path.offsets == pytest.approx([6.0, 5.8049, 5.6098], abs=1e-4)


def test_a_tapestry_needle_mends_the_offset_and_comes_due_again() -> None:
    # 2 a round, 3 allowed: 0 2 4! (4 out, 2 on) 2 4! ...
    path = with_mending(0.0, 2.0, 128, 7, 3.0)
    assert path.offsets.tolist() == [0, 2, 4, 2, 4, 2, 4]
    assert path.mended.tolist() == [False, False, True, False, True, False, True]
    # the drift stays: every mending falls due again


def test_a_mending_may_reach_only_so_far() -> None:
    path = with_mending(10.0, 0.0, 128, 4, 3.0, most_stitches=4.0)
    assert path.offsets.tolist() == [10, 6, 2, 2]


def test_ripping_back_mends_at_once() -> None:
    # 2 past is within tolerance; ripped back all the same
    assert with_mending(2.0, 0.5, 128, 3, 3.0).offsets.tolist() == [2, 2.5, 3]
    path = with_mending(2.0, 0.5, 128, 3, 3.0, at_once=True)
    assert path.offsets.tolist() == [2, 0.5, 1.0]
    assert path.mended.tolist() == [True, False, False]


def test_a_spiral_is_not_mended() -> None:
    path = with_mending(0.0, 2.0, 128, 30, 3.0, target_drift=2.0)
    assert not path.mended.any()
    assert path.share_in_tolerance(3.0, target_drift=2.0) == 1.0
    # held against a stack, rounds 1 and 2 (0 and 2 past) are in, the others out
    assert path.share_in_tolerance(3.0) == pytest.approx(2 / 30)


@given(
    st.floats(-6, 6), st.floats(-3, 3), st.integers(60, 300), st.integers(1, 60), st.integers(0, 99)
)
def test_mending_keeps_every_round_near(
    offset: float, drift: float, stitches: int, rounds: int, seed: int
) -> None:
    errors = tension_errors(rounds, 0.7, seed)
    path = with_mending(offset, drift, stitches, rounds, 3.0, errors)
    assert np.diff(path.offsets) == pytest.approx(path.drifts[:-1])
    # between mendings an offset grows by one round's drift and unevenness at most
    reach = max(abs(offset), 3.0 + abs(drift) + np.abs(errors).max())
    assert np.abs(path.offsets).max() <= reach + 1e-9


def test_knitted_rounds_and_those_to_come_join_up() -> None:
    knitted = from_offsets([0.0, 2.0, 5.0], 128, last_drift=2.5)
    assert knitted.drifts.tolist() == [2.0, 3.0, 2.5]
    whole = knitted.then(after_stitch_count_change(knitted.end_offset, 2.5, 128, 2, 130))
    assert whole.offsets.tolist() == [0.0, 2.0, 5.0, 7.5, 8.0]
    assert whole.stitches.tolist() == [128, 128, 128, 130, 130]
    assert whole.rounds == 5


def test_the_last_drift_is_that_of_the_round_before() -> None:
    assert from_offsets([0.0, 2.0, 5.0], 128).drifts.tolist() == [2.0, 3.0, 3.0]
    assert from_offsets([4.0], 128).drifts.tolist() == [0.0]


def test_tension_errors_have_the_spread_and_memory_asked_for() -> None:
    errors = tension_errors(100_000, 0.7, seed=2, memory=0.5)
    assert errors.std() == pytest.approx(0.7, rel=0.02)
    assert np.corrcoef(errors[:-1], errors[1:])[0, 1] == pytest.approx(0.5, abs=0.01)
    assert (tension_errors(5, 0.7, 1) == tension_errors(5, 0.7, 1)).all()
    assert (tension_errors(5, 0.7, 1) != tension_errors(5, 0.7, 2)).any()


def test_senseless_paths_are_refused() -> None:
    for call in (
        lambda: carry_on(0, 1, 128, 0),
        lambda: carry_on(0, 1, 0, 5),
        lambda: carry_on(0, -128, 128, 5),
        lambda: carry_on(0, 1, 128, 5, np.zeros(4)),
        lambda: after_needle_change(0, 1, 128, 5, 0),
        lambda: with_mending(0, 1, 128, 5, -1),
        lambda: with_mending(0, 1, 128, 5, 3, most_stitches=0),
        lambda: from_offsets([], 128),
        lambda: from_offsets([0, float("nan")], 128),
        lambda: tension_errors(5, -1, 0),
        lambda: tension_errors(5, 1, 0, memory=1),
    ):
        with pytest.raises(PlanError):
            call()
