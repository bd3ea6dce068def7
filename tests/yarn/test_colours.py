"""The colour run: what lies where along the yarn."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.yarn import YarnError
from knitlog.yarn.colours import (
    ColourRun,
    ColourSegment,
    parse_colour,
    segment_index_at,
)

ROSE = ColourSegment("rose", 300, "#cc6677")
MOSS = ColourSegment("moss", 450, "#117733")
SNOW = ColourSegment("snow", 200, "#f4f4f8")
DUSK = ColourSegment("dusk", 100, "#332288")
RUN = ColourRun((ROSE, MOSS, SNOW))

runs = st.builds(
    lambda lengths, palindrome: ColourRun(
        tuple(ColourSegment(f"c{i}", length, "#000000") for i, length in enumerate(lengths)),
        palindrome,
    ),
    st.lists(st.floats(1, 3000), min_size=1, max_size=12),
    st.booleans(),
)


def segment_at(run: ColourRun, along_mm: float) -> ColourSegment:
    return run.unfolded[segment_index_at(run, along_mm)]


@pytest.mark.parametrize(
    ("along", "name"),
    [
        (0, "rose"),
        (299.99, "rose"),
        (300, "moss"),
        (749, "moss"),
        (750, "snow"),
        (949.9, "snow"),
        (950, "rose"),
        (950 * 7 + 310, "moss"),
        (-1, "snow"),
        (-201, "moss"),
    ],
)
def test_colours_by_hand(along: float, name: str) -> None:
    # rose 0-300, moss 300-750, snow 750-950, and again
    assert segment_at(RUN, along).name == name


def test_a_palindrome_comes_back_without_doubling_its_ends() -> None:
    run = ColourRun((ROSE, MOSS, SNOW, DUSK), palindrome=True)
    assert [s.name for s in run.unfolded] == ["rose", "moss", "snow", "dusk", "snow", "moss"]
    # 300 + 450 + 200 + 100 + 200 + 450
    assert run.repeat_length_mm == 1700
    assert segment_at(run, 1100).name == "snow"
    assert segment_at(run, 1300).name == "moss"
    assert segment_at(run, 1700).name == "rose"


def test_a_palindrome_of_two_is_the_same_run() -> None:
    assert ColourRun((ROSE, MOSS), palindrome=True).unfolded == (ROSE, MOSS)


@given(runs, st.floats(0, 1))
def test_a_palindrome_reads_the_same_mirrored_about_its_first_colour(
    run: ColourRun, share: float
) -> None:
    mirrored = ColourRun(run.segments, palindrome=True)
    length = mirrored.repeat_length_mm
    middle = mirrored.segments[0].length_mm / 2
    step = share * length
    # a hair either side of a boundary may fall either way: keep off the boundaries
    edges = (0.0, *mirrored.boundaries_mm)
    if all(
        abs((at - edge + length / 2) % length - length / 2) > 1e-6
        for edge in edges
        for at in (middle + step, middle - step)
    ):
        assert segment_at(mirrored, middle + step) == segment_at(mirrored, middle - step)


@given(runs)
def test_every_boundary_begins_the_next_segment(run: ColourRun) -> None:
    count = len(run.unfolded)
    for i, boundary in enumerate(run.boundaries_mm):
        assert segment_index_at(run, boundary) == (i + 1) % count
        assert segment_index_at(run, math.nextafter(boundary, 0)) == i


@given(runs, st.floats(0, 3e5), st.integers(1, 64))
def test_whole_repeats_change_nothing(run: ColourRun, along: float, times: int) -> None:
    length = run.repeat_length_mm
    # a whole number of millimetres and a power of two, so that the sum itself is exact
    whole = ColourRun((ColourSegment("a", round(length), "#000000"), MOSS))
    at = float(round(along))
    assert segment_index_at(whole, at) == segment_index_at(
        whole, at + times * whole.repeat_length_mm
    )


@given(runs, st.floats(allow_nan=False, allow_infinity=False))
def test_any_length_along_the_yarn_has_a_colour(run: ColourRun, along: float) -> None:
    assert 0 <= segment_index_at(run, along) < len(run.unfolded)


def test_tenths_of_a_millimetre_do_not_creep() -> None:
    # ten tenths make exactly one; added up one by one they make 0.9999999999999999
    run = ColourRun(tuple(ColourSegment(f"c{i}", 0.1, "#000000") for i in range(10)))
    assert run.repeat_length_mm == 1.0
    assert segment_index_at(run, 1.0) == 0


def test_senseless_segments_are_refused() -> None:
    with pytest.raises(YarnError, match="needs a name"):
        ColourSegment(" ", 300, "#cc6677")
    with pytest.raises(YarnError, match="'rose' must be above zero"):
        ColourSegment("rose", 0, "#cc6677")
    with pytest.raises(YarnError, match="#cc6677"):
        ColourSegment("rose", 300, "rose")
    with pytest.raises(YarnError, match="at least one colour"):
        ColourRun(())
    with pytest.raises(YarnError, match="plain number"):
        segment_index_at(RUN, math.nan)


def test_colours_are_read() -> None:
    assert parse_colour(" #CC6677 ") == "#cc6677"
    assert parse_colour("#c67") == "#cc6677"
    # W3C CSS Color Module Level 4, named colours
    assert parse_colour("Teal") == "#008080"
    assert parse_colour("grey") == parse_colour("gray") == "#808080"
    with pytest.raises(YarnError, match="not a colour"):
        parse_colour("#12345")
