"""A project's history in character cells, against the readings and the journal themselves."""

import doctest
from pathlib import Path

import pytest

from knitlog.analysis.project_review import review
from knitlog.journal.store import JournalFile
from knitlog.report import drawing, history_drawing
from knitlog.report.drawing import LETTERS, Axis, Dots, Means, Stroke
from knitlog.report.history import RoundHistory, fabric_pair, history_of
from knitlog.report.history_drawing import HistoryDrawing, PairDrawing, rows_of
from knitlog.report.review_words import body_parts

SAMPLES = Path(__file__).parents[2] / "sample_logs"
SHARP = Means(sharp=True, colour=True)
WIDTHS = (40, 76, 100)


@pytest.fixture(scope="module", params=["history/03-storm-week-yoke", "needle-changed"])
def told(request: pytest.FixtureRequest) -> RoundHistory:
    found = review(JournalFile.open(SAMPLES / f"{request.param}.knitlog").state)
    assert found.fit is not None
    return history_of(found.state, found.fit)


def text(lines: list[list[Stroke]]) -> list[str]:
    return ["".join(stroke.text for stroke in line) for line in lines]


def test_the_examples_are_right() -> None:
    for module in (drawing, history_drawing):
        assert doctest.testmod(module).attempted
        assert doctest.testmod(module).failed == 0


@pytest.mark.parametrize("means", [LETTERS, SHARP], ids=["letters", "sharp"])
@pytest.mark.parametrize("width", WIDTHS)
def test_it_keeps_to_its_width(told: RoundHistory, width: int, means: Means) -> None:
    for line in text(list(HistoryDrawing(told).lines(width, 14, means))):
        assert len(line) <= width, line


def test_letters_are_plain_ascii(told: RoundHistory) -> None:
    assert "\n".join(text(list(HistoryDrawing(told).lines(76, 14, LETTERS)))).isascii()


def test_a_reading_stands_on_its_round_and_at_its_offset(told: RoundHistory) -> None:
    count = len(told.rounds)
    lines = text(list(HistoryDrawing(told).lines(100, count, LETTERS)))
    ruler = next(line for line in lines if line.split() and line.split()[0].startswith("+"))
    zero = next(i for i in range(len(ruler)) if ruler[i] == "0" and ruler[i - 1] == " ")
    for reading in told.readings:
        if reading.doubtful:
            continue
        line = lines[1 + count - 1 - (reading.round - int(told.rounds[0]))]
        # past its place stands left of the place, short of it right, as on a knitting chart
        at = line.index("o", 4)
        if abs(reading.offset) > 1.0:
            assert (at < zero) == (reading.offset > 0), (reading, line)


def test_everything_that_happened_is_marked_and_told(told: RoundHistory) -> None:
    lines = text(list(HistoryDrawing(told).lines(100, len(told.rounds), LETTERS)))
    plot, key = lines[1 : 1 + len(told.rounds)], " ".join(lines[1 + len(told.rounds) :])
    assert told.marks
    for mark in told.marks:
        _, letter, words = history_drawing.MARKS[mark.what]
        line = plot[len(plot) - 1 - (mark.round - int(told.rounds[0]))]
        assert letter in line[:4]
        assert f"{letter} {words}" in key


def test_the_path_reaches_over_the_place_of_every_round(told: RoundHistory) -> None:
    drawn = list(HistoryDrawing(told).lines(76, 14, SHARP))
    braille = [c for line in text(drawn) for c in line if 0x2800 < ord(c) < 0x2900]
    assert len(braille) > 20
    # every line of the plot shows the drift's path at the right
    rows = rows_of(int(told.rounds[0]), int(told.rounds[-1]), 14)
    for line in text(drawn)[1 : 1 + rows.lines]:
        assert any(0x2800 < ord(c) < 0x2900 for c in line[-32:])


def test_dots_are_those_of_the_standard() -> None:
    # the Unicode Standard, chart 2800: dots 1 to 8 are bits 0 to 7, column by column, 7 and 8 last
    bits = {(0, 0): 0x01, (0, 1): 0x02, (0, 2): 0x04, (1, 0): 0x08, (1, 1): 0x10, (1, 2): 0x20,
            (0, 3): 0x40, (1, 3): 0x80}  # fmt: skip
    for (across, down), bit in bits.items():
        dots = Dots(1)
        dots.put(across, down)
        assert list(dots.marks()) == [(0, chr(0x2800 + bit))]


def test_an_axis_has_its_numbers_where_they_belong() -> None:
    axis = Axis(10.0, -10.0, 40)
    assert [axis.column(x) for x in (10.0, 5.0, 0.0, -5.0, -10.0)] == [0, 10, 20, 30, 39]
    assert axis.ticks() == [-10.0, -5.0, 0.0, 5.0, 10.0]
    assert axis.ruler(sign="+").split() == ["+10", "+5", "0", "-5", "-10"]


@pytest.mark.parametrize("means", [LETTERS, SHARP], ids=["letters", "sharp"])
def test_the_fabric_as_knitted_stands_beside_as_planned(means: Means) -> None:
    found = review(JournalFile.open(SAMPLES / "too-small.knitlog").state)
    assert found.fit is not None
    pair = fabric_pair(found.state, found.fit)
    drawn = PairDrawing(pair, history_of(found.state, found.fit))
    lines = list(drawn.lines(76, 14, means))
    assert all(len(line) <= 76 for line in text(lines))
    rounds = lines[1:7]
    # as planned every round is like the next; as knitted they slide
    half = 4 + 33
    planned = {tuple((s.text, s.ground) for s in line)[-3:-1] for line in rounds}
    assert len(planned) == 1
    knitted = {line[:half] for line in text(rounds)}
    grounds = {tuple(s.ground for s in line) for line in rounds}
    assert len(knitted) > 1 or len(grounds) > 1
    for name in pair.knitted.names:
        assert name in text(lines)[-1]


def test_flat_rows_are_each_seen_for_themselves() -> None:
    found = review(JournalFile.open(SAMPLES / "worked-flat.knitlog").state)
    assert found.fit is not None
    drawn = PairDrawing(fabric_pair(found.state, found.fit), history_of(found.state, found.fit))
    rows = rows_of(1, found.state.last_round, 4, most_a_line=2)
    # two rows a line at most: the lower and the upper half of a cell
    assert len(list(drawn.lines(76, 4, SHARP))) >= 1 + rows.lines
    assert rows.each <= 2


def test_the_pictures_come_first_in_a_review() -> None:
    found = review(JournalFile.open(SAMPLES / "too-small.knitlog").state)
    first, second, *rest = body_parts(found)
    assert isinstance(first.drawing, HistoryDrawing)
    assert isinstance(second.drawing, PairDrawing)
    assert all(part.drawing is None for part in rest)
