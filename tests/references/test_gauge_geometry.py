"""Plain-knit geometry and yarn weights against published values."""

import pytest

from knitlog.yarn.gauge import (
    MUNDEN_COURSES,
    MUNDEN_WALES,
    Relaxation,
    gauge_from_yarn_per_stitch,
    yarn_per_stitch_from_gauge,
)


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
