"""Everything logged on a project, in words, for the screens and the command line alike."""

from __future__ import annotations

from typing import TYPE_CHECKING

from knitlog.report.words import counted, places, signed

if TYPE_CHECKING:
    from knitlog.journal.project import ProjectState

LogLine = tuple[str, str, str]
"""The round, what was logged, and when."""


def log_lines(state: ProjectState) -> list[LogLine]:
    """Everything that stands, the newest round first; within a round, what came last first."""
    lines: list[tuple[int, int, LogLine]] = []

    def add(number: int, order: int, words: str, when: str = "") -> None:
        lines.append((number, order, (str(number) if number else "", words, when)))

    below: float | None = None
    for entry in state.entries:
        at = f"{entry.at:%d %b %H:%M}"
        first = entry.positions[0].stitch
        step = "" if below is None else f" ({signed(first - below)})"
        below = first
        again = ", logged again" if entry.corrected else ""
        add(entry.round, 1, f"{places(entry.positions)}{step}{again}", at)
    for note in state.notes:
        add(note.round or 0, 2, f"note: {note.text}", f"{note.at:%d %b %H:%M}")
    for fix in state.fixes:
        over = f" over {fix.over_stitches:g}" if fix.over_stitches else ""
        add(
            fix.after_round,
            3,
            f"fix: {fix.how}, {signed(-fix.taken_out)}{over}",
            f"{fix.at:%d %b %H:%M}",
        )
    for stint in state.stints[1:]:
        needle = "" if stint.needle_mm is None else f", {stint.needle_mm:g} mm"
        stitches = counted(stint.stitches, "stitch", "stitches")
        add(stint.first_round, 0, f"from here on {stitches}{needle}")
    for join in state.joins:
        where = "" if join.stitch is None else f" at stitch {join.stitch:g}"
        add(join.round, 0, f"new skein{where}", f"{join.at:%d %b %H:%M}")
    lines.sort(key=lambda line: line[:2], reverse=True)
    return [line for _, _, line in lines]
