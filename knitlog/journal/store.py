"""The journal file: one project, one text file, one event a line, only ever appended to.

An append is locked against a second process, written in one call and flushed to
disk before it is acknowledged.  What is in the file is never rewritten: a torn or
damaged line stays where it is, is reported, and the rest is used.
"""

import contextlib
import gc
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from pathlib import Path

from knitlog.journal import disk
from knitlog.journal.errors import JournalError, JournalReadOnlyError
from knitlog.journal.events import SCHEMA, Event, ProjectSetUp, as_written, now
from knitlog.journal.fold import History, SetUpMissingError, fold
from knitlog.journal.lines import Decoded, decode, encode
from knitlog.journal.project import ProjectState
from knitlog.typed.text import plain_text, quoted

SUFFIX = disk.SUFFIX
SHOWN_BYTES = 2000
"""How much of a damaged set-up line is shown; one with every fact is about half as long."""
_BOM = b"\xef\xbb\xbf"

EventMaker = Callable[[ProjectState, History], Event]
"""Makes the event to append from the state as it is once the lock is held."""


class JournalFile:
    """An open journal.  Reading needs no lock; every append takes it for a moment."""

    def __init__(self, path: Path, decoded: Decoded, stamp: disk.Stamp) -> None:
        """Use :meth:`open` or :meth:`create` instead."""
        self.path = path
        self.clock: Callable[[], datetime] = now
        """Tells the moment that an action is logged with."""
        self._take(decoded, stamp)

    @classmethod
    def open(cls, path: str | Path) -> "JournalFile":
        """Open a journal.

        Raises:
            JournalError: it is missing, too large, or no journal at all.

        """
        path = Path(path)
        with _keeping_everything():
            decoded, stamp = _read(path)
            return cls(path, decoded, stamp)

    @classmethod
    def create(cls, path: str | Path, events: ProjectSetUp | Sequence[Event]) -> "JournalFile":
        """Create a journal with its first events, whole or not at all.

        Raises:
            JournalError: there is already such a file, or it cannot be written.

        """
        path = Path(path)
        first = (events,) if isinstance(events, ProjectSetUp) else tuple(events)
        fold(first)
        disk.make_folder(path.parent)
        with disk.locked(path):
            disk.create_file(path, b"".join(encode(e) for e in first))
        return cls.open(path)

    @classmethod
    def mend(cls, path: str | Path, set_up: ProjectSetUp) -> "JournalFile":
        """Open a journal whose set-up line is damaged, by appending a new set-up.

        The rounds in it are then placed by the new facts; the damaged line stays.

        Raises:
            JournalError: the journal needs no mending, or cannot be written.

        """
        path = Path(path)
        with disk.locked(path):
            data, _ = disk.read_file(path)
            decoded = decode(data)
            if any(isinstance(event, ProjectSetUp) for event in decoded.events):
                raise JournalError(f"{quoted(path.name, 100)} needs no mending.")
            if decoded.newer_schema is not None or not _is_ours(data):
                return cls.open(path)  # says what it is instead
            line = encode(set_up)
            disk.append_line(path, b"\n" + line if decoded.open_tail else line)
        return cls.open(path)

    @property
    def state(self) -> ProjectState:
        """The project as it stood when the file was last read or written."""
        return self._state

    @property
    def events(self) -> tuple[Event, ...]:
        """Every event that could be read, in the order they were logged."""
        return self._decoded.events

    def refresh(self) -> bool:
        """Read what other processes have written since; True if there was anything.

        Raises:
            JournalError: the file is gone or cannot be read.

        """
        try:
            if disk.stamp_of(self.path.stat()) == self._stamp:
                return False
        except (OSError, ValueError):
            pass  # reading it says why
        with _keeping_everything():
            self._take(*_read(self.path))
        return True

    def append(self, what: Event | EventMaker) -> ProjectState:
        """Append one event; on return it is on disk.

        ``what`` may be a function, called once the lock is held with the state and the
        history as they then are: what it makes cannot be overtaken by another process.

        Raises:
            JournalError: it was not saved; the sentence says why.

        """
        return self.append_all(
            lambda state, history: [what(state, history) if callable(what) else what]
        )

    def append_all(self, make: Callable[[ProjectState, History], Sequence[Event]]) -> ProjectState:
        """Append several events in one write; on return all are on disk.  None is none.

        Raises:
            JournalError: they were not saved; the sentence says why.

        """
        with disk.locked(self.path):
            self.refresh()
            if self._state.read_only is not None:
                raise JournalReadOnlyError(self._state.read_only)
            events = [as_written(event) for event in make(self._state, self._history)]
            if not events:
                return self._state
            lines = b"".join(map(encode, events))
            if self._decoded.open_tail:
                lines = b"\n" + lines  # leaves a torn line alone, on a line of its own
            stamp = disk.append_line(self.path, lines)
            decoded = self._decoded
            for event in events:
                decoded = decoded.with_event(event)
            self._take(decoded, stamp)
        return self._state

    def what_if(self, *events: Event) -> ProjectState:
        """Give the project as it would be with more events, without saving them."""
        lines = (*self._decoded.lines, *[0] * len(events))
        return self._fold((*self._decoded.events, *events), lines)

    def _take(self, decoded: Decoded, stamp: disk.Stamp) -> None:
        self._decoded, self._stamp = decoded, stamp
        self._history = History(decoded.events, decoded.lines)
        self._state = self._fold(decoded.events, decoded.lines, self._history)

    def _fold(
        self, events: Sequence[Event], lines: Sequence[int], history: History | None = None
    ) -> ProjectState:
        return fold(
            events,
            lines,
            slug=self.path.name.removesuffix(SUFFIX),
            problems=self._decoded.problems,
            read_only=_read_only(self._decoded),
            history=history,
        )


@contextlib.contextmanager
def _keeping_everything() -> Iterator[None]:
    """Put off the collection of garbage: reading makes thousands of objects that all stay.

    Walking them again and again as they grow would take twice as long as reading them.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _read(path: Path) -> tuple[Decoded, disk.Stamp]:
    data, stamp = disk.read_file(path)
    decoded = decode(data)
    name = quoted(path.name, 100)
    if not data or data.isspace():
        raise JournalError(f"{name} is empty; there is no project in it.")
    if not any(isinstance(event, ProjectSetUp) for event in decoded.events):
        if decoded.newer_schema is not None:
            raise JournalError(
                f"{name} was written by a newer knitlog (schema {decoded.newer_schema}; this one "
                f"reads up to {SCHEMA}); install the newer version to open it."
            )
        if decoded.events or _is_ours(data):
            raise SetUpMissingError(
                f"The line of {name} that sets the project up is damaged, so its rounds cannot be "
                "placed; the file is kept as it is. Set the project up again from its facts, with "
                "'knitlog mend'.",
                damaged=_first_words(data),
            )
        raise JournalError(f"{name} is not a knitlog journal; is it the right file?")
    return decoded, stamp


def _first_words(data: bytes) -> str:
    """Give the beginning of the first line, as text that is safe to show."""
    line = data.removeprefix(_BOM).lstrip().partition(b"\n")[0]
    return plain_text(line[:SHOWN_BYTES].decode(errors="replace"))


def _is_ours(data: bytes) -> bool:
    """True if a file begins as our journals do."""
    return data.removeprefix(_BOM).startswith(disk.OURS)


def _read_only(decoded: Decoded) -> str | None:
    if decoded.newer_schema is None:
        return None
    return (
        f"This journal holds entries of a newer knitlog (schema {decoded.newer_schema}; this one "
        f"knows {SCHEMA}), so it is opened for reading only; install the newer version to go on "
        "logging."
    )
