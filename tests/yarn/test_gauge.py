"""Gauge as typed, and yarn per stitch from it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.typed.measures import parse_gauge
from knitlog.yarn import YarnError
from knitlog.yarn.gauge import (
    Gauge,
    format_gauge,
    gauge_from_yarn_per_stitch,
    stitch_height_mm,
    stitch_width_mm,
    yarn_per_stitch_from_gauge,
)


@given(st.integers(5, 45), st.one_of(st.none(), st.integers(5, 60)))
def test_a_gauge_shown_reads_back(stitches: int, rounds: int | None) -> None:
    gauge = Gauge(stitches / 10, None if rounds is None else rounds / 10)
    back = parse_gauge(format_gauge(gauge))
    assert back.stitches_per_cm == pytest.approx(gauge.stitches_per_cm)
    assert back.rounds_per_cm == pytest.approx(gauge.rounds_per_cm)


def test_a_gauge_is_shown_over_ten_centimetres_or_four_inches() -> None:
    assert format_gauge(Gauge(2.0)) == "20 st/10cm"
    assert format_gauge(parse_gauge("20 st 28 rows/4in"), "imperial") == "20 st 28 rows/4in"


def test_four_inches_are_not_ten_centimetres() -> None:
    ratio = parse_gauge("20 st/10cm").stitches_per_cm / parse_gauge("20 st/4in").stitches_per_cm
    assert ratio == pytest.approx(1.016)


def test_stitches_are_as_wide_and_tall_as_the_gauge_says() -> None:
    gauge = parse_gauge("20 st 28 rows/10cm")
    assert stitch_width_mm(gauge) == pytest.approx(5.0)
    assert stitch_height_mm(gauge) == pytest.approx(100 / 28)


@given(st.floats(0.5, 5))
def test_without_a_round_count_stitches_are_wider_than_tall(per_cm: float) -> None:
    gauge = Gauge(per_cm)
    assert stitch_height_mm(gauge) < stitch_width_mm(gauge)


@given(st.floats(3, 60))
def test_gauge_and_yarn_per_stitch_are_inverse(loop_mm: float) -> None:
    gauge = gauge_from_yarn_per_stitch(loop_mm)
    assert yarn_per_stitch_from_gauge(gauge) == pytest.approx(loop_mm)


def test_yarn_per_stitch_is_near_four_stitch_widths() -> None:
    gauge = parse_gauge("20 st/10cm")
    assert 3.8 <= yarn_per_stitch_from_gauge(gauge) / stitch_width_mm(gauge) <= 4.2


def test_yarn_per_stitch_must_be_above_zero() -> None:
    with pytest.raises(YarnError, match="above zero"):
        gauge_from_yarn_per_stitch(0)
