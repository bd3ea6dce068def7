"""SIGKILL at random moments, through the command line and through the screens.

What the program has told the knitter is an acknowledgement: the command line's
'Round 3 logged', the screens' 'Saved: round 3'.  Each such round must be in the journal
afterwards, and the journal must open.  A small sample runs by default; ``-m long`` runs
700 kills of the command line and 300 of the screens.
"""

import os
import random
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pexpect
import pyte
import pytest

from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL and terminals of Unix")

ROOT = Path(__file__).parents[2]
PATIENCE_SECONDS = 60.0
TOLD = re.compile(r"Round (\d+) logged|Saved: round (\d+) at")


def environment(folder: Path) -> dict[str, str]:
    return {
        **os.environ,
        "KNITLOG_FOLDER": str(folder),
        "PYTHONPATH": str(ROOT),
        "TERM": "xterm-256color",
        "LC_ALL": "C.UTF-8",
        "TEXTUAL_ANIMATIONS": "none",
    }


def rounds_told(text: str) -> set[int]:
    return {int(one or other) for one, other in TOLD.findall(text)}


def check(path: Path, told: set[int], kills: int) -> None:
    state = JournalFile.open(path).state
    logged = {entry.round for entry in state.entries}
    assert told <= logged, sorted(told - logged)
    assert len(logged) <= len(told) + kills
    assert len(state.problems) <= kills


def new_project(folder: Path) -> Path:
    return Library(folder).create("Hut shawl", make_facts(stitches=128)).path


def kill_commands(folder: Path, kills: int, seed: int) -> set[int]:
    """Log a round a process, killing each; give the rounds that were told to be logged."""
    path = new_project(folder)
    command = [sys.executable, "-m", "knitlog", "log", "hut-shawl", "37"]
    begun = time.perf_counter()
    first = subprocess.run(command, env=environment(folder), capture_output=True, check=True)
    usual = time.perf_counter() - begun
    told = rounds_told(first.stdout.decode())
    assert told == {1}
    chance = random.Random(seed)
    for kill in range(1, kills + 1):
        process = subprocess.Popen(command, env=environment(folder), stdout=subprocess.PIPE)
        time.sleep(usual * chance.triangular(0.3, 1.3, 0.9))
        process.kill()
        out, _ = process.communicate()
        told |= rounds_told(out.decode())
        check(path, told, kill)
    return told


class Screens:
    """The screens in a pseudo-terminal."""

    def __init__(self, folder: Path) -> None:
        self.told: set[int] = set()
        self._screen = pyte.Screen(80, 24)
        self._stream = pyte.ByteStream(self._screen)
        self._child = pexpect.spawn(
            sys.executable, ["-m", "knitlog"], env=environment(folder), dimensions=(24, 80)
        )

    @property
    def text(self) -> str:
        return "\n".join(self._screen.display)

    def read(self, seconds: float) -> None:
        """Draw what comes within that time, and note what the knitter is told."""
        try:
            self._stream.feed(self._child.read_nonblocking(65536, timeout=seconds))
        except (pexpect.TIMEOUT, pexpect.EOF):
            return
        self.told |= rounds_told(self.text)

    def wait_for(self, words: str, *, pressing: str = "") -> None:
        """Wait for words to be shown, pressing a key every few seconds meanwhile."""
        deadline = time.monotonic() + PATIENCE_SECONDS
        press_at = time.monotonic()
        while words not in self.text:
            if pressing and time.monotonic() >= press_at:
                self._child.send(pressing)
                press_at += 3.0
            assert time.monotonic() < deadline, f"never saw {words!r} in\n{self.text}"
            self.read(0.2)

    def log_one(self) -> None:
        """Type a round and wait until it is told to be saved."""
        self._child.send("37\r")
        self.wait_for("Saved: round")

    def log_until(self, deadline: float) -> None:
        """Type a round as soon as the one before is told to be saved."""
        while time.monotonic() < deadline:
            known = len(self.told)
            self._child.send("37\r")
            while len(self.told) == known and time.monotonic() < deadline:
                self.read(max(deadline - time.monotonic(), 0.0))

    def kill(self) -> None:
        self._child.kill(signal.SIGKILL)
        while self._child.isalive():
            self.read(0.05)
        self.read(0.05)
        self._child.close(force=True)


def kill_screens(folder: Path, kills: int, seed: int) -> set[int]:
    """Log rounds on the screens until they are killed; give the rounds told to be saved."""
    path = new_project(folder)
    chance = random.Random(seed)
    told: set[int] = set()
    for kill in range(1, kills + 1):
        screens = Screens(folder)
        try:
            screens.wait_for("Hut shawl")
            screens.wait_for("a stitch, then Enter", pressing="\r")
            if chance.random() < 0.8:
                screens.log_one()
            screens.log_until(time.monotonic() + chance.uniform(0.05, 1.0))
        finally:
            screens.kill()
        told |= screens.told
        check(path, told, kill)
    return told


def test_no_round_told_by_the_command_line_is_lost_to_a_kill(tmp_path: Path) -> None:
    assert kill_commands(tmp_path, 4, seed=1)


def test_no_round_told_by_the_screens_is_lost_to_a_kill(tmp_path: Path) -> None:
    assert kill_screens(tmp_path, 1, seed=1)


@pytest.mark.long
def test_a_thousand_kills_of_both(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    commands = [kill_commands(tmp_path / f"c{n}", 100, seed=n) for n in range(7)]
    screens = [kill_screens(tmp_path / f"s{n}", 30, seed=n) for n in range(10)]
    with capsys.disabled():
        print(
            f"\n700 kills of the command line, {sum(map(len, commands))} rounds told;"
            f" 300 of the screens, {sum(map(len, screens))} rounds told; none lost"
        )
    assert sum(map(len, commands)) > 50
    assert sum(map(len, screens)) > 50
