"""Gauge as typed, and yarn per stitch from it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.yarn.errors import YarnError
from knitlog.yarn.gauge import (
    YARN_WEIGHTS,
    Gauge,
    Relaxation,
    format_gauge,
    gauge_from_yarn_per_stitch,
    parse_gauge,
    stitch_height_mm,
    stitch_width_mm,
    yarn_per_stitch_from_gauge,
    yarn_weights_for,
)


@pytest.mark.parametrize(
    ("text", "stitches_per_cm", "rounds_per_cm"),
    [
        ("20 st/10cm", 2.0, None),
        ("20 st/4in", 20 / 10.16, None),
        ('20 st/4"', 20 / 10.16, None),
        ("20st/10 cm", 2.0, None),
        ("20/10cm", 2.0, None),
        ("20 st 28 rows/10cm", 2.0, 2.8),
        ("20 stitches and 28 rounds over 10 cm", 2.0, 2.8),
        ("20 sts x 28 r = 10cm", 2.0, 2.8),
        ("5.5 st/in", 5.5 / 2.54, None),
        ("5 stitches per inch", 5 / 2.54, None),
        ("19,5 st/10cm", 1.95, None),
    ],
)
def test_a_gauge_is_read(text: str, stitches_per_cm: float, rounds_per_cm: float | None) -> None:
    gauge = parse_gauge(text)
    assert gauge.stitches_per_cm == pytest.approx(stitches_per_cm)
    if rounds_per_cm is None:
        assert gauge.rounds_per_cm is None
    else:
        assert gauge.rounds_per_cm == pytest.approx(rounds_per_cm)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("20 st", "not a gauge"),
        ("", "not a gauge"),
        ("20 st/10", "no unit"),
        ("20 st/10 kg", "not a unit of length"),
        ("0 st/10cm", "not a hand-knit gauge"),
        ("20 st/1mm", "not a hand-knit gauge"),
        ("20 st 0 rows/10cm", "not a hand-knit gauge"),
    ],
)
def test_a_wrong_gauge_is_refused_in_one_sentence(text: str, says: str) -> None:
    with pytest.raises(YarnError, match=says):
        parse_gauge(text)


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


@given(st.floats(0.5, 5), st.sampled_from(Relaxation))
def test_without_a_round_count_stitches_are_wider_than_tall(
    per_cm: float, state: Relaxation
) -> None:
    gauge = Gauge(per_cm)
    assert stitch_height_mm(gauge, state) < stitch_width_mm(gauge)


@given(st.floats(3, 60), st.sampled_from(Relaxation))
def test_gauge_and_yarn_per_stitch_are_inverse(loop_mm: float, state: Relaxation) -> None:
    gauge = gauge_from_yarn_per_stitch(loop_mm, state)
    assert yarn_per_stitch_from_gauge(gauge, state) == pytest.approx(loop_mm)


def test_yarn_per_stitch_is_near_four_stitch_widths() -> None:
    gauge = parse_gauge("20 st/10cm")
    for state in Relaxation:
        ratio = yarn_per_stitch_from_gauge(gauge, state) / stitch_width_mm(gauge)
        assert 3.8 <= ratio <= 4.2


def test_yarn_per_stitch_must_be_above_zero() -> None:
    with pytest.raises(YarnError, match="above zero"):
        gauge_from_yarn_per_stitch(0)


@given(st.integers(1, 40))
def test_every_stitch_count_to_forty_has_a_yarn_weight(count: int) -> None:
    found = yarn_weights_for(Gauge(count / 10.16))
    assert found
    for weight in found:
        assert (weight.fewest_stitches or 0) <= count <= weight.most_stitches


def test_a_gauge_finer_than_the_system_has_no_weight() -> None:
    assert yarn_weights_for(Gauge(50 / 10.16)) == ()


def test_weights_run_from_fine_to_thick() -> None:
    assert [weight.number for weight in YARN_WEIGHTS] == list(range(8))
    tops = [weight.most_stitches for weight in YARN_WEIGHTS]
    assert tops == sorted(tops, reverse=True)
