"""Everything out, as files any program can read, and everything back.

For each project ``NAME.json`` holds its whole history and ``NAME.events.csv`` the same as a
table; either reads back as the same project.  Beside them stand tables over all projects,
for a spreadsheet: projects, rounds, fixes, stints, sittings, notes; units are in the headers.
"""

import csv
import io
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from knitlog.journal.csvtable import guarded
from knitlog.journal.disk import create_file, make_folder, read_file
from knitlog.journal.errors import JournalError, sentence_of
from knitlog.journal.events import SCHEMA, Event, event_adapter
from knitlog.journal.flat import from_table, to_table
from knitlog.journal.fold import fold
from knitlog.journal.library import Library, slug_of
from knitlog.journal.project import ProjectState
from knitlog.journal.store import SUFFIX, JournalFile
from knitlog.typed.text import quoted

EVENTS_SUFFIX = ".events.csv"
JSON_SUFFIX = ".json"
_OURS = {
    JSON_SUFFIX: b'{\n "knitlog": ',
    EVENTS_SUFFIX: b"at [ISO 8601],kind,",
    ".csv": b"project,",
}
"""How the files of an export begin: what begins otherwise is hers, and not replaced."""


@dataclass(frozen=True, slots=True)
class Archived:
    """What an export wrote or an import made."""

    names: tuple[str, ...]
    """Slugs of the projects."""
    files: tuple[Path, ...]
    problems: tuple[str, ...]
    """One sentence for each project left out."""


def to_json(state: ProjectState, events: Sequence[Event]) -> str:
    """Give a project's whole history as JSON; units are in the names or under ``units``."""
    content = {
        "knitlog": max(e.schema_version for e in events),
        "name": state.name,
        "units": {
            "stitch": "stitches from the beginning of the round",
            "taken_out": "stitches of offset",
            "tolerance": "stitches",
            "target_drift": "stitches a round",
            "_mm": "millimetres",
            "_per_cm": "per centimetre",
            "percent": "percent",
            "minutes": "minutes",
            "at": "ISO 8601 date and time",
        },
        "events": [e.model_dump(mode="json", by_alias=True, exclude_none=True) for e in events],
    }
    return json.dumps(content, ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def from_json(text: str) -> tuple[Event, ...]:
    """Read a project's history back.

    Raises:
        JournalError: it is not such a file.

    """
    try:
        content = json.loads(text)
    except (ValueError, RecursionError):
        raise JournalError("This is not a JSON file; is it the right one?") from None
    if not isinstance(content, dict) or not isinstance(content.get("events"), list):
        raise JournalError("This is no exported project: there are no events in it.")
    version = content.get("knitlog")
    if isinstance(version, int) and version > SCHEMA:
        raise JournalError("This was exported by a newer knitlog; update knitlog to read it.")
    events = []
    for number, event in enumerate(content["events"], start=1):
        try:
            events.append(event_adapter.validate_json(json.dumps(event)))
        except (ValidationError, ValueError) as error:
            why = sentence_of(error) if isinstance(error, ValidationError) else "it is damaged."
            raise JournalError(f"Event {number} cannot be read: {why}") from None
    return tuple(events)


def export_all(library: Library, folder: str | Path) -> Archived:
    """Write every project of ``library`` into ``folder``; an earlier export there is replaced.

    A file of one of these names that is no export, or a link, is left alone.

    Raises:
        JournalError: a folder or file cannot be read or written.

    """
    folder = Path(folder)
    make_folder(folder)
    files, problems, states = [], [], []
    for shelf in library.projects():
        if shelf.state is None:
            problems.append(f"{shelf.slug} is left out: {shelf.trouble}")
            continue
        journal = JournalFile.open(shelf.path)
        states.append(journal.state)
        problems += [f"{shelf.slug}: {p.sentence}" for p in journal.state.problems]
        for suffix, text in (
            (JSON_SUFFIX, to_json(journal.state, journal.events)),
            (EVENTS_SUFFIX, to_table(journal.events)),
        ):
            files.append(folder / f"{shelf.slug}{suffix}")
            create_file(files[-1], text.encode(), overwrite=True, ours=_OURS[suffix])
    states.sort(key=lambda s: (s.set_up_at, s.slug))
    for name, rows in _tables(states).items():
        # a space keeps these apart from any project's own files
        files.append(folder / f"all {name}.csv")
        create_file(files[-1], _csv(rows).encode(), overwrite=True, ours=_OURS[".csv"])
    return Archived(tuple(s.slug for s in states), tuple(files), tuple(problems))


def import_all(library: Library, folder: str | Path, *, tables: bool = False) -> Archived:
    """Make a project of every export in ``folder``.

    ``tables`` reads the CSV tables of events in place of the JSON files.  A project whose
    name is taken is left out and named.

    Raises:
        JournalError: there is nothing to read, or nothing can be written.

    """
    folder = Path(folder)
    suffix = EVENTS_SUFFIX if tables else JSON_SUFFIX
    try:
        paths = sorted(p for p in folder.iterdir() if p.name.endswith(suffix))
    except OSError:
        raise JournalError(f"The folder {quoted(str(folder), 200)} cannot be read.") from None
    if not paths:
        raise JournalError(f"There is no exported project in {quoted(str(folder), 200)}.")
    names, files, problems = [], [], []
    for path in paths:
        try:
            events = read_export(path)
            target = library.folder / f"{slug_of(path.name.removesuffix(suffix))}{SUFFIX}"
            if target.exists():
                raise JournalError("there is a project of that name already.")
            JournalFile.create(target, events)
        except JournalError as error:
            problems.append(f"{path.name} is left out: {error}")
            continue
        names.append(target.name.removesuffix(SUFFIX))
        files.append(target)
    return Archived(tuple(names), tuple(files), tuple(problems))


def read_export(path: Path) -> tuple[Event, ...]:
    """Read one exported project, JSON or table of events.

    Raises:
        JournalError: it cannot be read, or is no export.

    """
    data, _ = read_file(path)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise JournalError("it is not text; is it the right file?") from None
    events = from_table(text) if path.name.endswith(EVENTS_SUFFIX) else from_json(text)
    fold(events)
    return events


def _tables(states: Sequence[ProjectState]) -> dict[str, list[list[Any]]]:
    """Give the tables over all projects, each with its line of headings."""
    most = max((len(e.positions) for s in states for e in s.entries), default=1)
    changes = [f"colour change {n} [stitches]" for n in range(1, most + 1)]
    return {
        "projects": [
            ["project", "name", "begun [ISO 8601]", "finished [ISO 8601]", "stitches [count]",
             "repeats a round [count]", "repeat length [mm]", "needle [mm]",
             "gauge [stitches per cm]", "tolerance [stitches]", "planned [rounds]",
             "knitted [rounds]", "fibre", "stitch pattern"],
            *([s.slug, s.name, s.set_up_at, s.finished_at, s.stints[0].stitches, s.facts.repeats,
               s.facts.repeat_length_mm, s.stints[0].needle_mm, s.facts.gauge_stitches_per_cm,
               s.facts.tolerance, s.facts.planned_rounds, s.last_round, s.facts.fibre,
               s.facts.stitch_pattern] for s in states),
        ],
        "rounds": [
            ["project", "round [number]", "logged [ISO 8601]", "sitting [number]",
             "stitches in the round [count]", "needle [mm]", *changes, "note",
             "tension asked [%]", "aim [stitches]", "place taken anew [1 for yes]"],
            *([s.slug, e.round, e.at, e.sitting or None, s.stint_of(e.round).stitches,
               s.stint_of(e.round).needle_mm,
               *(p.stitch for p in e.positions), *[None] * (most - len(e.positions)), e.note,
               s.tension_of(e.round), s.aims.get(e.round),
               1 if any(h.from_round == e.round for h in s.new_homes) else None]
              for s in states for e in s.entries),
        ],
        "fixes": [
            ["project", "after round [number]", "taken out [stitches]", "how", "over [stitches]",
             "took [min]", "logged [ISO 8601]", "note"],
            *([s.slug, f.after_round, f.taken_out, f.how, f.over_stitches, f.minutes, f.at, f.note]
              for s in states for f in s.fixes),
        ],
        "stints": [
            ["project", "first round [number]", "stitches [count]", "needle [mm]"],
            *([s.slug, t.first_round, t.stitches, t.needle_mm] for s in states for t in s.stints),
        ],
        "sittings": [
            ["project", "sitting [number]", "started [ISO 8601]", "ended [ISO 8601]",
             "rounds [count]"],
            *([s.slug, t.number, t.started, t.ended, len(t.rounds)]
              for s in states for t in s.sittings),
        ],
        "notes": [
            ["project", "round [number]", "written [ISO 8601]", "note"],
            *([s.slug, n.round, n.at, n.text] for s in states for n in s.notes),
        ],
    }  # fmt: skip


def _csv(rows: Iterable[Sequence[Any]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerows([_cell(value) for value in row] for row in rows)
    return out.getvalue()


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return guarded(value)
    return value.isoformat() if hasattr(value, "isoformat") else str(value)
