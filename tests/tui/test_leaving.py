"""Leaving: at once, with everything saved and the terminal as it was, whoever asks for it."""

import random
import re
import signal
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pexpect
import pytest

from knitlog.cli import run
from knitlog.journal import actions, disk
from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile
from knitlog.tui.app import KnitlogApp

from .terminal import Terminal

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals and terminals of POSIX")
BARE = """
import threading
from textual.app import App
from textual.widgets import Static

def work_out():
    while True:
        sum(number * number for number in range(1000))

class Bare(App):
    def compose(self):
        yield Static("ready")
    def on_mount(self):
        threading.Thread(target=work_out, daemon=True).start()

Bare().run()
"""
"""The framework alone, with something to work out in a thread."""
MOST_TIMES_BARE = 1.4
"""0.3 s on a quiet machine, where the framework alone takes 0.21 s to leave."""
ENDLESS = """
from knitlog.analysis import analysis

def work_out(*args, **kwargs):
    while True:
        sum(number * number for number in range(1000))

analysis.analyse = work_out
"""
"""No look ever ends: whoever waits for one waits for good."""

Open = Callable[..., Terminal]


@pytest.fixture
def open_terminal(tmp_path: Path) -> Iterator[Open]:
    facts = make_facts(stitches=128, needle_mm=4.5, repeat_length_mm=1524.0, planned_rounds=200)
    journal = Library(tmp_path / "wool").create("hat", facts)
    for number in range(100):
        actions.log_round(journal, [(37 + 1.5 * (number % 7) + number) % 128])
    opened = []

    def open_one(*, ignore_sighup: bool = False, before: str = "") -> Terminal:
        terminal = Terminal(tmp_path / "wool", ignore_sighup=ignore_sighup, before=before)
        opened.append(terminal)
        return terminal

    yield open_one
    for terminal in opened:
        terminal.close()


def at_the_needles(terminal: Terminal) -> Terminal:
    terminal.wait_for("Last knitted")
    terminal.type("\r")
    terminal.wait_for("= in line")
    return terminal


def log(terminal: Terminal, stitch: int) -> None:
    terminal.type(f"{stitch}\r")
    terminal.wait_for(f"at stitch {stitch}.")


def wait_until_stopped(terminal: Terminal) -> None:
    deadline = time.monotonic() + 20
    while not terminal.is_stopped():
        assert time.monotonic() < deadline
        terminal.look()


def is_logged(folder: Path, stitch: float) -> bool:
    """Whether the last round of any journal changed colour there; its lock is free."""
    last = []
    for path in folder.glob("*.knitlog"):
        with disk.locked(path):
            journal = JournalFile.open(path)
        assert not journal.state.problems
        last += [entry.positions[0].stitch for entry in journal.state.entries[-1:]]
    return stitch in last


def bare_seconds_to_leave() -> float:
    child = pexpect.spawn(sys.executable, ["-c", BARE], dimensions=(24, 80), timeout=30)
    child.delaybeforesend = None
    child.expect("ready")
    begun = time.monotonic()
    child.send("\x11")
    child.expect(pexpect.EOF)
    child.wait()
    return time.monotonic() - begun


def seconds_to_leave(terminal: Terminal) -> float:
    begun = time.monotonic()
    terminal.type("\x11")  # the advice is on its way
    assert terminal.ended() == 0
    assert terminal.is_given_back
    return time.monotonic() - begun


def test_ctrl_q_leaves_whatever_is_worked_out(open_terminal: Open, tmp_path: Path) -> None:
    terminal = at_the_needles(open_terminal(before=ENDLESS))
    log(terminal, 40)
    seconds_to_leave(terminal)
    assert is_logged(tmp_path / "wool", 40.0)


@pytest.mark.long
def test_ctrl_q_leaves_about_as_soon_as_the_framework_alone(open_terminal: Open) -> None:
    ours, bare = [], []
    for _ in range(10):
        ours.append(seconds_to_leave(at_the_needles(open_terminal())))
        bare.append(bare_seconds_to_leave())
    print(f"\nleaves in {min(ours):.3f} s; the framework alone {min(bare):.3f} s")
    assert min(ours) < MOST_TIMES_BARE * min(bare)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_leaves_as_ctrl_q_does(
    open_terminal: Open, tmp_path: Path, number: signal.Signals
) -> None:
    terminal = at_the_needles(open_terminal())
    log(terminal, 41)
    terminal.send(number)
    assert terminal.ended() == 0
    assert terminal.is_given_back
    assert "Traceback" not in terminal.text
    assert is_logged(tmp_path / "wool", 41.0)


@pytest.mark.parametrize("ignore_sighup", [False, True])
def test_a_closed_terminal_ends_it(
    open_terminal: Open, tmp_path: Path, ignore_sighup: bool
) -> None:
    terminal = at_the_needles(open_terminal(ignore_sighup=ignore_sighup))
    log(terminal, 42)
    terminal.hang_up()
    assert terminal.ended() == (1 if ignore_sighup else -signal.SIGHUP)
    assert is_logged(tmp_path / "wool", 42.0)


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs /proc")
def test_ctrl_z_lies_still_and_goes_on(open_terminal: Open, tmp_path: Path) -> None:
    terminal = at_the_needles(open_terminal())
    log(terminal, 43)
    terminal.send(signal.SIGTSTP)
    wait_until_stopped(terminal)
    terminal.wait_for(lambda _: terminal.is_given_back)
    assert is_logged(tmp_path / "wool", 43.0)  # whoever writes meanwhile finds the lock free
    terminal.send(signal.SIGCONT)
    terminal.wait_for(lambda _: terminal.is_taken)
    log(terminal, 44)
    terminal.type("\x11")
    assert terminal.ended() == 0
    assert is_logged(tmp_path / "wool", 44.0)


def test_a_sample_tried_is_forgotten_also_when_told_to_end(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    monkeypatch.delenv("KNITLOG_FOLDER", raising=False)
    terminal = Terminal(tmp_path / "wool", "try", KNITLOG_FOLDER="")
    try:
        terminal.wait_for("= in line")
        assert list(tmp_path.glob("knitlog-try-*"))
        terminal.send(signal.SIGTERM)
        assert terminal.ended() == 0
    finally:
        terminal.close()
    assert not list(tmp_path.glob("knitlog-try-*"))


def end_at_random(folder: Path, attempts: int, seed: int) -> tuple[int, int]:
    """Let the screens be told to end at whatever moment; how often by themselves, and rounds told.

    Before they have taken the terminal a signal ends the process there and then.
    """
    source = random.Random(seed)
    left, told = 0, 0
    for _ in range(attempts):
        terminal = Terminal(folder)
        try:
            terminal.wait_until_begun()
            told += press_for(terminal, source.uniform(0.0, 2.5), source)
            ways = [signal.SIGTERM, signal.SIGINT, None]
            # without a shell around it, the system itself lets nothing lie still before
            way = source.choice([*ways, signal.SIGTSTP] if terminal.is_taken else ways)
            if way is None:
                terminal.hang_up()
            else:
                terminal.send(way)
            if way is signal.SIGTSTP:
                wait_until_stopped(terminal)
                terminal.send(signal.SIGCONT)
                terminal.send(signal.SIGTERM)
            code = terminal.ended()
            assert code in ({0, -signal.SIGTERM, -signal.SIGINT} if way else {-signal.SIGHUP, 1}), (
                f"{way}: {code}\n{terminal.text}"
            )
            left += code == 0
            assert "Traceback" not in terminal.text
            if way is not None:
                assert not terminal.is_taken, f"{way}: {code}\n{terminal.text}"
        finally:
            terminal.close()
        with disk.locked(folder / "hat.knitlog"):
            journal = JournalFile.open(folder / "hat.knitlog")
        assert not journal.state.problems
        assert journal.state.last_round >= 100 + told
    return left, told


def press_for(terminal: Terminal, seconds: float, source: random.Random) -> int:
    """Press keys for so long; how many rounds it said were saved."""
    deadline = time.monotonic() + seconds
    saved = set()
    while time.monotonic() < deadline:
        terminal.type(source.choice(["\r", "41\r", "+1\r", "=\r"]))
        terminal.look()
        saved |= set(re.findall(r"Saved: round (\d+) at", terminal.text))
    return len(saved)


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="needs /proc")
def test_told_to_end_at_whatever_moment(open_terminal: Open, tmp_path: Path) -> None:
    assert end_at_random(tmp_path / "wool", 4, seed=4)


@pytest.mark.long
def test_told_to_end_at_hundreds_of_moments(open_terminal: Open, tmp_path: Path) -> None:
    left, told = end_at_random(tmp_path / "wool", 300, seed=5)
    print(f"\n300 told to end: {left} left by themselves; {told} rounds told and all kept")
    assert left > 50


@pytest.mark.parametrize("code", [0, 1])
def test_screens_that_could_not_go_on_say_so_to_the_shell(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, code: int
) -> None:
    for stream in (sys.stdin, sys.stdout):
        monkeypatch.setattr(stream, "isatty", lambda: True)
    monkeypatch.setattr(KnitlogApp, "run", lambda self: self.exit(return_code=code))
    assert run(["--folder", str(tmp_path)]) == code
