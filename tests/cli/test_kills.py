"""The command line killed at random moments: what it acknowledged is there afterwards."""

import os
import random
import subprocess
import sys
import time
from pathlib import Path

import pytest

from knitlog.journal.store import JournalFile

from .conftest import ROOT, Knitlog


def log_until_killed(folder: Path, stitch: int, after: float) -> bool:
    """Log one round; kill the process ``after`` seconds.  True if it was acknowledged."""
    process = subprocess.Popen(
        [sys.executable, "-m", "knitlog", "log", "red-hat", str(stitch)],
        stdout=subprocess.PIPE,
        cwd=ROOT,
        env={**os.environ, "KNITLOG_FOLDER": str(folder)},
    )
    try:
        process.wait(after)
    except subprocess.TimeoutExpired:
        process.kill()
    out, _ = process.communicate()
    return out.endswith(b"\n")


def kill_many(folder: Path, kills: int, seed: int) -> tuple[int, int]:
    """Log with a random kill each time; returns how many were acknowledged and how many not."""
    rng = random.Random(seed)
    begun = time.perf_counter()
    assert log_until_killed(folder, 1, 60)
    usual = time.perf_counter() - begun
    acknowledged = [1]
    for stitch in range(2, kills + 2):
        # most kills fall where the file is opened, locked, written and flushed
        if log_until_killed(folder, stitch % 97, rng.uniform(0.5, 1.15) * usual):
            acknowledged.append(stitch % 97)
        state = JournalFile.open(folder / "red-hat.knitlog").state
        kept = [e.positions[0].stitch for e in state.entries]
        left = iter(kept)
        assert all(s in left for s in acknowledged), "an acknowledged round is gone or out of order"
    return len(acknowledged), kills + 1 - len(acknowledged)


def test_a_few_kills(knitlog: Knitlog, folder: Path) -> None:
    knitlog("new", "Red hat", "--stitches", "96")
    acknowledged, _ = kill_many(folder, 4, seed=1)
    assert acknowledged >= 1
    assert knitlog("log", "red-hat", "40").code == 0


@pytest.mark.long
def test_a_thousand_kills(knitlog: Knitlog, folder: Path) -> None:
    knitlog("new", "Red hat", "--stitches", "96")
    acknowledged, killed = kill_many(folder, 1000, seed=2)
    print(f"\n{acknowledged} rounds acknowledged, {killed} killed before; every one is there")
    assert killed > 100
    assert acknowledged > 100
    assert knitlog("log", "red-hat", "40").code == 0


def test_eight_at_once_lose_nothing(knitlog: Knitlog, folder: Path) -> None:
    knitlog("new", "Red hat", "--stitches", "96")
    environment = {**os.environ, "KNITLOG_FOLDER": str(folder)}
    processes = [
        subprocess.Popen(
            [sys.executable, "-m", "knitlog", "log", "red-hat", str(stitch)],
            stdout=subprocess.DEVNULL,
            cwd=ROOT,
            env=environment,
        )
        for stitch in range(1, 9)
    ]
    assert [p.wait(60) for p in processes] == [0] * 8
    state = JournalFile.open(folder / "red-hat.knitlog").state
    assert [e.round for e in state.entries] == list(range(1, 9))
    assert {e.positions[0].stitch for e in state.entries} == set(map(float, range(1, 9)))
