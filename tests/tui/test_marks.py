from rich.cells import cell_len

from knitlog.tui import marks

# The Windows Glyph List 4 (Microsoft, 652 characters carried by nearly every terminal
# font) beyond Latin-1, as far as the chart draws from it.
WGL4 = set("●■▲♦○░│◄►")


def all_marks() -> list[str]:
    return [
        *marks.READINGS,
        marks.EXPECTED,
        marks.FITTED,
        marks.SPREAD,
        marks.HOME,
        marks.EDGE,
        marks.DOUBT,
        marks.FIX,
        marks.NEEDLE,
        marks.STITCHES,
        marks.TENSION,
        marks.PLACE,
        marks.NOTE,
        marks.BREAK,
        marks.SKEIN,
        marks.OFF_LEFT,
        marks.OFF_RIGHT,
    ]


def test_no_two_marks_are_alike():
    assert len(set(all_marks())) == len(all_marks())


def test_every_mark_is_one_cell_and_in_the_common_set():
    for mark in all_marks():
        assert cell_len(mark) == 1
        assert mark in WGL4 or ord(mark) < 256


def test_every_mark_is_explained():
    explained = "".join(mark for mark, _ in marks.LEGEND) + " ".join(w for _, w in marks.LEGEND)
    assert not [mark for mark in all_marks() if mark not in explained]


def test_colour_changes_have_their_own_shapes_and_come_round_after_four():
    assert [marks.reading_mark(change) for change in range(1, 6)] == ["●", "■", "▲", "♦", "●"]
