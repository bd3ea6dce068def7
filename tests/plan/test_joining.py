"""Joining a skein, by hand arithmetic."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.plan.checks import PlanError
from knitlog.plan.joining import (
    YarnPoint,
    drift_with_new_repeat,
    plan_join,
    point_at,
)
from knitlog.yarn.colours import ColourRun, ColourSegment, segment_index_at

RUN = ColourRun(
    (
        ColourSegment("rose", 300, "#cc6677"),
        ColourSegment("moss", 450, "#117733"),
        ColourSegment("snow", 250, "#f4f4f8"),
    )
)
"""rose 0-300, moss 300-750, snow 750-1000; a repeat of 1 m."""
FOLDED = ColourRun(RUN.segments, palindrome=True)
"""rose 0-300, moss 300-750, snow 750-1000, moss 1000-1450; a repeat of 1.45 m."""


def test_a_join_by_hand() -> None:
    # the old yarn ends 50 mm into snow, at 800; less a tail of 150 it is let go at 650, which
    # is 350 into moss. The new skein begins at 100 in rose: 650 lies 550 on; 150 of that is
    # its tail, so 400 is cut off.
    plan = plan_join(RUN, 800, 100)
    assert plan.cut_mm == pytest.approx(400)
    assert plan.join_at == YarnPoint(1, 350)
    assert plan.join_colour.name == "moss"


def test_a_skein_that_begins_just_past_costs_nearly_a_repeat() -> None:
    # wanted is 500 (650 less the tail); it begins at 510, so 990 is cut
    assert plan_join(RUN, 800, 510).cut_mm == pytest.approx(990)


def test_a_skein_that_happens_to_fit_costs_nothing() -> None:
    plan = plan_join(RUN, 800, 500)
    assert plan.cut_mm == 0


def test_a_join_may_take_the_offset_out() -> None:
    # 5 stitches late at 12 mm: 60 mm of yarn is skipped
    without, mended = (
        plan_join(RUN, 800, 100),
        plan_join(RUN, 800, 100, offset_stitches=5, yarn_per_stitch_mm=12),
    )
    assert mended.cut_mm == pytest.approx(without.cut_mm + 60)
    assert mended.join_at == YarnPoint(1, 410)


def test_a_palindrome_may_be_wound_from_either_end() -> None:
    # let go at 650 of 1450. From its beginning at 700 the new skein wants
    # 650 - 150 - 700 = -200, so 1250 is cut. Its other end lies at 1000, which read backwards
    # is (300 - 1000) mod 1450 = 750 - wants 650 - 150 - 750 = -250: 1200, a little better.
    plan = plan_join(FOLDED, 800, 700, new_other_end_mm=1000)
    assert plan.from_other_end
    assert plan.cut_mm == pytest.approx(1200)
    assert plan.from_other_end
    # and when the beginning is the better one, it is kept
    assert not plan_join(FOLDED, 800, 480, new_other_end_mm=1000).from_other_end


phases = st.floats(0, 999.9)


@given(phases, phases, st.floats(0, 300), st.floats(-10, 10))
def test_the_new_yarn_shows_what_the_old_would_have(
    old_end: float, new_start: float, tail: float, offset: float
) -> None:
    plan = plan_join(
        RUN, old_end, new_start, tail_mm=tail, offset_stitches=offset, yarn_per_stitch_mm=12
    )
    assert 0 <= plan.cut_mm < RUN.repeat_length_mm
    # the new strand past its cut and tail, against the old at its tail and the offset on
    new = new_start + plan.cut_mm + tail
    old = old_end - tail + 12 * offset
    apart = (new - old) / RUN.repeat_length_mm
    assert apart == pytest.approx(round(apart), abs=1e-6)


@given(st.floats(0, 1449), st.floats(0, 1449), st.floats(0, 1449), st.floats(1, 1400))
def test_a_palindrome_from_its_other_end_shows_the_right_colours(
    old_end: float, new_start: float, other_end: float, along: float
) -> None:
    plan = plan_join(FOLDED, old_end, new_start, tail_mm=0, new_other_end_mm=other_end)
    wanted = old_end + along
    # read from the other end the strand runs backwards through the run
    shown = (
        other_end - plan.cut_mm - along if plan.from_other_end else new_start + plan.cut_mm + along
    )
    edges = (0.0, *FOLDED.boundaries_mm)
    length = FOLDED.repeat_length_mm
    if all(
        abs((at - edge + length / 2) % length - length / 2) > 1e-6
        for at in (wanted, shown)
        for edge in edges
    ):
        names = [FOLDED.unfolded[segment_index_at(FOLDED, at)].name for at in (shown, wanted)]
        assert names[0] == names[1]


@given(phases)
def test_a_point_lies_as_far_into_its_colour_as_the_length_says(phase: float) -> None:
    point = point_at(RUN, phase)
    # rose 0-300, moss 300-750, snow 750-1000
    assert (0, 300, 750)[point.index] + point.into_mm == pytest.approx(phase)


def test_points_by_hand() -> None:
    assert point_at(RUN, 800) == YarnPoint(2, 50)
    assert point_at(RUN, 1300) == YarnPoint(1, 0)


def test_joins_waste_half_a_repeat_on_average() -> None:
    # over skeins that begin anywhere, evenly: the mean cut is half a repeat
    cuts = [plan_join(RUN, 800, start + 0.5).cut_mm for start in range(1000)]
    assert sum(cuts) / len(cuts) == pytest.approx(500, abs=1)


def test_a_longer_repeat_makes_the_colours_come_late() -> None:
    # 128 + 0 stitches to 1524 mm; 1540 mm is 1.05 % more: 128 x 1540/1524 - 128 = 1.344
    assert drift_with_new_repeat(0, 128, 1524, 1540) == pytest.approx(1.344, abs=1e-3)


def test_senseless_joins_are_refused() -> None:
    for call in (
        lambda: plan_join(RUN, 800, 100, tail_mm=-1),
        lambda: plan_join(RUN, 800, 100, offset_stitches=2),
        lambda: plan_join(RUN, 800, 100, new_other_end_mm=3),
        lambda: drift_with_new_repeat(0, 128, 0, 1524),
    ):
        with pytest.raises(PlanError):
            call()
