"""The fabric: every stitch by hand on small pieces, and properties on larger ones."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.plan.checks import PlanError
from knitlog.plan.stitch_colours import (
    NO_STITCH,
    as_drawn,
    knit_fabric,
    yarn_positions,
)
from knitlog.plan.yarn_path import YarnPath, carry_on, tension_errors
from knitlog.yarn.colours import ColourRun, ColourSegment, segment_index_at
from tests.plan.paths import knit_on, stacked_share

RUN = ColourRun(
    (
        ColourSegment("rose", 30, "#cc6677"),
        ColourSegment("moss", 50, "#117733"),
        ColourSegment("snow", 20, "#f4f4f8"),
    )
)
"""A repeat of 100 mm: with 10 stitches a round and no drift, 10 mm a stitch."""


def lines(cells: np.ndarray) -> list[str]:  # type: ignore[type-arg]
    return ["".join("rms."[i] for i in row) for row in cells]


def test_without_drift_every_round_is_the_same() -> None:
    fabric = knit_fabric(RUN, carry_on(0, 0, 10, 3))
    assert lines(fabric.cells) == ["rrrmmmmmss"] * 3
    assert fabric.palette == ("#cc6677", "#117733", "#f4f4f8")
    assert stacked_share(fabric) == 1.0


def test_stitches_too_small_move_the_colours_on() -> None:
    # drift +1 on 9 stitches: a repeat takes 10 of 10 mm; each round begins 90 mm further, so
    # the change to moss lands at stitch 3, 4, 5; the last stitch begins the repeat's end again
    fabric = knit_fabric(RUN, carry_on(0, 1, 9, 3))
    assert lines(fabric.cells) == ["rrrmmmmms", "srrrmmmmm", "ssrrrmmmm"]


def test_stitches_too_large_bring_them_sooner() -> None:
    # drift -1 on 11 stitches of 10 mm
    fabric = knit_fabric(RUN, carry_on(0, -1, 11, 3))
    assert lines(fabric.cells) == ["rrrmmmmmssr", "rrmmmmmssrr", "rmmmmmssrrr"]


def test_an_offset_starts_the_colours_late() -> None:
    # two stitches late: the repeat's last 20 mm come first
    fabric = knit_fabric(RUN, carry_on(2, 0, 10, 2))
    assert lines(fabric.cells) == ["ssrrrmmmmm"] * 2


def test_what_is_worked_in_by_hand_is_gone_from_the_next_round_on() -> None:
    # two stitches late; after round 2 the yarn of two stitches goes into it unseen
    path = replace(carry_on(2, 0, 10, 4), taken_out=np.array([0.0, 2.0, 0.0, 0.0]))
    fabric = knit_fabric(RUN, path)
    assert lines(fabric.cells) == [*["ssrrrmmmmm"] * 2, *["rrrmmmmmss"] * 2]


def test_two_repeats_a_round() -> None:
    # 20 stitches, two repeats: 10 mm each
    fabric = knit_fabric(RUN, carry_on(0, 0, 20, 1), 2)
    assert lines(fabric.cells) == ["rrrmmmmmss" * 2]


def test_rows_worked_flat_run_back_and_forth() -> None:
    # the yarn shows rrrmmmmmss in knitting order every row; even rows come back
    fabric = knit_fabric(RUN, carry_on(0, 0, 10, 3), flat=True)
    assert lines(fabric.cells) == ["rrrmmmmmss", "ssmmmmmrrr", "rrrmmmmmss"]


def test_a_folded_run_stacks_in_flat_rows_of_half_a_repeat() -> None:
    # rose 20, moss 50, snow 20, moss 50 back: 140 mm. From rose's middle, 7 stitches of 10 mm
    # go out to snow's middle and the next 7 come back over them
    folded = ColourRun(
        (
            ColourSegment("rose", 20, "#cc6677"),
            ColourSegment("moss", 50, "#117733"),
            ColourSegment("snow", 20, "#f4f4f8"),
        ),
        palindrome=True,
    )
    fabric = knit_fabric(folded, carry_on(0, 0, 7, 4), 0.5, flat=True, start_mm=10)
    names = [[fabric.names[i] for i in row] for row in fabric.cells]
    assert names == [["rose", *["moss"] * 5, "snow"]] * 4
    assert stacked_share(fabric) == 1.0
    # in the round the same yarn does not stack
    assert stacked_share(knit_fabric(folded, carry_on(0, 0, 7, 4), 0.5, start_mm=10)) < 1.0


def test_drawn_from_the_bottom_right() -> None:
    fabric = knit_fabric(RUN, carry_on(0, 1, 9, 3))
    # round 1 at the bottom, stitch 1 at the right: each line backwards, last round first
    assert lines(as_drawn(fabric.cells)) == ["mmmmrrrss", "mmmmmrrrs", "smmmmmrrr"]


def test_a_new_stitch_count_widens_the_fabric() -> None:
    knitted = carry_on(0, 1, 9, 2)
    path = knit_on(knitted, carry_on(2.0, 0, 10, 2))
    fabric = knit_fabric(RUN, path)
    assert lines(fabric.cells) == ["rrrmmmmms.", "srrrmmmmm.", "ssrrrmmmmm", "ssrrrmmmmm"]
    assert (fabric.cells == NO_STITCH).sum() == 2
    # read off the lines: 6 of 9 stitches sit on their own colour, then 7 of 9, then 10 of 10
    assert stacked_share(fabric) == pytest.approx((6 + 7 + 10) / 28)


def test_a_new_stitch_count_worked_flat_keeps_the_right_edge() -> None:
    knitted = carry_on(0, 1, 9, 2)
    path = knit_on(knitted, carry_on(2.0, 0, 10, 1))
    fabric = knit_fabric(RUN, path, flat=True)
    assert lines(fabric.cells) == ["rrrmmmmms.", "mmmmmrrrs.", "ssrrrmmmmm"]


runs = st.builds(
    lambda lengths, palindrome: ColourRun(
        tuple(ColourSegment(f"c{i}", mm, "#000000") for i, mm in enumerate(lengths)), palindrome
    ),
    st.lists(st.integers(50, 900), min_size=1, max_size=8),
    st.booleans(),
)


@given(
    runs,
    st.floats(-5, 5),
    st.floats(-4, 4),
    st.integers(20, 200),
    st.integers(1, 30),
    st.sampled_from([0.5, 1, 2]),
    st.booleans(),
    st.integers(0, 50),
)
def test_every_stitch_is_what_the_yarn_shows_there(
    run: ColourRun,
    offset: float,
    drift: float,
    stitches: int,
    rounds: int,
    repeats: float,
    flat: bool,
    seed: int,
) -> None:
    # the same, stitch by stitch in plain Python: the yarn is simply paid out
    path = carry_on(offset, drift, stitches, rounds, tension_errors(rounds, 0.7, seed))
    fabric = knit_fabric(run, path, repeats, flat=flat, start_mm=7.0)
    length = run.repeat_length_mm
    at = 7.0 - offset * repeats * length / (stitches + path.drifts[0])
    for r in range(rounds):
        each = repeats * length / (stitches + path.drifts[r])
        row = []
        for _ in range(stitches):
            row.append((at + each / 2) % length)
            at += each
        if flat and r % 2 == 1:
            row.reverse()
        shown = [segment_index_at(run, along) for along in row]
        near_edge = [
            min(abs(along - edge) for edge in (0.0, *run.boundaries_mm)) < 1e-6 for along in row
        ]
        for cell, plain, skip in zip(fabric.cells[r], shown, near_edge, strict=True):
            assert skip or cell == plain


@given(runs, st.integers(20, 200), st.integers(2, 40), st.sampled_from([1, 2, 3]))
def test_at_the_target_the_colours_stack(
    run: ColourRun, stitches: int, rounds: int, repeats: int
) -> None:
    # start a little in so that no stitch's middle falls on a boundary
    fabric = knit_fabric(run, carry_on(0, 0, stitches, rounds), repeats, start_mm=math.pi / 10)
    assert stacked_share(fabric) > 0.97


@given(st.floats(-3, 3), st.integers(60, 200), st.integers(2, 20))
def test_the_change_moves_by_the_drift_each_round(drift: float, stitches: int, rounds: int) -> None:
    # where the first colour gives way, read off the cells, is where the path says, to a stitch
    run = ColourRun((ColourSegment("a", 500, "#000000"), ColourSegment("b", 500, "#ffffff")))
    fabric = knit_fabric(run, carry_on(0, drift, stitches, rounds))
    home = (stitches + drift) / 2
    for r in range(rounds):
        expected = home + r * drift
        if 1 < expected < stitches - 1 and abs(r * drift) < stitches / 4:
            row = fabric.cells[r]
            changes = [j for j in range(1, stitches) if row[j - 1] == 0 and row[j] == 1]
            assert any(abs(j - expected) <= 0.51 for j in changes)


def test_yarn_runs_on_without_a_gap() -> None:
    stands = np.array([0.0, 2.0, 1.0, 4.0])
    path = YarnPath(stands, np.array([2.0, -1.0, 3.0, 3.0]), np.full(4, 100), np.zeros(4))
    begins, each = yarn_positions(path, 1, 1524.0)
    assert np.diff(begins) == pytest.approx(100 * each[:-1])
    # after 100 + 2 stitches at this yarn the first repeat is used up
    assert each[0] * 102 == pytest.approx(1524)


def test_a_large_fabric_is_quick() -> None:
    # 2,000 rounds of 400 stitches in one go: no loop over stitches
    fabric = knit_fabric(RUN, carry_on(0, 0.3, 400, 2000, tension_errors(2000, 0.7, 1)))
    assert fabric.cells.shape == (2000, 400)
    assert set(np.unique(fabric.cells)) == {0, 1, 2}
    # colours come in the shares of their lengths
    shares = np.bincount(fabric.cells.ravel()) / fabric.cells.size
    assert shares == pytest.approx([0.3, 0.5, 0.2], abs=0.01)


def test_senseless_fabrics_are_refused() -> None:
    with pytest.raises(PlanError, match="repeats a round"):
        knit_fabric(RUN, carry_on(0, 0, 10, 2), 0)
    with pytest.raises(PlanError, match="too many to draw"):
        knit_fabric(RUN, carry_on(0, 0, 100_000, 1000))
