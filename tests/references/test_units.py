"""Units against their definitions."""

import pytest

from knitlog.typed.measures import parse_length
from knitlog.yarn.units import (
    GRAMS_PER_OUNCE,
    GRAMS_PER_POUND,
    MM_PER_FOOT,
    MM_PER_INCH,
    MM_PER_YARD,
)


def test_the_inch_and_yard_are_exact() -> None:
    # international yard and pound agreement, 1959: 1 yd = 0.9144 m; 36 in and 3 ft to the yard
    assert MM_PER_YARD == 914.4
    assert MM_PER_INCH == 25.4
    assert pytest.approx(MM_PER_YARD, rel=1e-15) == 36 * MM_PER_INCH
    assert pytest.approx(MM_PER_YARD, rel=1e-15) == 3 * MM_PER_FOOT


def test_the_pound_is_exact() -> None:
    # international yard and pound agreement, 1959: 1 lb = 0.45359237 kg; 16 oz to the pound
    assert GRAMS_PER_POUND == 453.59237
    assert GRAMS_PER_OUNCE == 28.349523125


def test_four_inches_are_101_6_mm() -> None:
    assert parse_length("4in") == pytest.approx(101.6, rel=1e-15)
