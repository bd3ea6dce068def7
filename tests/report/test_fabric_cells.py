"""Fabrics in character cells: the shape of a stitch, and which stitch is where."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.plan.run_notation import parse_colour_run
from knitlog.plan.stitch_colours import Fabric, as_drawn, knit_fabric
from knitlog.plan.yarn_path import carry_on
from knitlog.report.fabric_cells import (
    ZOOMS,
    FabricScale,
    column_of,
    extent,
    fitting_zoom,
    label_step,
    lettered_line,
    letters_of,
    line_of,
    painted_line,
    round_at,
    round_label,
    rounds_in,
    rounds_in_half_cell,
    scale_of,
    stitch_ruler,
    stitches_at,
)
from tests.plan.paths import knit_on

RUN = parse_colour_run("rose 4cm, moss 3cm, snow 3cm")


def small(rounds: int = 3, drift: float = 0.0, *, flat: bool = False) -> Fabric:
    return knit_fabric(RUN, carry_on(0.0, drift, 10, rounds), flat=flat)


def test_a_stitch_has_the_shape_of_the_gauge_at_every_zoom() -> None:
    # fully relaxed plain knitting: Kw 4.2, Kc 5.5 (Munden 1959), so height / width = 4.2 / 5.5
    for zoom in ZOOMS:
        scale = scale_of(zoom, 4.2 / 5.5)
        # a cell is twice as tall as wide, so in cell widths a round is 2 * lines tall
        assert 2 * scale.lines / scale.columns == pytest.approx(4.2 / 5.5)


def test_round_1_is_at_the_bottom_and_stitch_1_at_the_right() -> None:
    fabric = small(2)
    scale = scale_of(1, 2.0)  # one column a stitch and one line a round
    text = [
        "".join(p.text for p in lettered_line(fabric, ("R", "M", "S"), scale, line, 10))
        for line in (0, 1)
    ]
    assert text == ["SSSMMMRRRR"] * 2
    assert as_drawn(fabric.cells)[0].tolist() == [2, 2, 2, 1, 1, 1, 0, 0, 0, 0]


def test_flat_rows_are_mirrored() -> None:
    fabric = knit_fabric(RUN, carry_on(0.0, 0.0, 10, 2), flat=True)
    scale = scale_of(1, 2.0)
    rows = [
        "".join(p.text for p in lettered_line(fabric, ("R", "M", "S"), scale, line, 10))
        for line in (0, 1)
    ]
    assert rows == ["SSSMMMRRRR", "RRRRMMMSSS"]


def test_the_edge_between_two_rounds_is_set_to_an_eighth() -> None:
    # three quarters of a line a round: round 1 fills 6 eighths of line 0
    assert rounds_in(scale_of(2, 0.75), 0) == (0, 1, 6)
    # then round 2 up to line 1.5 and round 3 from there
    assert rounds_in(scale_of(2, 0.75), 1) == (1, 2, 4)
    # one and a half lines a round: line 0 is round 1 alone
    assert rounds_in(scale_of(4, 0.75), 0) == (0, 0, 8)
    assert rounds_in(scale_of(4, 0.75), 1) == (0, 1, 4)


def test_blocks_carry_the_lower_round_as_ink_and_the_upper_as_ground() -> None:
    fabric = small(2, drift=1.0)
    pieces = painted_line(fabric, scale_of(2, 0.75), 0, 20)
    seen = [(p.text[n], p.ink, p.ground) for p in pieces for n in range(len(p.text))]
    # drift 1: rose (0) to stitch 4, then snow (2) to stitch 1 and rose to 5 in round 2
    for column, (mark, ink, ground) in enumerate(reversed(seen)):
        below, above = fabric.cells[0, column // 2], fabric.cells[1, column // 2]
        expected = (" ", None, above) if below == above else ("▆", below, above)  # 6 eighths
        assert (mark, ink, ground) == expected
    assert {mark for mark, _, _ in seen} == {" ", "▆"}


@given(
    st.sampled_from(ZOOMS),
    st.integers(1, 40),
    st.integers(0, 30),
    st.integers(0, 60),
    st.booleans(),
)
def test_every_line_is_exactly_as_wide_as_asked(
    zoom: float, width: int, skip: int, line: int, flat: bool
) -> None:
    fabric = small(7, drift=0.4, flat=flat)
    scale = scale_of(zoom, 0.76)
    letters = letters_of(fabric)
    for pieces in (
        painted_line(fabric, scale, line, width, skip),
        lettered_line(fabric, letters, scale, line, width, skip),
    ):
        assert sum(len(piece.text) for piece in pieces) == width
    assert len(stitch_ruler(scale, fabric.stitches, width, skip)) == width


@given(st.sampled_from([z for z in ZOOMS if z >= 1]), st.integers(1, 200))
def test_a_column_leads_back_to_its_stitch_and_a_line_to_its_round(
    zoom: float, number: int
) -> None:
    scale = scale_of(zoom, 2.0)
    assert stitches_at(scale, np.array([column_of(scale, number)]))[0] == number - 1
    assert round_at(scale, line_of(scale, number)) == number


def by_hand(fabric: Fabric, scale: FabricScale, line: float, lines: float) -> list[int]:
    """The commonest colour of each column, counted cell by cell in plain Python."""
    shown = []
    for column in range(math.ceil(fabric.stitches * scale.columns)):
        votes = [0] * len(fabric.palette)
        for row in range(fabric.rounds):
            for stitch in range(fabric.stitches):
                here = column <= (stitch + 0.5) * scale.columns < column + 1
                if here and line <= (row + 0.5) * scale.lines < line + lines:
                    votes[fabric.cells[row, stitch]] += 1
        shown.append(votes.index(max(votes)))
    return shown[::-1]


@pytest.mark.parametrize("zoom", [1 / 2, 1 / 3, 1 / 4])
@pytest.mark.parametrize("flat", [False, True])
def test_from_farther_off_half_a_cell_shows_the_commonest_colour(zoom: float, flat: bool) -> None:
    errors = np.random.default_rng(3).normal(0.0, 6.0, 24)
    fabric = knit_fabric(RUN, carry_on(0.0, 7.3, 30, 24, errors), flat=flat)
    scale = scale_of(zoom, 0.76)
    assert rounds_in_half_cell(scale) > 1
    columns, lines = extent(fabric, scale)
    for line in range(lines - 1):
        pieces = painted_line(fabric, scale, line, columns)
        for half, lowest in ((0.0, True), (0.5, False)):
            seen = [
                piece.ink if lowest and piece.text.strip() else piece.ground
                for piece in pieces
                for _ in piece.text
            ]
            assert seen == by_hand(fabric, scale, line + half, 0.5)
        letters = "".join(
            p.text for p in lettered_line(fabric, ("R", "M", "S"), scale, line, columns)
        )
        assert letters == "".join("RMS"[n] for n in by_hand(fabric, scale, line, 1.0))


@given(st.sampled_from([0.5, 0.6, 0.76, 1.0, 1.14, 2.0]), st.integers(1, 30))
def test_at_two_rounds_a_line_or_fewer_every_round_is_seen(lines: float, rounds: int) -> None:
    # every round a colour of its own: each must be painted somewhere
    cells = np.repeat(np.arange(rounds)[:, np.newaxis], 3, axis=1)
    names = tuple(f"c{n}" for n in range(rounds))
    fabric = Fabric(cells, ("#000000",) * rounds, names, flat=False)
    scale = FabricScale(1.0, lines)
    assert rounds_in_half_cell(scale) == 1
    seen = set()
    for line in range(extent(fabric, scale)[1]):
        for piece in painted_line(fabric, scale, line, 3):
            seen |= {piece.ink, piece.ground}
    assert seen - {None} == set(range(rounds))


def test_a_scramble_from_farther_off_is_no_stripe() -> None:
    # three colours by turns, row by row: picking every third row would make it one colour
    cells = np.repeat((np.arange(48) % 3)[:, np.newaxis], 8, axis=1)
    fabric = Fabric(cells, ("#000000", "#777777", "#ffffff"), ("a", "b", "c"), flat=False)
    scale = FabricScale(1.0, 1 / 8)  # four rounds in half a cell: one colour of three comes twice
    seen = [piece.ink for line in range(6) for piece in painted_line(fabric, scale, line, 8)]
    assert set(seen) == {0, 1, 2}


def test_colours_met_twice_in_a_run_count_as_one() -> None:
    # one round of out, back and middle: out and back are one colour, and commonest
    fabric = Fabric(
        np.array([[0], [1], [1], [2], [2]]),
        ("#aa0000", "#00aa00", "#aa0000"),
        ("a", "b", "a"),
        False,
    )
    (piece,) = lettered_line(fabric, ("A", "B", "A"), FabricScale(1.0, 0.2), 0, 1)
    assert piece.text == "A"


def test_the_largest_zoom_that_fits_is_found() -> None:
    assert fitting_zoom(20, 10, 0.75, 80, 20) == 4.0
    assert fitting_zoom(21, 10, 0.75, 80, 20) == 3.0
    assert fitting_zoom(20, 20, 0.75, 80, 20) == 2.0  # 20 rounds at 3 columns are 22.5 lines
    assert fitting_zoom(10_000, 10, 0.75, 80, 20) == ZOOMS[0]
    columns, lines = extent(small(10), scale_of(4, 0.75))
    assert (columns, lines) == (40, 15)


def test_labels_never_run_together() -> None:
    assert label_step(1.0, 6) == 10
    assert label_step(4.0, 6) == 2
    assert label_step(0.01, 6) == 1000
    ruler = stitch_ruler(scale_of(1, 0.76), 128, 128)
    assert [int(number) for number in ruler.split()] == [*range(120, 0, -10), 1]
    # the middle of a number stands under its stitch, counted from the right
    assert ruler[128 - 60 :].startswith("60")
    assert ruler.endswith("1")


def test_rounds_are_numbered_once_each() -> None:
    for zoom in ZOOMS:
        scale = scale_of(zoom, 0.76)
        fabric = small(60)
        labels = [round_label(scale, 60, line) for line in range(extent(fabric, scale)[1])]
        found = [label for label in labels if label is not None]
        assert found == sorted(set(found))
        assert found[-1] % label_step(scale.lines, 2) == 0


def test_where_a_round_is_narrower_there_is_no_stitch() -> None:
    path = knit_on(carry_on(0.0, 0.0, 10, 1), carry_on(0.0, 0.0, 12, 1))
    fabric = knit_fabric(RUN, path)
    pieces = lettered_line(fabric, letters_of(fabric), scale_of(1, 2.0), 0, 12)
    assert pieces[0].text == "  "
    assert pieces[0].ground is None
