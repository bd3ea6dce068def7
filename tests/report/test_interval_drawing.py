"""Intervals in character cells, against the numbers they stand for."""

import pytest

from knitlog.drift import Estimate
from knitlog.report.drawing import LETTERS, Means
from knitlog.report.interval_drawing import Beside, IntervalDrawing

ROWS = (
    Beside("A needle step does", Estimate(1.0, 0.3, 0.4, 1.6), Estimate(0.7, 0.2, 0.3, 1.1)),
    Beside("A way of mending nobody ever named does", Estimate(1.0, 0.3, 0.5, 1.5),
           Estimate(0.9, 0.1, 0.8, 1.0)),
)  # fmt: skip
DRAWN = IntervalDrawing("share; 1 is all of it", ROWS, at=1.0)


@pytest.mark.parametrize("means", [LETTERS, Means(sharp=True)], ids=["letters", "sharp"])
@pytest.mark.parametrize("width", [60, 76, 100])
def test_bars_begin_and_end_where_the_numbers_do(width: int, means: Means) -> None:
    key, *lines = ["".join(s.text for s in line) for line in DRAWN.lines(width, 10, means)]
    assert "any knitter" in key
    assert all(len(line) <= width for line in (key, *lines))
    theirs, hers = ("-o", "=#") if not means.sharp else ("╶─╴○", "╺━╸●")
    columns = width - 26
    # the scale runs from 0.3 to 1.6 with a twenty-fifth of it to spare at either end
    low, high = 0.3 - 0.04 * 1.3, 1.6 + 0.04 * 1.3
    for row, (any_line, her_line) in zip(
        ROWS, zip(lines[::2], lines[1::2], strict=False), strict=True
    ):
        for e, line, marks in ((row.any_knitter, any_line, theirs), (row.yours, her_line, hers)):
            bar = [at for at in range(26, len(line)) if line[at] in marks]
            wanted = [26 + (x - low) / (high - low) * columns for x in (e.low95, e.high95)]
            assert abs(bar[0] - wanted[0]) <= 1
            assert abs(bar[-1] - wanted[1]) <= 1
            mean = line.index(marks[-1], 26)
            assert abs(mean - (26 + (e.mean - low) / (high - low) * columns)) <= 1
    assert "0.7 (0.3 to 1.1)" in lines[1]
    assert lines[2].startswith("A way of mending nobod...")  # cut with a mark
    assert lines[-1].split()[-1] in {"1.5", "1.6"}


def test_one_key_is_enough() -> None:
    second = IntervalDrawing("share", ROWS, keyed=False)
    assert len(list(second.lines(76, 10, LETTERS))) == len(list(DRAWN.lines(76, 10, LETTERS))) - 1
