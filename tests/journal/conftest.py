"""A clock that ticks by itself, and a project to log into."""

import contextlib
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile

WINTER = timezone(timedelta(hours=1))


class Clock:
    """Gives a moment a minute later each time it is asked."""

    def __init__(self) -> None:
        self.now = datetime(2031, 1, 5, 19, 0, tzinfo=WINTER)

    def __call__(self) -> datetime:
        self.now += timedelta(minutes=1)
        return self.now

    def wait(self, **gap: float) -> None:
        self.now += timedelta(**gap)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def library(tmp_path: Path) -> Library:
    return Library(tmp_path / "projects")


@pytest.fixture
def journal(library: Library, clock: Callable[[], datetime]) -> JournalFile:
    facts = make_facts(stitches=128, repeat_length_mm=1524.0, needle_mm=4.5, planned_rounds=60)
    return library.create("Hut shawl", facts, about="Invented for the tests.", clock=clock)


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder any user may look into (pytest's own may not be)."""
    folder = Path(tempfile.mkdtemp(prefix="knitlog-test-"))
    folder.chmod(0o755)
    yield folder
    shutil.rmtree(folder)


@contextlib.contextmanager
def as_nobody() -> Iterator[None]:
    """Act as a user without rights: root may write to a read-only folder."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)
