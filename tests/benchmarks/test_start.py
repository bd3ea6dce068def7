"""How long the command line takes to start, beside what it stands on, in one run.

Processor time (user and system) of fresh processes, started in turn, best of several:
the best is the least disturbed by whatever else the machine is doing.  Nothing absolute
is asserted.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
BARE = ("-c", "import click, pydantic")
STANDS_ON = (
    "-c",
    "import click, filelock, pathlib; from pydantic import AwareDatetime, BaseModel, TypeAdapter",
)
LOG = ("-m", "knitlog", "log", "hat", "=")
VERSION = ("-m", "knitlog", "--version")


def processor_seconds(arguments: tuple[str, ...], environment: dict[str, str]) -> float:
    """User and system time of one run."""
    process = subprocess.Popen(
        [sys.executable, *arguments], cwd=ROOT, env=environment, stdout=subprocess.DEVNULL
    )
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    assert process.returncode == 0
    return usage.ru_utime + usage.ru_stime


def best_times(folder: Path, repeats: int) -> dict[tuple[str, ...], float]:
    """Seconds of the quickest run of each command, started in turn."""
    environment = {**os.environ, "KNITLOG_FOLDER": str(folder)}
    processor_seconds(("-m", "knitlog", "new", "hat", "--stitches", "96"), environment)
    processor_seconds(("-m", "knitlog", "log", "hat", "37"), environment)
    best: dict[tuple[str, ...], float] = {}
    for _ in range(repeats):
        for command in (BARE, STANDS_ON, LOG, VERSION):
            best[command] = min(best.get(command, 60.0), processor_seconds(command, environment))
    return best


@pytest.mark.long
def test_logging_one_round_beside_what_it_stands_on(tmp_path: Path) -> None:
    best = best_times(tmp_path, repeats=25)
    print("\nprocessor time   / bare  / all it stands on")
    for command, seconds in best.items():
        ratio, on_models = seconds / best[BARE], seconds / best[STANDS_ON]
        print(
            f"{1000 * seconds:7.1f} ms      {ratio:5.2f}     {on_models:5.2f}  {' '.join(command)}"
        )
    assert best[LOG] < 2.0 * best[STANDS_ON]


def test_logging_a_round_starts_in_the_time_of_a_few_imports(tmp_path: Path) -> None:
    """A small sample of the long run, with room for a busy machine."""
    best = best_times(tmp_path, repeats=3)
    assert best[LOG] < 4.0 * best[STANDS_ON]
