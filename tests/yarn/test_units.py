"""Lengths, weights and yarn counts as typed and as shown."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.yarn.errors import YarnError
from knitlog.yarn.units import (
    YarnCount,
    format_length,
    format_weight,
    from_tex,
    parse_length,
    parse_weight,
    tex_from_skein,
    to_tex,
)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("152cm", 1520),
        ("152 cm", 1520),
        ("  1524mm ", 1524),
        ("1.5 m", 1500),
        ("1,5m", 1500),
        ("60in", 60 * 25.4),
        ('60"', 60 * 25.4),
        ("60”", 60 * 25.4),
        ("60 in.", 60 * 25.4),
        ("60 1/2 in", 60.5 * 25.4),
        ("1/2 in", 12.7),
        ("1.67yd", 1.67 * 914.4),
        ("2 yards", 2 * 914.4),
        ("5 ft", 1524),
        (".5 m", 500),
        ("12 MM", 12),
    ],
)
def test_a_length_is_read_with_its_unit(text: str, mm: float) -> None:
    assert parse_length(text) == pytest.approx(mm, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("152", "no unit"),
        ("152 km", "'km'"),
        ("", "not a length"),
        ("cm", "not a length"),
        ("0 cm", "above zero"),
        ("-3 cm", "above zero"),
        ("1.2.3 cm", "not a length"),
        ("1,524mm", "two ways"),
        ("1/0 in", "divides by zero"),
        ("9" * 400 + "m", "too large"),
        ("nan cm", "not a length"),
    ],
)
def test_a_wrong_length_is_refused_in_one_sentence(text: str, says: str) -> None:
    with pytest.raises(YarnError, match=says) as caught:
        parse_length(text)
    assert "\n" not in str(caught.value)


def test_a_bare_number_is_told_the_units() -> None:
    with pytest.raises(YarnError, match="mm, cm, m, in or yd"):
        parse_length("60")


def test_a_weight_is_read_with_its_unit() -> None:
    assert parse_weight("100 g") == 100
    assert parse_weight("0.1kg") == 100
    # 16 oz to the pound of 453.59237 g
    assert parse_weight("3.5 oz") == pytest.approx(99.2233, abs=1e-4)
    with pytest.raises(YarnError, match="g, kg, oz or lb"):
        parse_weight("100")


@pytest.mark.parametrize(
    ("mm", "metric", "imperial"),
    [
        (12.04, "12 mm", "0.47 in"),
        (1524, "152.4 cm", "60 in"),
        (1828.8, "182.9 cm", "72 in"),
        (365_000, "365 m", "399.2 yd"),
        (0, "0 mm", "0 in"),
        (-0.001, "0 mm", "0 in"),
        (-50.8, "-50.8 mm", "-2 in"),
    ],
)
def test_a_length_is_shown_in_the_unit_that_suits_it(mm: float, metric: str, imperial: str) -> None:
    assert format_length(mm) == metric
    assert format_length(mm, "imperial") == imperial


@given(st.floats(10, 1e7), st.sampled_from(["metric", "imperial"]))
def test_a_length_shown_reads_back_to_within_its_rounding(mm: float, system: str) -> None:
    shown = format_length(mm, system)  # type: ignore[arg-type]
    # the coarsest rounding: 0.01 in on 10 mm is 0.0127 either way, 0.05 yd on 3 yd is 0.017
    assert parse_length(shown) == pytest.approx(mm, rel=0.018)


def test_a_weight_is_shown_in_grams_or_ounces() -> None:
    assert format_weight(100) == "100 g"
    assert format_weight(100, "imperial") == "3.53 oz"


@given(st.floats(0.01, 1e5), st.sampled_from(YarnCount))
def test_counts_go_to_tex_and_back(value: float, count: YarnCount) -> None:
    assert from_tex(to_tex(value, count), count) == pytest.approx(value, rel=1e-12)


def test_tex_of_a_skein() -> None:
    # 100 g over 400 m: 100 / 0.4 km
    assert tex_from_skein(400_000, 100) == pytest.approx(250)
    with pytest.raises(YarnError):
        tex_from_skein(0, 100)


def test_a_count_below_zero_is_refused() -> None:
    with pytest.raises(YarnError, match="above zero"):
        to_tex(0, YarnCount.METRIC)
