"""Plain-knit geometry and yarn weights against published values."""

import math

import pytest

from knitlog.yarn.gauge import (
    MUNDEN_COURSES,
    MUNDEN_WALES,
    YARN_WEIGHTS,
    Gauge,
    Relaxation,
    gauge_from_yarn_per_stitch,
    yarn_per_stitch_from_gauge,
    yarn_weights_for,
)
from knitlog.yarn.geometry import yarn_thickness_from_loop


def test_mundens_law_gives_the_published_worked_example() -> None:
    # GATE Textile Engineering 2015, question 54: Kw 4.2, Kc 5.5, l = 0.5 cm -> 92.4 loops/cm2
    gauge = gauge_from_yarn_per_stitch(5.0, Relaxation.FULL)
    assert gauge.rounds_per_cm is not None
    assert gauge.stitches_per_cm == pytest.approx(8.4)
    assert gauge.rounds_per_cm == pytest.approx(11.0)
    assert gauge.stitches_per_cm * gauge.rounds_per_cm == pytest.approx(92.4)
    assert yarn_per_stitch_from_gauge(gauge, Relaxation.FULL) == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("state", "density"),
    # Ks = Kc x Kw, Munden, Journal of the Textile Institute 50 (1959) T448: from memory
    [(Relaxation.DRY, 19.0), (Relaxation.WET, 21.6), (Relaxation.FULL, 23.1)],
)
def test_the_three_constants_agree_among_themselves(state: Relaxation, density: float) -> None:
    assert MUNDEN_COURSES[state] * MUNDEN_WALES[state] == pytest.approx(density, rel=0.01)


@pytest.mark.parametrize(
    ("number", "fewest", "most", "needle_low", "needle_high"),
    # Craft Yarn Council, standard yarn weight system: knit gauge in stockinette over 4 inches,
    # recommended needle in metric size
    [
        (0, 33, 40, 1.5, 2.25),
        (1, 27, 32, 2.25, 3.25),
        (2, 23, 26, 3.25, 3.75),
        (3, 21, 24, 3.75, 4.5),
        (4, 16, 20, 4.5, 5.5),
        (5, 12, 15, 5.5, 8.0),
        (6, 7, 11, 8.0, 12.75),
        (7, None, 6, 12.75, None),
    ],
)
def test_yarn_weights(
    number: int,
    fewest: int | None,
    most: int,
    needle_low: float,
    needle_high: float | None,
) -> None:
    weight = YARN_WEIGHTS[number]
    assert weight.number == number
    assert (weight.fewest_stitches, weight.most_stitches) == (fewest, most)
    assert (weight.smallest_needle_mm, weight.largest_needle_mm) == (needle_low, needle_high)


def test_weights_two_and_three_overlap() -> None:
    # Craft Yarn Council ranges: 23 to 26 and 21 to 24 stitches in 4 inches
    found = yarn_weights_for(Gauge(23.5 / 10.16))
    assert [weight.number for weight in found] == [2, 3]


@pytest.mark.parametrize(
    ("number", "stitches", "needle_mm", "thickness_mm"),
    # the loop law set against Munden (wet relaxed) at the middle of the yarn-weight ranges
    # above: worked by hand as 41 x 101.6 / stitches / (10 pi) - needle, mm
    [
        (1, 29.5, 2.75, 1.74),
        (3, 22.5, 4.125, 1.77),
        (4, 18.0, 5.0, 2.37),
        (5, 13.5, 6.75, 3.07),
    ],
)
def test_the_loop_law_gives_believable_yarn_thicknesses(
    number: int, stitches: float, needle_mm: float, thickness_mm: float
) -> None:
    weight = YARN_WEIGHTS[number]
    assert weight.fewest_stitches is not None
    assert weight.largest_needle_mm is not None
    assert stitches == (weight.fewest_stitches + weight.most_stitches) / 2
    assert needle_mm == (weight.smallest_needle_mm + weight.largest_needle_mm) / 2
    s = yarn_per_stitch_from_gauge(Gauge(stitches / 10.16), Relaxation.WET)
    assert s == pytest.approx(4.1 * 101.6 / stitches)
    assert yarn_thickness_from_loop(s, needle_mm) == pytest.approx(thickness_mm, abs=0.01)
    assert s / math.pi > needle_mm
