"""Leaving at once, whoever asks: a key, a signal, or the terminal that is closed.

What is logged is on disk before anything is shown, so there is nothing to wait for.  The
framework waits a fifth of a second for its thread that reads the keyboard; when told to end by
a signal it leaves the terminal as it is; told to lie still while it writes, it waits for itself;
and where the terminal is gone and nobody sends a signal, it reads on for ever.
"""

from __future__ import annotations

import contextlib
import os
import select
import signal
import termios
import threading
from typing import Any

from textual.drivers.linux_driver import LinuxDriver


class PromptDriver(LinuxDriver):
    """The framework's driver for terminals, that ends as soon as it is told to."""

    def __init__(self, *arguments: Any, **options: Any) -> None:
        """Take signals; SIGTERM and SIGINT leave the way Ctrl+Q does."""
        super().__init__(*arguments, **options)
        # by way of the loop, between two callbacks: elsewhere a signal may fall where a queue is
        # locked, and one that another thread is given wakes nobody
        for number, do in (
            (signal.SIGTERM, self._app.exit),
            (signal.SIGINT, self._app.exit),
            (signal.SIGTSTP, self._sigtstp_application),
            (signal.SIGCONT, self._sigcont_application),
        ):
            self._loop.add_signal_handler(number, do)
        threading.Thread(target=self._end_with_the_terminal, daemon=True).start()

    def disable_input(self) -> None:
        """Stop reading; on the way out, without waiting for whoever reads to notice."""
        if not self._app._exit:
            super().disable_input()
        elif not self.exit_event.is_set():
            self._disable_mouse_support()
            self.exit_event.set()
            with contextlib.suppress(termios.error):  # the terminal is gone
                termios.tcflush(self.fileno, termios.TCIFLUSH)

    def _end_with_the_terminal(self) -> None:
        """Wait for the terminal to be closed, where the signal that says so is ignored."""
        hung_up = select.poll()
        hung_up.register(self.fileno, 0)
        if any(seen & select.POLLHUP for _, seen in hung_up.poll()):
            os._exit(1)
