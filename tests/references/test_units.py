"""Units against their definitions."""

import pytest

from knitlog.yarn.units import (
    GRAMS_PER_OUNCE,
    GRAMS_PER_POUND,
    MM_PER_FOOT,
    MM_PER_INCH,
    MM_PER_YARD,
    YarnCount,
    from_tex,
    parse_length,
    to_tex,
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


@pytest.mark.parametrize(
    ("count", "constant"),
    # tex = constant / count, from 840 and 560 yd hanks to the pound of 453.59237 g:
    # 453.59237 / (840 x 0.0009144 km) = 590.541, 453.59237 / (560 x 0.0009144 km) = 885.812
    [
        (YarnCount.COTTON, 590.541),
        (YarnCount.WORSTED, 885.812),
        # metric count: kilometres to the kilogram
        (YarnCount.METRIC, 1000),
    ],
)
@pytest.mark.parametrize("value", [1, 2.5, 40])
def test_yarn_counts(count: YarnCount, constant: float, value: float) -> None:
    assert to_tex(value, count) == pytest.approx(constant / value, rel=1e-6)


def test_denier_is_nine_tex() -> None:
    # denier: grams in 9 km; tex: grams in 1 km (ISO 1144)
    assert from_tex(10, YarnCount.DENIER) == pytest.approx(90)
    assert to_tex(90, YarnCount.DENIER) == pytest.approx(10)
