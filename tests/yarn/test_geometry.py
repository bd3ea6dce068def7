"""Yarn per stitch, drift and position: hand arithmetic and properties."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.yarn import YarnError
from knitlog.yarn.geometry import (
    drift_after_needle_change,
    from_knitting_order,
    likely_yarn_thickness,
    needle_response_factor,
    target_yarn_per_stitch,
    to_knitting_order,
    wrap,
    wrap_offset,
    yarn_error_percent,
    yarn_per_stitch,
)

counts = st.integers(20, 600)
drifts = st.floats(-15, 15)
repeats = st.sampled_from([0.5, 1, 2, 3])
lengths = st.floats(200, 10_000)


def test_a_round_of_128_on_a_60_inch_repeat_wants_11_9_mm_a_stitch() -> None:
    # 60 in = 1524 mm; 1524 / 128 = 11.90625
    assert target_yarn_per_stitch(128, 1, 1524) == 11.90625
    # two repeats a round: twice that
    assert target_yarn_per_stitch(128, 2, 1524) == 23.8125


def test_three_stitches_past_on_128_is_a_yarn_error_of_2_3_percent() -> None:
    # -3 / 131 = -0.0229
    assert yarn_error_percent(3, 128) == pytest.approx(-2.290, abs=1e-3)
    # three short: 3 / 125 = 2.4 % too much yarn
    assert yarn_error_percent(-3, 128) == pytest.approx(2.4)


@given(drifts, counts, repeats, lengths)
def test_the_repeat_is_used_up_after_n_plus_d_stitches(
    d: float, n: int, k: float, length: float
) -> None:
    assert (n + d) * yarn_per_stitch(d, n, k, length) == pytest.approx(k * length)


@given(drifts.filter(lambda d: abs(d) > 1e-6), counts)
def test_too_small_stitches_land_the_change_past(d: float, n: int) -> None:
    assert (yarn_error_percent(d, n) < 0) == (d > 0)


def test_half_a_millimetre_of_needle_is_nine_stitches_on_128() -> None:
    # (5.0 + 2.2) / (4.5 + 2.2) = 7.2 / 6.7 = 1.0746; 128 / 1.0746 - 128 = -8.9
    factor = needle_response_factor(4.5, 5.0, 2.2)
    assert factor == pytest.approx(1.07463, abs=1e-5)
    assert drift_after_needle_change(0, 128, factor) == pytest.approx(-8.889, abs=1e-3)


needles = st.floats(1.5, 25)


@given(needles, needles, needles, st.floats(0, 8))
def test_needle_steps_multiply_and_undo(a: float, b: float, c: float, y: float) -> None:
    there = needle_response_factor(a, b, y) * needle_response_factor(b, c, y)
    assert there == pytest.approx(needle_response_factor(a, c, y))
    assert needle_response_factor(a, b, y) * needle_response_factor(b, a, y) == pytest.approx(1)


@given(st.floats(-1e6, 1e6), counts)
def test_a_wrapped_position_lies_in_its_round(position: float, n: int) -> None:
    wrapped = wrap(position, n)
    assert 0 <= wrapped < n
    turns = (position - wrapped) / n
    assert turns == pytest.approx(round(turns), abs=1e-6)


def test_the_end_of_a_round_is_the_beginning_of_the_next() -> None:
    assert wrap(128, 128) == 0
    assert wrap(-1e-30, 128) == 0


@given(st.floats(-1e5, 1e5), st.floats(1, 600))
def test_a_wrapped_offset_is_at_most_half_a_repeat(offset: float, period: float) -> None:
    wrapped = wrap_offset(offset, period)
    assert abs(wrapped) <= period / 2 * (1 + 1e-9) + 1e-9 * abs(offset)
    turns = (offset - wrapped) / period
    assert turns == pytest.approx(round(turns), abs=1e-6)


def test_the_second_row_reads_mirrored() -> None:
    # 20 from the right edge: the first row has knitted 20; the second, coming back, 128 - 20
    assert to_knitting_order(1, 20, 128) == 20
    assert to_knitting_order(2, 20, 128) == 108


@given(st.integers(1, 500), st.floats(0, 600), counts)
def test_mirroring_twice_changes_nothing(row: int, seen: float, n: int) -> None:
    there = to_knitting_order(row, seen, n)
    assert from_knitting_order(row, there, n) == pytest.approx(seen)


@given(st.integers(1, 500), st.floats(0, 600), counts)
def test_neighbouring_rows_run_opposite_ways(row: int, seen: float, n: int) -> None:
    both = to_knitting_order(row, seen, n) + to_knitting_order(row + 1, seen, n)
    assert both == pytest.approx(n)


def test_a_likely_thickness_where_none_is_told() -> None:
    # y = s / pi - D by hand: 24 / pi - 5 = 2.639
    assert likely_yarn_thickness(24.0, 5.0) == pytest.approx(2.639, abs=1e-3)
    # 12 mm round a 5 mm needle is less than once round: the least is taken
    assert likely_yarn_thickness(12.0, 5.0) == 0.5
    assert likely_yarn_thickness(60.0, 5.0) == 5.0
    assert likely_yarn_thickness(None, 5.0) == likely_yarn_thickness(24.0, None) == 2.0
    with pytest.raises(YarnError, match="needle size"):
        likely_yarn_thickness(24.0, 0.0)


@given(drifts, counts, repeats, lengths)
def test_the_yarn_error_is_s_over_its_target_less_one(
    d: float, n: int, k: float, length: float
) -> None:
    s = yarn_per_stitch(d, n, k, length)
    error = 100 * (s / target_yarn_per_stitch(n, k, length) - 1)
    assert yarn_error_percent(d, n) == pytest.approx(error, abs=1e-9)


@given(needles, needles, st.floats(0.2, 8), drifts, counts, lengths)
def test_the_needle_moves_drift_as_it_moves_the_loop(
    a: float, b: float, y: float, d: float, n: int, length: float
) -> None:
    factor = (b + y) / (a + y)  # a loop is pi (D + y) long
    after = length / (factor * yarn_per_stitch(d, n, 1, length)) - n  # d = k L / s - N
    by_rule = drift_after_needle_change(d, n, needle_response_factor(a, b, y))
    assert by_rule == pytest.approx(after, rel=1e-9, abs=1e-8)


def test_a_drift_that_swallows_the_round_is_refused() -> None:
    with pytest.raises(YarnError, match="swallow"):
        yarn_per_stitch(-128, 128, 1, 1524)
    with pytest.raises(YarnError, match="swallow"):
        yarn_error_percent(-200, 128)
    with pytest.raises(YarnError, match="below zero"):
        needle_response_factor(4.5, 5, -1)
