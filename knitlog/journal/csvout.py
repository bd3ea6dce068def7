"""CSV logs out: what :mod:`knitlog.journal.csvlog` reads back as the same project.

Safe to open in a spreadsheet: no text in it is taken for a formula.  Times, sittings,
joined skeins (kept as notes) and the stitches aimed at have no column; the journal itself
is the whole record.
"""

import csv
import io
from pathlib import Path

from knitlog.journal.csvlog import COLUMNS, NEEDED
from knitlog.journal.csvtable import guarded
from knitlog.journal.disk import create_file
from knitlog.journal.events import Position
from knitlog.journal.project import ProjectState
from knitlog.journal.registry import fact_lines
from knitlog.typed.numbers import format_number


def to_csv(state: ProjectState) -> str:
    """Give a project as CSV text, lines parted by a line feed."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for key, text in _key_lines(state):
        line = f"# {key}: {text}"
        if line.endswith((",", ";", '"')):  # or it would look like an empty cell
            csv.writer(out, lineterminator="\n", quoting=csv.QUOTE_ALL).writerow([line])
        else:
            out.write(f"{line}\n")
    rows = _rows(state)
    columns = [c for c in COLUMNS if c in NEEDED or any(row.get(c) for row in rows)]
    writer.writerow(columns)
    writer.writerows([row.get(column, "") for column in columns] for row in rows)
    return out.getvalue()


def write_csv(state: ProjectState, path: str | Path, *, overwrite: bool = False) -> None:
    """Write a project to a CSV file, whole or not at all.

    Raises:
        JournalError: there is such a file already, or it cannot be written.

    """
    create_file(Path(path), to_csv(state).encode(), overwrite=overwrite)


def _key_lines(state: ProjectState) -> list[tuple[str, str]]:
    begun = {"stitches": state.stints[0].stitches, "needle_mm": state.stints[0].needle_mm}
    notes = "\n".join(note.text for note in state.notes if note.round is None)
    return [
        ("name", guarded(state.name)),
        *(("about", line) for line in _lines_of(state.about)),
        *fact_lines(state.facts.model_copy(update=begun)),
        *(("note", line) for line in _lines_of(notes)),
    ]


def _lines_of(text: str) -> list[str]:
    """Part a text into lines, each safe beside a key."""
    return [guarded(line.strip()) for line in text.split("\n") if line.strip()]


def _rows(state: ProjectState) -> list[dict[str, str]]:
    """Give the rows: one a reading, and one for a round that only has a fix or the like."""
    notes: dict[int, list[str]] = {}
    for note in state.notes:
        if note.round is not None:
            notes.setdefault(note.round, []).append(note.text)
    for join in state.joins:
        where = "" if join.stitch is None else f" at stitch {format_number(join.stitch)}"
        notes.setdefault(join.round, []).append(f"Skein joined{where}.")
    fixes: dict[int, float] = {}
    for fix in state.fixes:
        fixes[fix.after_round] = fixes.get(fix.after_round, 0.0) + fix.taken_out
    fixes = {number: total for number, total in fixes.items() if total}
    starts = {s.first_round: s for s in state.stints}
    several_counts = len({s.stitches for s in state.stints}) > 1
    several_needles = len({s.needle_mm for s in state.stints}) > 1
    homes = {h.from_round: h for h in state.new_homes}
    many = any(p.change > 1 for e in state.entries for p in e.positions)
    asked = {t.first_round for t in state.tension}
    needed = {*state.by_round, *fixes, *notes, *(starts.keys() - {1}), *asked, *homes}
    rows: list[dict[str, str]] = []
    for number in sorted(needed):
        stint = state.stint_of(number)
        first: dict[str, str] = {"round": str(number)}
        if several_needles and stint.needle_mm is not None:
            first["needle_mm"] = format_number(stint.needle_mm)
        if several_counts:
            first["stitches"] = str(stint.stitches)
        if number in fixes:
            first["fix_stitches"] = format_number(fixes[number])
        if state.tension:
            first["tension_percent"] = format_number(state.tension_of(number))
        if number in homes:
            stated = homes[number].stitch
            first["new_home"] = "1"
            first["new_home_stitch"] = "" if stated is None else format_number(stated)
        if number in notes:
            first["note"] = guarded("\n".join(notes[number]))
        entry = state.entry(number)
        readings = [_reading(p, many) for p in entry.positions] if entry else [{}]
        rows.append(first | readings[0])
        rows += [{"round": str(number)} | reading for reading in readings[1:]]
    return rows


def _reading(position: Position, with_change: bool) -> dict[str, str]:
    cells = {"stitch": format_number(position.stitch)}
    if with_change:
        cells["change"] = str(position.change)
    if position.period_shift is not None:
        cells["period_shift"] = str(position.period_shift)
    return cells
