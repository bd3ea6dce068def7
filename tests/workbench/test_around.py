"""The parts of the round in words."""

import numpy as np
import pytest

from knitlog.drift import DriftLog, Reading, Stint, fit
from knitlog.workbench.around import around_the_round


def log_of(second: float) -> DriftLog:
    """Two repeats of 750 mm on 128 stitches; the second change falls at ``second``."""
    rng = np.random.default_rng(3)
    readings = [
        Reading(number, home + float(rng.normal(0.0, 0.4)), change)
        for number in range(1, 15)
        for change, home in ((1, 30.0), (2, second))
    ]
    return DriftLog(tuple(readings), (Stint(1, 128),), repeats=2, repeat_length_mm=750.0)


def test_a_tighter_half_is_told_as_less_yarn() -> None:
    # by hand: 750 mm in 66 stitches against 1500 in 128, 11.364 / 11.719: 3.0 % less; and
    # 750 in 62, 12.097: 3.2 % more.  Readings vary by 0.4, a home's mean of 14 by 0.15 or 0.3 %
    (first, told), (second, other) = around_the_round(fit(log_of(96.0)))
    assert (first, second) == ("Change 1 to change 2", "Change 2 to change 1")
    size, _, words = told.partition(" ")
    assert float(size) == pytest.approx(3.0, abs=0.7)
    assert words.startswith("% less yarn a stitch than the round (")
    size, _, words = other.partition(" ")
    assert float(size) == pytest.approx(3.2, abs=0.7)
    assert words.startswith("% more yarn a stitch than the round (")


def test_even_halves_are_told_as_alike() -> None:
    for _, told in around_the_round(fit(log_of(94.0))):
        assert told.startswith("as much yarn a stitch as the round, to within ")


def test_one_change_a_round_tells_nothing() -> None:
    log = DriftLog((Reading(1, 30.0), Reading(2, 31.0)), (Stint(1, 128),))
    assert list(around_the_round(fit(log))) == []
