"""How long a journal of 10,000 events takes to open, beside a bare parse of its JSON.

Nothing is asserted on seconds: the ratio to the reference is printed, with the memory
taken, and both are to stay under five.  The reference parses each line with the standard
library's ``json`` and keeps the results, no more.
"""

import gc
import json
import time
import tracemalloc
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from knitlog.journal.actions import log_round
from knitlog.journal.events import Event, NoteAdded, Position, ProjectSetUp, RoundLogged
from knitlog.journal.facts import make_facts
from knitlog.journal.store import JournalFile

EVENTS = 10_000
REPEATS = 7


def write_journal(path: Path, count: int) -> None:
    at = datetime(2031, 1, 5, 19, 0, tzinfo=UTC)
    facts = make_facts(stitches=128, repeat_length_mm=1524.0, needle_mm=4.5)
    events: list[Event] = [ProjectSetUp(at=at, name="Hut blanket", facts=facts)]
    for number in range(1, count):
        at += timedelta(minutes=7)
        if number % 25 == 0:
            events.append(NoteAdded(at=at, text="The stove smokes again.", round=number))
        else:
            positions = (Position(stitch=37.5), Position(stitch=90, change=2))
            events.append(RoundLogged(at=at, round=number, positions=positions))
    JournalFile.create(path, events)


def bare_parse(path: Path) -> list[object]:
    return [json.loads(line) for line in path.read_bytes().splitlines()]


def best_of(do: Callable[[], object]) -> float:
    """Seconds of the quickest of several runs."""
    times = []
    for _ in range(REPEATS):
        gc.collect()
        begun = time.perf_counter()
        do()
        times.append(time.perf_counter() - begun)
    return min(times)


def peak_mb(do: Callable[[], object]) -> float:
    tracemalloc.start()
    kept = do()
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    del kept
    return peak / 1e6


@pytest.mark.long
def test_opening_a_journal_beside_a_bare_parse(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "hut-blanket.knitlog"
    write_journal(path, EVENTS)
    opened = JournalFile.open(path)
    assert len(opened.events) == EVENTS
    bare, full = best_of(lambda: bare_parse(path)), best_of(lambda: JournalFile.open(path))
    bare_mb, full_mb = peak_mb(lambda: bare_parse(path)), peak_mb(lambda: JournalFile.open(path))
    logged = best_of(lambda: log_round(opened, [38]))
    with capsys.disabled():
        print(
            f"\n{EVENTS:,} events, {path.stat().st_size / 1e6:.1f} MB"
            f"\n  bare json parse   {bare * 1e3:7.1f} ms  {bare_mb:6.1f} MB"
            f"\n  open and fold     {full * 1e3:7.1f} ms  {full_mb:6.1f} MB   "
            f"ratio {full / bare:.2f}"
            f"\n  log one round     {logged * 1e3:7.1f} ms  (lock, write, flush, fold again)"
        )
    assert full < 5.0 * bare
    assert full_mb < 5.0 * bare_mb
