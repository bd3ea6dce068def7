"""The characters of the chart: one for each thing, told apart by shape alone.

Why these: every mark is from the oldest common set of terminal characters
(ASCII, Latin-1, or the 652 characters nearly every terminal font has carried
since the 1990s), one cell wide, and no two share an outline; so the chart
reads the same in sixteen colours, without colour, and to an eye that sees
no red or green.  Filled is what was knitted, hollow is what is expected.
"""

from knitlog.report.history import MARKS, What

HAPPENED: dict[What, str] = {what: mark for what, (mark, _, _) in MARKS.items()}
"""The mark of each thing that may happen beside the readings: the review's own."""
READINGS = "●■▲♦"
"""Where a colour change fell: a shape for each colour change of the round, in turn."""
EXPECTED = "○"
"""Where the colour change is expected: rounds to come, and rounds not read."""
FITTED = "·"
"""Where the fit puts a round, when the reading is somewhere else."""
SPREAD = "░"
"""How far the expected place may be off (95 in 100)."""
HOME = "│"
"""The home line: in place."""
EDGE = ":"
"""The tolerance: beyond it the colours look out of place."""
DOUBT = HAPPENED[What.MISCOUNT]
"""A reading in doubt: perhaps a miscount."""
FIX = HAPPENED[What.FIX]
"""A fix was made after this round."""
NEEDLE = HAPPENED[What.NEEDLE]
"""The needle size changed from this round (the draughtsman's sign for a diameter)."""
STITCHES = HAPPENED[What.STITCHES]
"""The stitch count changed from this round."""
TENSION = HAPPENED[What.TENSION]
"""Another tension was asked of the hand from this round."""
PLACE = HAPPENED[What.PLACE]
"""The colours got another place from this round."""
NOTE = "*"
"""A note was written (as a footnote is marked)."""
BREAK = HAPPENED[What.UNLOGGED]
"""Something changed here that nobody logged."""
SKEIN = HAPPENED[What.SKEIN]
"""A new skein was joined."""
OFF_LEFT = "◄"
"""Further past than the chart is wide."""
OFF_RIGHT = "►"
"""Further short than the chart is wide."""

LEGEND: tuple[tuple[str, str], ...] = (
    (READINGS[0], "where the colour change fell (■ ▲ ♦ for a second, third, fourth)"),
    (EXPECTED, "where it is expected: rounds to come, rounds not read"),
    (SPREAD, "how far off that may be, 95 times in 100"),
    (FITTED, "where the fit puts a round, when the reading is elsewhere"),
    (HOME, "home: in place"),
    (EDGE, "your tolerance, either side of home"),
    (DOUBT, "a reading in doubt: perhaps a miscount"),
    (FIX, "a fix, and the stitches taken out"),
    (NEEDLE, "the needle size changed"),
    (STITCHES, "the stitch count changed"),
    (TENSION, "another tension was asked of the hand"),
    (PLACE, "the colours are let stack where they are from here"),
    (NOTE, "a note"),
    (BREAK, "something changed here that was not logged"),
    (SKEIN, "a new skein was joined"),
    (OFF_LEFT + OFF_RIGHT, "beyond the edge of the chart"),
)
"""Every mark with its meaning, for the help screen."""


def reading_mark(change: int) -> str:
    """Mark of the colour change numbered ``change`` (from 1); shapes come round after four."""
    return READINGS[(change - 1) % len(READINGS)]
