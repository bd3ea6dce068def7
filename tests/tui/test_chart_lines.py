"""The chart, line by line: what stands where, told by the characters alone."""

import pytest

from knitlog.analysis.analysis import analyse
from knitlog.journal.actions import add_note, ask_tension, change_needle, log_round, take_new_home
from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library
from knitlog.tui import marks
from knitlog.tui.chart_data import ChartData, ChartMark, Dot, Place, gather
from knitlog.tui.chart_lines import (
    LEFT_GUTTER,
    Run,
    Scale,
    axis_lines,
    choose_scale,
    round_line,
)


def text(runs: list[Run]) -> str:
    return "".join(run.text for run in runs)


def plot(data: ChartData, number: int, scale: Scale) -> str:
    return text(round_line(data, scale, number, number))[LEFT_GUTTER : LEFT_GUTTER + scale.width]


SCALE = Scale(step=1.0, home=20, width=41)


def one(dot: Dot | None = None, place: Place | None = None, tolerance: float = 3.0) -> ChartData:
    return ChartData(
        tolerance,
        last_round=1,
        dots={1: (dot,)} if dot else {},
        places={1: place} if place else {},
    )


def test_past_its_place_lies_to_the_left_as_stitch_1_is_at_the_right():
    # knitting charts number stitches from the right (common practice)
    assert plot(one(Dot(1, 5.0)), 1, SCALE).index("●") == 15
    assert plot(one(Dot(1, -5.0)), 1, SCALE).index("●") == 25


def test_the_line_of_a_round_in_full():
    data = ChartData(
        3.0,
        last_round=12,
        dots={12: (Dot(1, 5.0),)},
        happenings={12: (ChartMark(marks.FIX, "fix -9"),)},
    )
    line = text(round_line(data, Scale(1.0, 20, 31), 12, 12))
    assert line == "× fix -9                 ● :  │  :          12 "


def test_home_and_tolerance_stand_in_every_line():
    line = plot(ChartData(3.0), 1, SCALE)
    assert [i for i, c in enumerate(line) if c == ":"] == [17, 23]
    assert line.index("│") == 20


def test_each_colour_change_has_its_own_mark():
    data = ChartData(3.0, 1, dots={1: (Dot(1, 8.0), Dot(2, -8.0))})
    line = plot(data, 1, SCALE)
    assert (line.index("●"), line.index("■")) == (12, 28)


def test_a_doubtful_reading_is_marked_by_shape():
    assert plot(one(Dot(1, 5.0, doubtful=True)), 1, SCALE)[15] == "?"


def test_a_round_not_read_shows_where_it_is_expected_and_how_far_off_it_may_be():
    assert plot(one(place=Place(6.0, 4.0, 8.0)), 1, SCALE)[12:17] == "░░○░░"


def test_the_fitted_place_shows_where_the_reading_is_elsewhere():
    data = ChartData(3.0, 1, dots={1: (Dot(1, 8.0),)}, places={1: Place(6.0, 5.0, 7.0)})
    assert plot(data, 1, SCALE)[12:15] == "● ·"
    data = ChartData(3.0, 1, dots={1: (Dot(1, 6.2),)}, places={1: Place(6.0, 5.0, 7.0)})
    assert "·" not in plot(data, 1, SCALE)


@pytest.mark.parametrize(("offset", "mark", "column"), [(99.0, "◄", 0), (-99.0, "►", 40)])
def test_beyond_the_edge_is_marked_at_the_edge(offset, mark, column):
    assert plot(one(Dot(1, offset)), 1, SCALE)[column] == mark


def test_a_doubtful_reading_beyond_the_edge_keeps_its_mark():
    assert plot(one(Dot(1, 99.0, doubtful=True)), 1, SCALE)[0] == "?"


def test_the_next_round_is_pointed_at():
    data = ChartData(3.0, last_round=11)
    assert text(round_line(data, SCALE, 12, 12)).endswith("12◄")
    assert text(round_line(data, SCALE, 11, 11)).endswith("11 ")


def test_a_finished_project_has_no_next_round_to_point_at():
    data = ChartData(3.0, last_round=11, finished=True)
    assert text(round_line(data, SCALE, 12, 12)).endswith("12 ")


def test_several_happenings_shrink_to_their_marks():
    happened = tuple(ChartMark(m, "words") for m in (marks.FIX, marks.NOTE, marks.NOTE))
    data = ChartData(3.0, 1, happenings={1: happened})
    assert text(round_line(data, SCALE, 1, 1)).startswith("×*  ")


def test_several_rounds_on_one_line_show_all_their_readings():
    data = ChartData(3.0, 5, dots={n: (Dot(1, float(n)),) for n in range(1, 6)})
    line = text(round_line(data, SCALE, 1, 5))
    assert line.count("●") == 5
    assert line.endswith("5 ")


def test_every_kind_of_thing_is_told_without_colour():
    data = ChartData(
        3.0,
        3,
        dots={1: (Dot(1, 8.0),), 2: (Dot(1, 8.0, doubtful=True),)},
        places={1: Place(5.0, 4.0, 6.0), 3: Place(8.0, 6.0, 10.0)},
        happenings={3: (ChartMark(marks.NOTE, "note"),)},
    )
    seen: dict[str, set[str]] = {}
    for number in (1, 2, 3):
        for run in round_line(data, SCALE, number, number):
            if run.part not in ("blank", "axis", "next", "deed"):
                seen.setdefault(run.part, set()).update(run.text)
    characters = [c for found in seen.values() for c in found]
    assert len(characters) == len(set(characters))
    assert set(seen) == {"home", "edge", "spread", "expected", "reading", "doubt"}


def test_all_lines_are_as_long_as_the_chart_is_wide():
    data = ChartData(3.0, 3, dots={1: (Dot(1, 99.0),)}, places={2: Place(0.0, -99.0, 99.0)})
    lengths = {len(text(round_line(data, SCALE, n, n))) for n in range(1, 5)}
    lengths |= {len(text(line)) for line in axis_lines(SCALE, "home 37")}
    assert len(lengths) == 1


def test_the_scale_names_home_and_both_ways():
    upper, lower = (text(line) for line in axis_lines(SCALE, "home 37"))
    assert upper.index("0") == LEFT_GUTTER + 20 or upper[LEFT_GUTTER + 20] == "0"
    assert upper.index("+10") < upper.index("-10")
    assert lower.index("past") < lower.index("home 37") < lower.index("short")


@pytest.mark.parametrize("width", [12, 24, 30, 60, 120])
def test_the_scale_shows_the_tolerance_and_what_was_read(width):
    data = ChartData(4.0, 2, dots={1: (Dot(1, 31.0),), 2: (Dot(1, -2.0),)})
    scale = choose_scale(data, width)
    for offset in (31.0, -2.0, 4.0, -4.0):
        assert 0 <= scale.column(offset) < width


def test_the_scale_is_finer_where_there_is_less_to_show():
    near = choose_scale(one(Dot(1, 1.0)), 40)
    far = choose_scale(one(Dot(1, 60.0)), 40)
    assert near.step < far.step


def test_a_doubtful_reading_does_not_squeeze_the_chart():
    plain = choose_scale(one(Dot(1, 1.0)), 40)
    assert choose_scale(one(Dot(1, 60.0, doubtful=True)), 40) == plain


def test_a_reading_beyond_the_widest_scale_is_still_drawn():
    scale = choose_scale(one(Dot(1, 1e9)), 20)
    assert "◄" in plot(one(Dot(1, 1e9)), 1, scale)


def test_what_happened_stands_beside_its_round(library: Library):
    journal = library.create("Hut hat", make_facts(stitches=128, needle_mm=4.5))
    for stitch in (31, 33, 35, 37, 39):
        log_round(journal, [stitch])
    ask_tension(journal, 2.0)
    take_new_home(journal, from_round=6)
    change_needle(journal, 5.0)
    log_round(journal, [41])
    add_note(journal, "by the fire", round_number=6)
    beside = gather(analyse(journal.state, with_advice=False)).happenings
    assert set(beside[6]) == {
        ChartMark("±", "+2 %"),
        ChartMark("»", "place"),
        ChartMark("Ø", "5 mm"),
        ChartMark("*", "note"),
    }
