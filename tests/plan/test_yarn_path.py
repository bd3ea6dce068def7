"""Yarn paths under each remedy, by hand arithmetic."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.plan.checks import PlanError
from knitlog.plan.yarn_path import YarnPath, along_the_strand, carry_on, tension_errors


def test_nothing_done_the_drift_adds_up() -> None:
    path = carry_on(1.0, 1.5, 128, 4)
    assert path.offsets.tolist() == [1.0, 2.5, 4.0, 5.5]
    assert path.stitches.tolist() == [128] * 4


def test_unevenness_stays_in_all_later_rounds() -> None:
    path = carry_on(0.0, 1.0, 128, 4, np.array([0.0, 2.0, 0.0, 0.0]))
    assert path.offsets.tolist() == [0.0, 1.0, 4.0, 5.0]


def laid(
    positions: list[float],
    turns: list[float],
    stitches: int | list[int] = 100,
    taken_out: list[float] | None = None,
    repeats: float = 1,
) -> YarnPath:
    rounds = len(turns)
    counts = np.full(rounds, stitches) if isinstance(stitches, int) else np.array(stitches)
    out = np.zeros(rounds) if taken_out is None else np.array(taken_out)
    return along_the_strand(np.array(positions), np.array(turns), counts, out, repeats)


def test_a_steady_drift_is_found_along_the_strand() -> None:
    # 102 stitches to a turn, 100 to a round: two a round
    path = laid([30, 32, 34, 36], [102.0] * 3)
    assert path.drifts == pytest.approx([2.0] * 3)
    assert path.offsets.tolist() == [30, 32, 34]


def test_another_count_is_read_a_round_later() -> None:
    # 100 stitches, then 101 of the same yarn: round 2 is read where one of 100 would be, round 3
    # one short of it; a turn makes 102 stitches throughout
    path = laid([30, 32, 33, 34], [102.0] * 3, [100, 101, 101])
    assert path.drifts == pytest.approx([2, 1, 1])


def test_another_needle_is_read_at_once_by_the_stitches_before_the_change() -> None:
    # 100 stitches of a turn's 100, then of 90: 50 of the old size are 45 of the new; after that
    # ten short a round
    path = laid([50, 45, 35, 25], [100.0, 90.0, 90.0])
    assert path.drifts == pytest.approx([0, -10, -10])


def test_what_is_taken_out_is_no_drift() -> None:
    path = laid([30, 32, 28, 30], [102.0] * 3, taken_out=[0.0, 6.0, 0.0])
    assert path.drifts == pytest.approx([2, 2, 2], abs=0.01)
    assert path.taken_out.tolist() == [0, 6, 0]


def test_a_change_followed_over_the_edge_is_the_one_a_turn_further_back() -> None:
    # marks lie 102 stitches apart: one 104 on comes up at 2
    over = laid([98, 100, 102, 104, 106], [102.0] * 4)
    again = laid([98, 100, 0, 2, 4], [102.0] * 4)
    assert over.drifts == pytest.approx([2.0] * 4)
    assert again.drifts == pytest.approx([2.0] * 4)
    # with two repeats a round the other change of its kind is as good
    assert laid([48, 50, 1, 3], [102.0] * 3, repeats=2).drifts == pytest.approx([2, 2, 2])


@given(
    st.lists(
        st.tuples(st.floats(-4, 4), st.floats(95, 107), st.integers(96, 104), st.floats(-5, 5)),
        min_size=1,
        max_size=12,
    ),
    st.sampled_from([1, 2]),
)
def test_paid_out_stitch_by_stitch_each_round_begins_where_it_must(
    rounds: list[tuple[float, float, int, float]], repeats: int
) -> None:
    steps, turns, counts, out = map(list, zip(*rounds, strict=True))
    positions = [30.0, *(30.0 + np.cumsum(steps))]
    path = laid(positions, turns, counts, out, repeats)
    # how much yarn lies before the change as each round begins, in turns of the colours
    before = positions[0] / turns[0]
    for r in range(len(rounds)):
        apart = repeats * (before - positions[r] / turns[r])
        assert apart == pytest.approx(round(apart), abs=1e-9)
        before -= (path.stitches[r] + path.taken_out[r]) / (path.stitches[r] + path.drifts[r])


def test_tension_errors_have_the_spread_asked_for() -> None:
    errors = tension_errors(100_000, 0.7, seed=2)
    assert errors[0] == 0.7 * np.random.default_rng(2).normal()
    assert errors.std() == pytest.approx(0.7, rel=0.02)
    assert np.corrcoef(errors[:-1], errors[1:])[0, 1] == pytest.approx(0.0, abs=0.01)
    assert (tension_errors(5, 0.7, 1) == tension_errors(5, 0.7, 1)).all()
    assert (tension_errors(5, 0.7, 1) != tension_errors(5, 0.7, 2)).any()


def test_senseless_paths_are_refused() -> None:
    for call in (
        lambda: carry_on(0, 1, 128, 0),
        lambda: carry_on(0, 1, 0, 5),
        lambda: carry_on(0, -128, 128, 5),
        lambda: carry_on(0, 1, 128, 5, np.zeros(4)),
        lambda: tension_errors(5, -1, 0),
    ):
        with pytest.raises(PlanError):
            call()
