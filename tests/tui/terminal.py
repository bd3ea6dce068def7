"""The whole program in a real pseudo-terminal, and what stands on its screen."""

import os
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pexpect
import pyte

WIDTH, HEIGHT = 80, 24
TAKEN = {number << 5 for number in (1000, 1003, 1006, 1049, 2004)}
"""What screens switch on: the mouse, the second screen, pastes in brackets; private, so shifted."""
CURSOR = 25 << 5
PATIENCE_SECONDS = 30.0


def start(
    folder: Path,
    *arguments: str,
    size: tuple[int, int] = (WIDTH, HEIGHT),
    ignore_sighup: bool = False,
    before: str = "",
    **environ: str,
) -> pexpect.spawn:
    """Start knitlog on ``folder`` in a terminal of ``size``; Python runs ``before`` first."""
    inherited = {name: value for name, value in os.environ.items() if name != "NO_COLOR"}
    child = pexpect.spawn(
        sys.executable,
        [
            "-X",
            "faulthandler",
            "-c",
            f"{before}\nfrom knitlog.__main__ import main; main()",
            *arguments,
        ],
        env={
            **inherited,
            "KNITLOG_FOLDER": str(folder),
            "TERM": "xterm-256color",
            "LANG": "C.UTF-8",
            "LC_ALL": "C.UTF-8",
            "TEXTUAL_ANIMATIONS": "none",
            **environ,
        },
        dimensions=size[::-1],
        timeout=PATIENCE_SECONDS,
        ignore_sighup=ignore_sighup,
        preexec_fn=None if ignore_sighup else _mind_hanging_up,
    )
    child.delaybeforesend = None  # keys come as fast as they are sent
    return child


def _mind_hanging_up() -> None:
    """As a shell starts programs, also where the tests run under nohup."""
    signal.signal(signal.SIGHUP, signal.SIG_DFL)


def _bit(number: signal.Signals) -> int:
    return 1 << (number - 1)


class Terminal:
    """A terminal with the program running in it."""

    def __init__(
        self,
        folder: Path,
        *arguments: str,
        size: tuple[int, int] = (WIDTH, HEIGHT),
        ignore_sighup: bool = False,
        before: str = "",
        **environ: str,
    ) -> None:
        self._screen = pyte.Screen(*size)
        self._stream = pyte.ByteStream(self._screen)
        self._child = start(
            folder, *arguments, size=size, ignore_sighup=ignore_sighup, before=before, **environ
        )

    @property
    def text(self) -> str:
        """What stands on the screen."""
        return "\n".join(self._screen.display)

    @property
    def pid(self) -> int:
        """The number of the program's process."""
        return int(self._child.pid)

    @property
    def is_taken(self) -> bool:
        """Whether the screens have the terminal, and every key."""
        return self._screen.mode >= TAKEN

    @property
    def is_given_back(self) -> bool:
        """Whether the terminal is as it was before the program began."""
        return not self._screen.mode & TAKEN and CURSOR in self._screen.mode

    def wait_for(self, words: str | Callable[[str], bool]) -> None:
        """Read what the program draws until ``words`` stand on the screen."""
        deadline = time.monotonic() + PATIENCE_SECONDS
        while not (words in self.text if isinstance(words, str) else words(self.text)):
            if time.monotonic() > deadline:
                raise AssertionError(f"never saw {words!r} in\n{self.text}")
            try:
                self._stream.feed(self._child.read_nonblocking(65536, timeout=0.2))
            except pexpect.TIMEOUT:
                continue

    def wait_until_begun(self) -> None:
        """Wait until the first line of knitlog has been run; before, a signal is Python's.

        Python catches SIGINT as it starts, knitlog lets it go, and the screens take SIGTERM.  (An
        interrupt that falls into one of Python's own callbacks is told, and lost.)
        """
        deadline = time.monotonic() + PATIENCE_SECONDS
        begun = False
        while True:
            status = Path(f"/proc/{self._child.pid}/status").read_text()
            caught = int(status.partition("SigCgt:")[2].split()[0], 16)
            if caught & _bit(signal.SIGTERM) or (begun and not caught & _bit(signal.SIGINT)):
                return
            begun |= bool(caught & _bit(signal.SIGINT))
            assert time.monotonic() < deadline
            time.sleep(0.001)

    def type(self, text: str) -> None:
        """Type on the keyboard."""
        self._child.send(text)

    def send(self, number: signal.Signals) -> None:
        """Send the program a signal."""
        self._child.kill(number)

    def is_stopped(self) -> bool:
        """Whether the program lies still after Ctrl+Z."""
        status = Path(f"/proc/{self._child.pid}/stat").read_text()
        return status.rpartition(")")[2].split()[0] == "T"

    def hang_up(self) -> None:
        """Close the terminal under the program."""
        self._child.ptyproc.fileobj.close()

    def ended(self) -> int:
        """Wait for the program to leave; its exit code, or the signal it died of below zero."""
        deadline = time.monotonic() + PATIENCE_SECONDS
        while self._child.isalive():
            assert time.monotonic() < deadline, f"still there:\n{self.text}"
            self.look()
        self.look()
        return int(self._child.exitstatus or -(self._child.signalstatus or 0))

    def look(self) -> None:
        """Read what is drawn until nothing comes for a moment."""
        try:
            while True:
                self._stream.feed(self._child.read_nonblocking(65536, timeout=0.02))
        except (pexpect.TIMEOUT, pexpect.EOF):
            return
        except OSError:  # hung up
            time.sleep(0.02)

    def close(self) -> None:
        """End the program, whatever it is at."""
        self._child.close(force=True)
