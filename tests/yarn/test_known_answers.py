"""Answers worked by hand, where a property alone would let a wrong constant through."""

import math
from collections.abc import Callable

import pytest

from knitlog.yarn import YarnError
from knitlog.yarn.colours import ColourRun, ColourSegment, segment_index_at
from knitlog.yarn.gauge import (
    Gauge,
    gauge_from_yarn_per_stitch,
    stitch_height_mm,
)
from knitlog.yarn.geometry import (
    drift_after_needle_change,
    from_knitting_order,
    is_right_side_row,
    likely_yarn_thickness,
    needle_response_factor,
    wrap,
    wrap_offset,
    yarn_error_percent,
    yarn_per_stitch,
)
from knitlog.yarn.needle_sizes import needle_label
from knitlog.yarn.units import format_length


@pytest.mark.parametrize(
    ("mm", "shown"),
    [
        (99.94, "99.9 mm"),
        (100, "10 cm"),
        (100.6, "10.1 cm"),
        (9_996, "999.6 cm"),
        (10_000, "10 m"),
        (1_234_567, "1234.6 m"),
    ],
)
def test_metric_lengths_change_unit_at_10_cm_and_10_m(mm: float, shown: str) -> None:
    assert format_length(mm) == shown


@pytest.mark.parametrize(
    ("inches", "shown"),
    [
        (9.752, "9.75 in"),
        (10.26, "10.3 in"),
        (107.96, "108 in"),
        # 36 in to the yard (international yard and pound agreement, 1959)
        (36 * 3.26, "3.3 yd"),
    ],
)
def test_imperial_lengths_round_at_10_in_and_turn_to_yards_at_3_yd(
    inches: float, shown: str
) -> None:
    assert format_length(inches * 25.4, "imperial") == shown


def test_a_needle_measured_to_a_two_hundredth_has_its_numbers_still() -> None:
    assert needle_label(4.504) == "4.504 mm (US 7, UK 7, JP 8)"
    assert needle_label(2.396) == "2.396 mm (JP 1)"
    assert needle_label(4.51) == "4.51 mm"


def test_a_round_nobody_counted_is_as_tall_as_munden_says() -> None:
    # Munden's Kw / Kc times a stitch 5 mm wide, 4.1 / 5.3 (Journal of the Textile Institute 50,
    # 1959, T448; from memory)
    assert stitch_height_mm(Gauge(2.0)) == pytest.approx(3.86792, abs=1e-5)


def test_a_stitch_of_less_than_a_millimetre_is_no_hand_knitting() -> None:
    # Kw / l = 4.1 / 0.09 cm: 45.6 stitches in a centimetre
    with pytest.raises(YarnError, match=r"45\.5556 stitches in a centimetre"):
        gauge_from_yarn_per_stitch(0.9)


def test_the_thickest_and_finest_gauge_let_in_are_let_in() -> None:
    # half a stitch in 10 cm, and 400
    for per_cm in (0.05, 40.0):
        assert Gauge(per_cm, per_cm).rounds_per_cm == per_cm


def test_a_hair_before_the_start_is_the_repeats_last_colour() -> None:
    run = ColourRun(tuple(ColourSegment(name, 300, "#cc6677") for name in ("a", "b", "c")))
    # -1e-30 mod 900 is 900 itself in floating point
    assert segment_index_at(run, -1e-30) == 2


def test_a_flat_row_read_from_its_own_side() -> None:
    # row 1 shows its right side (common practice)
    assert [is_right_side_row(row) for row in (1, 2, 3)] == [True, False, True]
    # the second row runs back: 20 knitted is 108 from the right edge of 128
    assert from_knitting_order(1, 20, 128) == 20
    assert from_knitting_order(2, 20, 128) == 108


NAMED: list[tuple[str, Callable[[float], float]]] = [
    ("stitch count", lambda bad: yarn_per_stitch(0, bad, 1, 1524)),
    ("repeats a round", lambda bad: yarn_per_stitch(0, 128, bad, 1524)),
    ("length of the repeat", lambda bad: yarn_per_stitch(0, 128, 1, bad)),
    ("stitch count", lambda bad: yarn_error_percent(3, bad)),
    ("needle size", lambda bad: needle_response_factor(bad, 5, 2)),
    ("needle size", lambda bad: needle_response_factor(5, bad, 2)),
    ("stitch count", lambda bad: drift_after_needle_change(0, bad, 1.05)),
    ("change of yarn per stitch", lambda bad: drift_after_needle_change(0, 128, bad)),
    ("yarn per stitch", lambda bad: likely_yarn_thickness(bad, 5)),
    ("needle size", lambda bad: likely_yarn_thickness(24, bad)),
    ("stitch count", lambda bad: wrap(3, bad)),
    ("stitches in a repeat", lambda bad: wrap_offset(3, bad)),
]


@pytest.mark.parametrize("bad", [0, -1, math.nan, math.inf])
@pytest.mark.parametrize(("what", "call"), NAMED)
def test_what_must_be_above_zero_is_named(
    what: str, call: Callable[[float], float], bad: float
) -> None:
    with pytest.raises(YarnError, match=f"{what} must be above zero, not .*: type it "):
        call(bad)


def test_small_is_not_zero() -> None:
    # a quarter repeat a round (flat work, a wide repeat): 0.25 x 1524 / 0.5 = 762 by the formula
    assert yarn_per_stitch(0, 0.5, 0.25, 1524) == 762
