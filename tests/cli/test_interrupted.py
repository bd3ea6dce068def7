"""Ctrl-C on the command line, at whatever moment: no traceback, nothing half there.

The long run: ``pytest -m long -s tests/cli/test_interrupted.py``.
"""

import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from knitlog.journal import disk
from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
COMMAND = """
import signal
set_up = signal.signal
def tell(*arguments):
    set_up(*arguments)
    print('*', end='', flush=True)
signal.signal = tell
from knitlog.__main__ import main
main()
"""
"""What the installed command does, telling when it has done the first thing it does."""


def log_a_round(folder: Path) -> subprocess.Popen[bytes]:
    """Begin to log a round; returns once knitlog has begun.

    Before its first line a process says what Python says, so that is waited for.
    """
    run = subprocess.Popen(
        [sys.executable, "-c", COMMAND, "--folder", str(folder), "log", "hat", "37"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert run.stdout is not None
    assert run.stdout.read(1) == b"*"
    return run


def interrupt_logging(folder: Path, attempts: int, seed: int) -> tuple[int, int]:
    """Interrupt ``knitlog log`` at random moments; how many were, and how many rounds were told."""
    path = Library(folder).create("hat", make_facts(stitches=128, needle_mm=4.5)).path
    source = random.Random(seed)
    told, interrupted = 0, 0
    begun = log_a_round(folder), time.monotonic()
    begun[0].communicate(timeout=60)
    whole = time.monotonic() - begun[1]
    for _ in range(attempts):
        run = log_a_round(folder)
        time.sleep(source.uniform(0, 1.1 * whole))
        run.send_signal(signal.SIGINT)
        said, complained = run.communicate(timeout=60)
        assert complained == b""
        interrupted += run.returncode == -signal.SIGINT
        told += b"Round" in said
        with disk.locked(path):
            journal = JournalFile.open(path)
        assert not journal.state.problems
        assert len(journal.state.entries) > told
    return interrupted, told


def test_ctrl_c_at_any_moment_of_logging(tmp_path: Path) -> None:
    interrupted, _ = interrupt_logging(tmp_path / "wool", 12, seed=1)
    assert interrupted


@pytest.mark.long
def test_ctrl_c_a_thousand_times(tmp_path: Path) -> None:
    interrupted, told = interrupt_logging(tmp_path / "wool", 1000, seed=2)
    print(f"\n{interrupted} of 1000 interrupted, {told} rounds told and all kept")
    assert interrupted > 100
    assert told > 10
