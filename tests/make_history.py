"""Writes sample_logs/history/ anew, byte for byte: ``python -m tests.make_history [FOLDER]``.

The year is knitted in :mod:`tests.simulator.history` from fixed seeds; here it gets event
ids that depend on nothing but their place, and a clock that stood still.
"""

import sys
import uuid
from collections.abc import Iterator
from datetime import timedelta
from itertools import count
from pathlib import Path

from knitlog.journal.events import (
    Event,
    FixMade,
    NeedleChanged,
    NoteAdded,
    Position,
    ProjectFinished,
    ProjectSetUp,
    RoundLogged,
    SkeinJoined,
    StitchCountChanged,
)
from knitlog.journal.facts import ColourPart, make_facts
from knitlog.journal.store import SUFFIX, JournalFile
from tests.simulator.history import Told, history
from tests.simulator.samples import INVENTED

ROOT = Path(__file__).parents[1]
FOLDER = ROOT / "sample_logs" / "history"
_NAMESPACE = uuid.uuid5(uuid.NAMESPACE_URL, "knitlog:sample_logs/history")


def set_up(told: Told, event_id: str) -> ProjectSetUp:
    """The event that opens a project of the year."""
    c = told.chapter
    facts = make_facts(
        stitches=c.plan.stitches,
        repeats=float(c.plan.repeats),
        repeat_length_mm=c.plan.repeat_length_mm,
        needle_mm=c.plan.needle_mm,
        gauge_stitches_per_cm=c.plan.gauge_stitches_per_cm,
        gauge_rounds_per_cm=c.gauge_rounds_per_cm,
        planned_rounds=c.planned_rounds,
        tolerance=c.tolerance,
        multiple=c.multiple,
        needles_owned_mm=c.needles_owned_mm,
        yarn_thickness_mm=c.plan.yarn_thickness_mm,
        fibre=c.plan.fibre,
        stitch_pattern=c.plan.pattern,
        colours=tuple(
            ColourPart(name=p.name, length_mm=p.length_mm, colour=p.colour) for p in c.colours
        ),
    )
    at = told.logged_at(1) - timedelta(minutes=20)
    return ProjectSetUp(id=event_id, at=at, name=c.name, about=f"{c.about} {INVENTED}", facts=facts)


def events(told: Told) -> Iterator[Event]:
    """A project's events in the order she would have logged them."""
    c, log = told.chapter, told.knitted.log
    ids = (uuid.uuid5(_NAMESPACE, f"{c.slug}/{n}").hex for n in count())
    yield set_up(told, next(ids))
    stitches, needle = c.plan.stitches, c.plan.needle_mm
    changes = {s.first_round: s for s in c.plan.changes}
    for number in range(1, c.plan.rounds + 1):
        at = told.logged_at(number)
        if number in changes:
            change, before = changes[number], at - timedelta(minutes=c.minutes_a_round)
            if change.needle_mm is not None and change.needle_mm != needle:
                needle = change.needle_mm
                yield NeedleChanged(id=next(ids), at=before, from_round=number, needle_mm=needle)
            if change.stitches != stitches:
                stitches = change.stitches
                yield StitchCountChanged(
                    id=next(ids), at=before, from_round=number, stitches=stitches
                )
        here = [r for r in log.readings if r.round == number]
        if here:
            positions = tuple(Position(stitch=r.stitch, change=r.change) for r in here)
            yield RoundLogged(id=next(ids), at=at, round=number, positions=positions)
        for fix in log.fixes:
            if fix.after_round == number:
                minutes = 6.0 if fix.kind == "tapestry needle" else 14.0
                yield FixMade(
                    id=next(ids),
                    at=at + timedelta(minutes=minutes - 1),
                    after_round=number,
                    taken_out=fix.taken_out,
                    how=fix.kind,
                    minutes=minutes,
                )
        if number in c.skeins_joined:
            yield SkeinJoined(id=next(ids), at=at + timedelta(minutes=1), round=number)
        for after, text in c.notes:
            if after == number:
                yield NoteAdded(id=next(ids), at=at + timedelta(minutes=2), text=text, round=number)
    if c.finished:
        end = told.logged_at(c.plan.rounds) + timedelta(minutes=40)
        yield ProjectFinished(id=next(ids), at=end)


def write(folder: Path) -> list[Path]:
    """Write the year into ``folder``, replacing what is there."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for told in history():
        path = folder / f"{told.chapter.slug}{SUFFIX}"
        path.unlink(missing_ok=True)
        JournalFile.create(path, sorted(events(told), key=lambda e: e.at))
        path.with_name(f".{path.name}.lock").unlink(missing_ok=True)
        written.append(path)
    return written


if __name__ == "__main__":
    for made in write(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER):
        print(made)
