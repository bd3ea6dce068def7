"""A long evening at the needles, in one process: what it comes to hold, and how it slows down.

The whole program in a pseudo-terminal.  The table in ``benchmarks/EXTREMES_RESULTS.md``:
``pytest -m long -s tests/tui/test_long_evening.py``.
"""

import os
import random
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

from knitlog.drift import fit
from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library
from knitlog.journal.project import to_drift_log
from tests.tui.terminal import Terminal

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="asks Linux for the memory held")
MOST_GROWTH = 1.2
"""Times the memory held after a tenth of the evening."""
_TICKS = os.sysconf("SC_CLK_TCK")


@dataclass(frozen=True)
class Stretch:
    """Some rounds of the evening."""

    rounds: range
    seconds: float
    """Processor time of the program a round, from Enter until the next round is asked for."""
    fit_seconds: float
    """The same of the fit alone, of the log as it stood then."""
    megabytes: float
    """Held when they were logged."""


def spent(pid: int) -> float:
    """Processor time a process has taken, seconds."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / _TICKS


def held(pid: int) -> float:
    """Memory a process holds, MB."""
    status = Path(f"/proc/{pid}/status").read_text()
    return float(status.partition("VmRSS:")[2].split()[0]) / 1024


def fit_time(library: Library) -> float:
    log = to_drift_log(library.open("Hut hat").state)
    fit(log)
    begun = time.process_time()
    for _ in range(5):
        fit(log)
    return (time.process_time() - begun) / 5


def evening(library: Library, rounds: int, of: int) -> list[Stretch]:
    """Log an evening's rounds, and measure stretches of ``of`` of them."""
    library.create("Hut hat", make_facts(stitches=128, planned_rounds=2 * rounds))
    terminal = Terminal(library.folder, size=(80, 24))
    source, found = random.Random(7), []
    try:
        terminal.wait_for("Hut hat")
        terminal.type("\r")
        terminal.wait_for("Round 1 ")
        begun = spent(terminal.pid)
        for number in range(1, rounds + 1):
            terminal.type(f"{37 + round(2 * source.gauss(0, 0.6)) / 2:g}\r")
            terminal.wait_for(f"Saved: round {number} at")
            terminal.wait_for(f"Round {number + 1}: expect" if number > 2 else "Round")
            if number % of == 0:
                terminal.look()
                now = spent(terminal.pid)
                seconds = (now - begun) / of
                stretch = range(number - of + 1, number + 1)
                found.append(Stretch(stretch, seconds, fit_time(library), held(terminal.pid)))
                begun = spent(terminal.pid)
        terminal.type("\x11")
        assert terminal.ended() == 0
    finally:
        terminal.close()
    assert library.open("Hut hat").state.last_round == rounds
    return found


def checked(found: list[Stretch]) -> None:
    print("\n| rounds | a round, ms | of it the fit, ms | memory, MB |\n| --- | --- | --- | --- |")
    for one in found:
        print(
            f"| {one.rounds.start} to {one.rounds.stop - 1} | {1000 * one.seconds:.0f} "
            f"| {1000 * one.fit_seconds:.0f} | {one.megabytes:.0f} |"
        )
    assert found[-1].megabytes <= MOST_GROWTH * found[0].megabytes


def test_an_hour(library: Library) -> None:
    """A small sample of the long run."""
    checked(evening(library, 40, 10))


@pytest.mark.long
def test_a_thousand_rounds(library: Library) -> None:
    found = evening(library, 1000, 100)
    checked(found)
    first, last = found[0], found[-1]
    # what else is done with a round grows no faster than the fit does
    assert last.seconds / first.seconds <= max(1.25, last.fit_seconds / first.fit_seconds)
