"""Several command lines on one project at once."""

import os
import subprocess
import sys
from pathlib import Path

from knitlog.journal.store import JournalFile

from .conftest import ROOT, Knitlog


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
