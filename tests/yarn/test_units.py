"""Lengths, weights and yarn counts as typed and as shown."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.typed.measures import parse_length
from knitlog.yarn.units import (
    format_length,
)


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
