"""A monkey at the keyboard: seeded keys, clicks, resizes and pastes in a real pseudo-terminal.

It knows nothing of the screens.  It watches that the program stays, that it answers, that every
journal only ever grows, and that each round said to be saved is in one.

Run by hand: ``python -m tests.tui.monkey SEED EVENTS``.
"""

import json
import random
import re
import signal
import statistics
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import NoReturn

import pexpect

from knitlog.journal import actions
from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library

from .terminal import start

ESCAPE = re.compile(rb"\x1b(?:\[[0-?]*[ -/]*[@-~]|\][^\x07\x1b]*(?:\x07|\x1b\\)|[@-Z\\-_])")
SAVED = re.compile(r"Saved: (?:round|row) (\d+) at stitch (\d+(?:\.\d+)?)\.(?=[^\d])")
FUNCTION_KEYS = [
    "\x1bOP", "\x1bOQ", "\x1bOR", "\x1bOS", "\x1b[15~", "\x1b[17~", "\x1b[18~", "\x1b[19~",
    "\x1b[20~",
]  # fmt: skip
MOVES = [
    "\x1b[A", "\x1b[B", "\x1b[C", "\x1b[D", "\x1b[5~", "\x1b[6~", "\x1b[H", "\x1b[F",
    "\x1b[1;5H", "\x1b[1;5F", "\x1b[3~", "\t", "\x1b[Z",
]  # fmt: skip
CONTROL = [chr(code) for code in range(1, 27) if chr(code) not in "\x11\x13\t\r\n"] + ["\x13"]
ENTRIES = ["37\r", "+2\r", "=\r", "-1.5\r", "40 101\r", "64\r", "5\r", "38,5\r", "999\r", "41 @7\r"]
HOME = "\x1b[H"
PLAIN = ["+1\r", "=\r", "-1\r", "+2\r"]
TYPED = ["wool", "128", "4.5mm", "152cm", "rose 30cm, moss 45cm", "20 st/10cm", "1, 2", "-3", ""]
LEAVE = "\x11"
LONGEST_WAIT = 20.0
STALL = 1.0


@dataclass
class Seen:
    """What the monkey saw."""

    events: int = 0
    starts: int = 0
    waits: list[float] = field(default_factory=list)
    """Seconds from a resize to the first thing drawn."""
    stalls: list[str] = field(default_factory=list)
    leaving: list[float] = field(default_factory=list)
    """Seconds from Ctrl+Q until the program was gone."""
    acknowledged: int = 0


class Window:
    """One window on the folder, with whatever is drawn in it read and searched."""

    def __init__(self, folder: Path, seen: Seen, source: random.Random) -> None:
        self._folder, self._seen, self._source = folder, seen, source
        self.drawn = b""
        self.size = (80, 24)
        self.begin()

    def begin(self) -> None:
        """Start the program, and open a project."""
        self.child = start(self._folder, size=self.size, KNITLOG_DEBUG="1")
        self._seen.starts += 1
        self.read(LONGEST_WAIT)
        self.read(0.5)
        self.child.send("\x1b[B" * self._source.randrange(6) + "\r")  # any project

    def read(self, patience: float) -> bool:
        """Read what is drawn, waiting so long for the first of it; False if nothing came."""
        found = False
        try:
            while True:
                self.drawn += self.child.read_nonblocking(1 << 16, 0 if found else patience)
                found = True
        except (pexpect.TIMEOUT, pexpect.EOF):
            return found

    def catch_up(self) -> None:
        """Let it deal with what was pressed, to the last key, and read what it draws."""
        deadline = time.monotonic() + LONGEST_WAIT
        still = 0
        while still < 3 and time.monotonic() < deadline:
            still = 0 if self.read(0.01) or self._is_busy() else still + 1

    def _is_busy(self) -> bool:
        """Whether the thread that takes the keys runs, or would if a processor were free."""
        try:
            stat = Path(f"/proc/{self.child.pid}/stat").read_text()
        except OSError:
            return False  # gone
        return stat.rpartition(")")[2].split()[0] == "R"

    def saved(self) -> list[tuple[int, float]]:
        """Rounds said to be saved since the last time."""
        words = ESCAPE.sub(b"", self.drawn).decode("utf-8", "replace")
        self.drawn = b""
        return [(int(number), float(stitch)) for number, stitch in SAVED.findall(words)]

    def resize(self, size: tuple[int, int]) -> None:
        """Another size of the terminal."""
        self.size = size
        self.child.setwinsize(*size[::-1])

    def is_gone(self) -> bool:
        """Whether the program has left."""
        return not self.child.isalive()


def knit(folder: Path) -> None:
    """Projects of all sizes: none logged, a few rounds, a long one, a finished one, flat work."""
    library = Library(folder)
    source = random.Random(1)

    def make(name: str, rounds: int, *, fixes: bool = False, **facts: object) -> None:
        journal = library.create(name, make_facts(stitches=128, needle_mm=4.5, **facts))
        place = 37.0
        for number in range(rounds):
            actions.log_round(journal, [round(2 * place) / 2 % 128])
            place += source.gauss(0.8, 0.7)
            if fixes and number % 2:
                actions.make_fix(journal, 1.5)
                place -= 1.5
            if fixes and number % 5 == 4:
                actions.change_needle(journal, 4.5 + number % 2)
        if name == "done":
            actions.finish(journal)

    make("done", 30, repeat_length_mm=1524.0)
    make("begun", 0, repeat_length_mm=1524.0)
    make("long", 300)
    make("mended", 120, fixes=True, repeat_length_mm=1524.0, planned_rounds=200)
    make("flat", 9, flat=True)
    make("short", 6, repeat_length_mm=1524.0, planned_rounds=60, needles_owned_mm=(4.0, 5.0))


class Monkey:
    """Presses keys in one window or two, and checks after each burst."""

    def __init__(self, folder: Path, seed: int, *, windows: int = 1) -> None:
        self.folder, self.source, self.seen = folder, random.Random(seed), Seen()
        self.windows = [Window(folder, self.seen, self.source) for _ in range(windows)]
        self.journals: dict[Path, bytes] = {}
        self.pressed: list[str] = []

    def play(self, events: int) -> Seen:
        """So many events; raises AssertionError at the first thing that is wrong."""
        while self.seen.events < events:
            window = self.source.choice(self.windows)
            if self.source.random() < 0.1:
                self._knit(window)
            else:
                self._burst(window)
        for window in self.windows:
            self._leave(window)
        return self.seen

    def close(self) -> None:
        """End the programs."""
        for window in self.windows:
            window.child.close(force=True)

    def _key(self) -> str:
        pick = self.source.random
        kinds = (
            (0.16, lambda: self.source.choice("abcdefghijklmnopqrstuvwxyz")),
            (0.24, lambda: self.source.choice("0123456789")),
            (0.42, lambda: self.source.choice(ENTRIES)),
            (0.50, lambda: "\r"),
            (0.57, lambda: "\x1b\x1b"),
            (0.68, lambda: self.source.choice(FUNCTION_KEYS)),
            (0.80, lambda: self.source.choice(MOVES)),
            (0.88, lambda: self.source.choice(CONTROL)),
            (0.93, self._mouse),
            (0.96, lambda: self.source.choice("?+-=.,;@!/ ½é漢")),
            (0.98, lambda: f"\x1b[200~{self.source.choice(TYPED)}\x1b[201~"),
            (1.00, lambda: self.source.choice(TYPED)),
        )
        at = pick()
        return next(make() for limit, make in kinds if at <= limit)

    def _mouse(self) -> str:
        column, line = self.source.randint(1, 80), self.source.randint(1, 24)
        button = self.source.choice((0, 0, 0, 2, 64, 65, 35))
        press = f"\x1b[<{button};{column};{line}M"
        return press if button >= 35 else f"{press}\x1b[<{button};{column};{line}m"

    def _press(self, window: Window, key: str) -> None:
        self.pressed.append(key)
        self.seen.events += 1
        window.child.send(key)

    def _knit(self, window: Window) -> None:
        """Back to the list, open the project knitted last, and log a few rounds in a row."""
        for _ in range(5):
            self._press(window, "\x1b")
            window.read(0.15)  # or it would be read as Alt and the next
        window.catch_up()
        self._check(window)
        for key in (HOME, "\r"):
            self._press(window, key)
        window.catch_up()
        if b"Finished" in window.drawn:
            self._press(window, "u")  # as far as that was what was done last
        for _ in range(4):
            self._press(window, self.source.choice(PLAIN))
            window.catch_up()
            if b"Keep it" in window.drawn:
                self._press(window, "y")
            self._looked_at(window)

    def _burst(self, window: Window) -> None:
        quick = self.source.random() < 0.7
        for _ in range(self.source.randint(1, 60 if quick else 6)):
            self._press(window, self._key())
            if not quick:
                window.read(0.01)
        self._looked_at(window)

    def _looked_at(self, window: Window) -> None:
        """Let it catch up, and check what it left."""
        window.catch_up()
        if self.source.random() < 0.08:
            self._probe(window)
        if window.is_gone():
            self._gone(window)
        self._check(window)

    def _probe(self, window: Window) -> None:
        """Another size must be drawn anew, within a second."""
        window.catch_up()
        sizes = [(80, 24), (81, 25), (120, 40), (60, 16), (100, 30), (200, 60)]
        window.resize(self.source.choice([size for size in sizes if size != window.size]))
        self.seen.events += 1
        begun = time.monotonic()
        if not window.read(LONGEST_WAIT) and not window.is_gone():
            self._say_where(window, "hung")
        waited = time.monotonic() - begun
        self.seen.waits.append(waited)
        if waited > STALL:
            self.seen.stalls.append(f"{waited:.1f} s; {self._last()}")

    def _say_where(self, window: Window, wrong: str) -> NoReturn:
        window.child.kill(signal.SIGABRT)  # the threads tell where they are
        window.read(5.0)
        window.read(1.0)
        raise AssertionError(f"{wrong}; {self._last()}\n{self._tail(window)}")

    def _gone(self, window: Window) -> None:
        window.read(0.1)
        status = (window.child.exitstatus, window.child.signalstatus)
        # Ctrl+C before it listens to keys, or once it no longer does, is the terminal's own
        assert status in ((0, None), (None, signal.SIGINT)), (
            f"ended with {status}; {self._last()}\n{self._tail(window)}"
        )
        self._reports()
        window.begin()

    def _leave(self, window: Window) -> None:
        window.catch_up()
        begun = time.monotonic()
        window.child.send(LEAVE)
        while not window.is_gone():
            if time.monotonic() - begun > LONGEST_WAIT:
                self._say_where(window, "does not leave")
            window.read(0.01)
        self.seen.leaving.append(time.monotonic() - begun)
        self._reports()

    def _check(self, window: Window) -> None:
        for path in self.folder.glob("*.knitlog"):
            now = path.read_bytes()
            before = self.journals.get(path, b"")
            assert now.startswith(before), f"{path.name} lost something; {self._last()}"
            self.journals[path] = now
        saved = window.saved()
        if saved:
            logged = self._logged()
            missing = [each for each in saved if each not in logged]
            assert not missing, f"{missing} said to be saved, and is not; {self._last()}"
            self.seen.acknowledged += len(saved)
        self._reports()

    def _logged(self) -> set[tuple[int, float]]:
        """Round and stitch of every round in any journal, the stitch as it is said."""
        return {
            (event["round"], round(float(position["stitch"]), 1))
            for text in self.journals.values()
            for event in map(json.loads, text.splitlines())
            for position in event.get("positions", ())
        }

    def _reports(self) -> None:
        for path in (self.folder / "reports").glob("*"):
            raise AssertionError(f"{path.read_text()[:7000]}\n{self._last()}")

    def _last(self) -> str:
        return f"event {self.seen.events}, last pressed {self.pressed[-30:]!r}"

    @staticmethod
    def _tail(window: Window) -> str:
        return ESCAPE.sub(b"", window.drawn).decode("utf-8", "replace")[-9000:]


def told(seen: Seen) -> str:
    """One line of what was seen."""
    waits = sorted(seen.waits) or [0.0]
    return (
        f"{seen.events} events, {seen.starts} starts, {seen.acknowledged} rounds acknowledged, "
        f"answers in {statistics.median(waits):.3f} s (longest {waits[-1]:.2f}), "
        f"leaves in {max(seen.leaving, default=0):.2f} s, {len(seen.stalls)} stalls"
    )


def main() -> None:
    """Play by hand."""
    seed, events = int(sys.argv[1]), int(sys.argv[2])
    with tempfile.TemporaryDirectory() as folder:
        knit(Path(folder))
        monkey = Monkey(Path(folder), seed, windows=1 + seed % 2)
        begun = time.monotonic()
        try:
            seen = monkey.play(events)
            print(told(seen), f"in {time.monotonic() - begun:.0f} s")
            print(*seen.stalls, sep="\n")
        finally:
            monkey.close()


if __name__ == "__main__":
    main()
