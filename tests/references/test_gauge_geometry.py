"""Plain-knit geometry against published values."""

import pytest

from knitlog.yarn.gauge import MUNDEN_COURSES, MUNDEN_WALES, gauge_from_yarn_per_stitch


def test_mundens_law_gives_the_published_worked_example() -> None:
    # GATE Textile Engineering 2015, question 54: Kw 4.2, Kc 5.5, l = 0.5 cm -> 92.4 loops/cm2;
    # with our constants of cloth less relaxed, as much less as Kw Kc is
    gauge = gauge_from_yarn_per_stitch(5.0)
    assert gauge.rounds_per_cm is not None
    loops = gauge.stitches_per_cm * gauge.rounds_per_cm
    assert loops == pytest.approx(92.4 * (MUNDEN_WALES / 4.2) * (MUNDEN_COURSES / 5.5))


def test_the_constants_agree_among_themselves() -> None:
    # Ks = Kc x Kw, Munden, Journal of the Textile Institute 50 (1959) T448: from memory
    assert pytest.approx(21.6, rel=0.01) == MUNDEN_COURSES * MUNDEN_WALES
