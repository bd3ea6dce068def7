"""Writes sample_logs/ anew, byte for byte: ``python -m tests.make_samples [FOLDER]``.

The projects are knitted in :mod:`tests.simulator.samples` from fixed seeds; here
they get event ids that depend on nothing but their place, and a clock that stood
still, and go to disk as a journal and as a CSV log each.
"""

import sys
import uuid
from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import count
from pathlib import Path

from knitlog.journal.csvout import to_csv
from knitlog.journal.events import (
    Event,
    FixMade,
    NeedleChanged,
    NoteAdded,
    Position,
    ProjectSetUp,
    RoundLogged,
    StitchCountChanged,
)
from knitlog.journal.facts import ColourPart, make_facts
from knitlog.journal.store import SUFFIX, JournalFile
from knitlog.typed.measures import parse_gauge
from tests.simulator.samples import INVENTED, Recipe, Sample, samples

ROOT = Path(__file__).parents[1]
_NAMESPACE = uuid.uuid5(uuid.NAMESPACE_URL, "knitlog:sample_logs")


def set_up(recipe: Recipe, event_id: str) -> ProjectSetUp:
    """The event that opens a sample's journal."""
    gauge = parse_gauge(recipe.gauge)
    facts = make_facts(
        stitches=recipe.work.stitches,
        repeats=float(recipe.work.repeats),
        repeat_length_mm=recipe.work.repeat_length_mm,
        needle_mm=recipe.work.needle_mm,
        gauge_stitches_per_cm=gauge.stitches_per_cm,
        gauge_rounds_per_cm=gauge.rounds_per_cm,
        planned_rounds=recipe.planned_rounds,
        tolerance=recipe.tolerance,
        multiple=recipe.multiple,
        needles_owned_mm=recipe.needles_owned_mm,
        flat=recipe.work.flat,
        colours=tuple(
            ColourPart(name=c.name, length_mm=c.length_mm, colour=c.colour) for c in recipe.colours
        ),
    )
    about = f"{recipe.about} {INVENTED}"
    at = recipe.begun - timedelta(minutes=20)
    return ProjectSetUp(id=event_id, at=at, name=recipe.name, about=about, facts=facts)


def events(sample: Sample) -> Iterator[Event]:
    """A sample's events in the order she would have logged them."""
    recipe = sample.recipe
    ids = (uuid.uuid5(_NAMESPACE, f"{recipe.slug}/{n}").hex for n in count())
    yield set_up(recipe, next(ids))
    stitches, needle = recipe.work.stitches, recipe.work.needle_mm
    stints = {stint.first_round: stint for stint in sample.stints}
    for number in range(1, recipe.work.rounds + 1):
        at = _at(sample, number)
        if number in stints:
            stint = stints[number]
            before = at - timedelta(minutes=5)
            if stint.needle_mm is not None and stint.needle_mm != needle:
                needle = stint.needle_mm
                yield NeedleChanged(id=next(ids), at=before, from_round=number, needle_mm=needle)
            if stint.stitches != stitches:
                stitches = stint.stitches
                yield StitchCountChanged(
                    id=next(ids), at=before, from_round=number, stitches=stitches
                )
        here = [r for r in sample.readings if r.round == number]
        if here:
            positions = tuple(Position(stitch=r.stitch, change=r.change) for r in here)
            yield RoundLogged(id=next(ids), at=at, round=number, positions=positions)
        for fix in sample.fixes:
            if fix.after_round == number:
                yield FixMade(
                    id=next(ids),
                    at=at + timedelta(minutes=4),
                    after_round=number,
                    taken_out=fix.taken_out,
                    how=fix.kind,
                )
        for after, text in recipe.notes:
            if after == number:
                at_note = at + timedelta(minutes=5)
                yield NoteAdded(id=next(ids), at=at_note, text=text, round=number)


def _at(sample: Sample, number: int) -> datetime:
    """When a round was logged; one nobody logged counts with the logged one before it."""
    logged = [r for r in sample.times if r <= number]
    return sample.times[max(logged)]


def write(folder: Path) -> list[Path]:
    """Write every sample into ``folder``, replacing what is there."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for sample in samples():
        path = folder / f"{sample.recipe.slug}{SUFFIX}"
        path.unlink(missing_ok=True)
        journal = JournalFile.create(path, tuple(events(sample)))
        path.with_name(f".{path.name}.lock").unlink(missing_ok=True)
        table = path.with_suffix(".csv")
        table.write_text(to_csv(journal.state), encoding="utf-8", newline="")
        written += [path, table]
    return written


if __name__ == "__main__":
    for made in write(Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "sample_logs"):
        print(made)
