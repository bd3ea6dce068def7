"""Logs in, above all CSV: one row a reading, the facts in ``# key: value`` lines on top.

Columns ``round,stitch`` and optionally ``change`` (which colour change of the round,
from 1), ``needle_mm`` and ``stitches`` (in use in that round; blank means as before),
``fix_stitches`` (offset taken out after that round was read; positive is taken out of a
positive offset), ``period_shift`` (see :class:`~knitlog.journal.events.Position`),
``tension_percent`` (asked of the hand in that round, above 0 is looser; blank means as
before), ``new_home`` (1 where the place was taken anew from that round on),
``new_home_stitch`` (that place, if stated) and ``note``.  Commas, semicolons and tabs all
part columns; halves may be written 37.5, and with semicolons or tabs 37,5.

What is read becomes the same events a journal holds, so both are folded, fitted and
shown by the same code.
"""

import contextlib
import difflib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from knitlog.journal.csvtable import CsvError, KeyLine, Row, read_table, unguarded
from knitlog.journal.disk import read_file
from knitlog.journal.errors import JournalError, sentence_of
from knitlog.journal.events import (
    Event,
    FixMade,
    NeedleChanged,
    NoteAdded,
    PlaceChanged,
    Position,
    ProjectChanged,
    ProjectSetUp,
    RoundLogged,
    StitchCountChanged,
    TensionChanged,
    now,
)
from knitlog.journal.facts import FactChanges, ProjectFacts, sensible
from knitlog.journal.fold import fold
from knitlog.journal.project import ProjectState
from knitlog.journal.registry import FACT_KEYS, TOGETHER, parse_fact, parse_facts, told_after
from knitlog.journal.store import SUFFIX, JournalFile
from knitlog.typed.entry import MOST_CHANGES
from knitlog.typed.measures import MOST_ROUNDS, parse_needle
from knitlog.typed.numbers import format_number, parse_number, parse_whole
from knitlog.typed.text import TypedError, plain_text, quoted

Number = TypeVar("Number", int, float)
MAX_CSV_BYTES = 20 * 1024 * 1024
NEEDED = ("round", "stitch")
COLUMNS = (
    *NEEDED,
    "change",
    "needle_mm",
    "stitches",
    "fix_stitches",
    "period_shift",
    "tension_percent",
    "new_home",
    "new_home_stitch",
    "note",
)
_REPEATABLE = ("about", "note")
"""Keys that may stand on several lines."""


@dataclass(frozen=True, slots=True)
class LogRead:
    """A log as read, wherever it came from."""

    events: tuple[Event, ...]
    """What it holds, or what a journal of it would hold; the set-up first, as a rule."""
    state: ProjectState
    """The project it tells of."""
    warnings: tuple[str, ...] = ()
    """What in it could not be used, one sentence each."""
    is_journal: bool = False
    """False for a CSV log."""


def read_csv_log(source: str | Path | bytes, overrides: Mapping[str, str] | None = None) -> LogRead:
    """Read a CSV log from a file, or from its bytes.

    Args:
        source: path of the file, or the bytes of one.
        overrides: facts that come before those in the file, by option name without the
            dashes (see :data:`~knitlog.journal.registry.FACT_KEYS`), as typed.

    Raises:
        JournalError: one sentence saying what is wrong, with the file's name and the
            line's number.

    """
    given = dict(overrides or {})
    if isinstance(source, bytes):
        if len(source) > MAX_CSV_BYTES:
            raise CsvError("That is larger than 20 MB, too large for a log; is it the right file?")
        return _read(source, given, "log")
    path = Path(source)
    data, _ = read_file(path, MAX_CSV_BYTES)
    try:
        return _read(data, given, plain_text(path.stem)[:100] or "log")
    except CsvError as error:
        raise CsvError(f"{plain_text(path.name)}: {error}") from None


@dataclass(slots=True)
class _Round:
    """What all rows of one round say together."""

    line: int
    """Of its first row."""
    readings: dict[int, tuple[int, float, int | None]] = field(default_factory=dict)
    """Line, stitch and period shift by colour change."""
    needle_mm: float | None = None
    stitches: int | None = None
    fix: float | None = None
    tension: float | None = None
    new_home: bool = False
    home_stitch: float | None = None
    notes: list[str] = field(default_factory=list)


def _read(data: bytes, overrides: dict[str, str], name: str) -> LogRead:
    table = read_table(data, NEEDED, COLUMNS)
    values, notes, warnings = _facts(table.keys, overrides)
    warnings += [
        f"Line {table.column_line}: the column {quoted(c)} means nothing here and was left out."
        for c in table.columns
        if c and c not in COLUMNS
    ]
    rounds: dict[int, _Round] = {}
    for row in table.rows:
        with _at_line(row.line):
            _take_row(rounds, row)
    if not rounds:
        raise CsvError("There are no rounds in it; type one a line under the column names.")
    ordered = sorted(rounds.items())
    if "stitches" not in values:
        said = next((r.stitches for _, r in ordered if r.stitches is not None), None)
        if said is None:
            raise CsvError(
                "It does not say how many stitches a round has; add a line such as "
                "# stitches: 128 at the top, or give --stitches 128."
            )
        values["stitches"] = said
    if "tolerance" in overrides and values["tolerance"] > values["stitches"]:
        sensible(ProjectFacts(stitches=values["stitches"], tolerance=values["tolerance"]))
    if ordered[0][1].needle_mm is not None:
        values.setdefault("needle_mm", ordered[0][1].needle_mm)
    at = now()
    events: list[Event] = [_set_up(values, name, at)]
    events += (NoteAdded(at=at, text=text) for text in notes)
    lines = [1] * len(events)
    for line, event in _events(ordered, values["stitches"], values.get("needle_mm"), at):
        lines.append(line)
        events.append(event)
    return LogRead(tuple(events), fold(events, lines), tuple(warnings))


def _set_up(values: dict[str, Any], name: str, at: datetime) -> ProjectSetUp:
    about = values.pop("about", "")
    name = values.pop("name", name)
    try:
        return ProjectSetUp(at=at, name=name, about=about, facts=ProjectFacts(**values))
    except ValidationError as error:
        raise CsvError(sentence_of(error)) from None


def _facts(
    keys: tuple[KeyLine, ...], overrides: dict[str, str]
) -> tuple[dict[str, Any], list[str], list[str]]:
    """Read the key lines and the options: the facts' values, the notes, the warnings."""
    texts: dict[str, tuple[int, str]] = {}
    notes: list[str] = []
    warnings: list[str] = []
    for key in keys:
        text = unguarded(key.text)
        if not text:
            continue
        if key.key == "note":
            notes.append(text)
        elif key.key in texts and key.key in _REPEATABLE:
            line, before = texts[key.key]
            texts[key.key] = (line, f"{before}\n{text}")
        elif key.key in texts and texts[key.key][1] != text:
            line, before = texts[key.key]
            raise CsvError(
                f"Line {key.line} says {key.key} is {quoted(text)}, but line {line} says "
                f"{quoted(before)}; keep one."
            )
        elif key.key in FACT_KEYS:
            texts[key.key] = (key.line, text)
        elif near := difflib.get_close_matches(key.key, FACT_KEYS, n=1, cutoff=0.75):
            warnings.append(
                f"Line {key.line}: there is no fact called {quoted(key.key)}; did you mean "
                f"{near[0]}? It was left out."
            )
    values: dict[str, Any] = {}
    # colours tell the length of a repeat too: what is told of that by itself comes after
    for key_name, (line, text) in sorted(texts.items(), key=lambda item: item[0] != "colours"):
        if key_name not in overrides or key_name in TOGETHER:
            with _at_line(line):
                values = told_after(values, parse_fact(key_name, text, bare_mm=True))
    return told_after(values, parse_facts(overrides)), notes, warnings


@contextlib.contextmanager
def _at_line(line: int) -> Iterator[None]:
    """Name the line in whatever sentence is raised within."""
    try:
        yield
    except ValidationError as error:
        raise CsvError(f"Line {line}: {sentence_of(error)}") from None
    except CsvError:
        raise
    except (JournalError, TypedError) as error:
        raise CsvError(f"Line {line}: {error}") from None


def _take_row(rounds: dict[int, _Round], row: Row) -> None:
    """Add what one row says to its round."""
    cells = row.cells
    if "round" not in cells:
        raise JournalError("the round is missing; number the rounds from 1.")
    number = parse_whole(cells["round"], "12")
    if not 1 <= number <= MOST_ROUNDS:
        raise JournalError(f"{number} is no round; number the rounds from 1 to {MOST_ROUNDS:,}.")
    of_round = rounds.setdefault(number, _Round(row.line))
    change = parse_whole(cells.get("change", "1"), "1 or 2")
    if not 1 <= change <= MOST_CHANGES:
        raise JournalError(f"{change} is no colour change; number them from 1 to {MOST_CHANGES}.")
    if "stitch" in cells:
        if change in of_round.readings:
            raise JournalError(
                f"round {number} was given before, on line {of_round.readings[change][0]}; keep "
                "one, or number several colour changes of a round in a column called change."
            )
        stitch = parse_number(cells["stitch"])
        shift = parse_whole(cells["period_shift"], "1") if "period_shift" in cells else None
        of_round.readings[change] = (row.line, stitch, shift)
    if "needle_mm" in cells:
        needle_mm = parse_needle(cells["needle_mm"], bare_mm=True)
        of_round.needle_mm = _same(of_round.needle_mm, needle_mm, "needle")
    if "stitches" in cells:
        of_round.stitches = _same(of_round.stitches, parse_whole(cells["stitches"]), "stitch count")
    if "fix_stitches" in cells:
        of_round.fix = _same(of_round.fix, parse_number(cells["fix_stitches"], "-3"), "fix")
    if "tension_percent" in cells:
        asked = parse_number(cells["tension_percent"].removesuffix("%"), "2 or -1.5")
        of_round.tension = _same(of_round.tension, asked, "tension")
    if "new_home" in cells:
        of_round.new_home = _taken_anew(cells["new_home"])
    if "new_home_stitch" in cells:
        place = parse_number(cells["new_home_stitch"])
        of_round.home_stitch = _same(of_round.home_stitch, place, "new home")
        of_round.new_home = True
    if "note" in cells:
        of_round.notes.append(unguarded(cells["note"]))


def _taken_anew(text: str) -> bool:
    if text not in ("0", "1"):
        raise JournalError(
            f"the new_home cannot be {quoted(text)}; type 1 where the place was taken anew."
        )
    return text == "1"


def _same(before: Number | None, now_said: Number, what: str) -> Number:
    if before is not None and before != now_said:
        raise JournalError(f"this round has another {what} above; give it once a round.")
    return now_said


def _events(
    rounds: list[tuple[int, _Round]], stitches: int, needle_mm: float | None, at: datetime
) -> Iterator[tuple[int, Event]]:
    """Give the events the rounds stand for, ascending, each with its line."""
    tension = 0.0
    for number, said in rounds:
        with _at_line(said.line):
            if said.needle_mm is not None and said.needle_mm != needle_mm:
                needle_mm = said.needle_mm
                yield said.line, NeedleChanged(at=at, from_round=number, needle_mm=needle_mm)
            if said.stitches is not None and said.stitches != stitches:
                stitches = said.stitches
                yield said.line, StitchCountChanged(at=at, from_round=number, stitches=stitches)
            if said.tension is not None and said.tension != tension:
                tension = said.tension
                yield said.line, TensionChanged(at=at, from_round=number, percent=tension)
            if said.new_home:
                yield said.line, PlaceChanged(at=at, from_round=number, stitch=said.home_stitch)
            note = "\n".join(said.notes) or None
            if said.readings:
                positions = tuple(
                    _position(change, line, stitch, shift, stitches)
                    for change, (line, stitch, shift) in sorted(said.readings.items())
                )
                yield (
                    said.line,
                    RoundLogged(at=at, round=number, positions=positions, note=note, imported=True),
                )
            elif note:
                yield said.line, NoteAdded(at=at, round=number, text=note)
            if said.fix:
                yield said.line, FixMade(at=at, after_round=number, taken_out=said.fix, how="fix")


def _position(change: int, line: int, stitch: float, shift: int | None, stitches: int) -> Position:
    if not 0 <= stitch <= stitches:
        raise CsvError(
            f"Line {line}: stitch {format_number(stitch)} is not in the round, which has "
            f"{stitches}; positions run from 0 to {stitches}."
        )
    return Position(stitch=stitch, change=change, period_shift=shift)


def read_any(path: str | Path, overrides: Mapping[str, str] | None = None) -> LogRead:
    """Read a journal or a CSV log.

    ``overrides`` are facts that come before those in the file, by option name without
    the dashes, as typed.

    Raises:
        JournalError: one sentence saying what is wrong.

    """
    path = Path(path)
    if not looks_like_journal(path):
        return read_csv_log(path, overrides)
    journal = JournalFile.open(path)
    state, events = journal.state, journal.events
    if overrides:
        changed = told_besides(state, overrides)
        state, events = journal.what_if(changed), (*events, changed)
    return LogRead(events, state, tuple(p.sentence for p in state.problems), is_journal=True)


def told_besides(state: ProjectState, overrides: Mapping[str, str]) -> ProjectChanged:
    """Give the event that tells facts of a journal otherwise, as typed.

    Raises:
        JournalError: a value that will not do.

    """
    changes = FactChanges(**parse_facts(overrides))
    if changes.tolerance is not None:
        sensible(changes.applied_to(state.facts))
    return ProjectChanged(at=state.last_at, changes=changes)


def looks_like_journal(path: Path) -> bool:
    """Whether a file is a journal, by its name or by how it begins."""
    if path.name.endswith(SUFFIX):
        return True
    try:
        with path.open("rb") as file:
            beginning = file.read(64)
    except (OSError, ValueError):
        return False  # reading it in earnest says why
    return beginning.removeprefix(b"\xef\xbb\xbf").lstrip().startswith(b"{")
