"""A disk that fails at any call of an append loses nothing and is believed in nothing.

The faults are put in at the system calls the disk module makes, for the journal's own
file only; one test has the kernel itself refuse, by a limit on the size of files.
"""

import errno
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from types import SimpleNamespace
from unittest import mock

import pytest

from knitlog.journal import disk
from knitlog.journal.actions import log_round
from knitlog.journal.csvout import write_csv
from knitlog.journal.errors import (
    JournalError,
    JournalMissingError,
    JournalReadOnlyError,
    NotSavedError,
)
from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile

SENTENCES = {
    errno.ENOSPC: "disk is full",
    errno.EDQUOT: "disk is full",
    errno.EIO: "disk refused it",
    errno.EROFS: "read-only",
    errno.EINTR: "disk refused it",
}


@dataclass
class FaultyDisk:
    """Stands between the journal and the system; each call may be told to fail."""

    fail_write: int | None = None
    """Error for the first write after ``take``."""
    take: int | None = None
    """Bytes the first write takes before anything fails; None takes all."""
    fail_fsync: int | None = None
    fail_truncate: int | None = None
    fail_replace: int | None = None
    calls: list[str] = field(default_factory=list)

    @contextmanager
    def in_place(self) -> Iterator["FaultyDisk"]:
        real_write, real_fsync, real_truncate = os.write, os.fsync, os.ftruncate
        real_replace = Path.replace

        def write(fd: int, data: bytes) -> int:
            self.calls.append("write")
            first = self.calls.count("write") == 1
            if first and self.take:
                return real_write(fd, data[: self.take])
            if self.fail_write is not None:
                raise OSError(self.fail_write, os.strerror(self.fail_write))
            return real_write(fd, data)

        def fsync(fd: int) -> None:
            self.calls.append("fsync")
            if self.fail_fsync is not None:
                raise OSError(self.fail_fsync, os.strerror(self.fail_fsync))
            real_fsync(fd)

        def truncate(fd: int, length: int) -> None:
            self.calls.append("ftruncate")
            if self.fail_truncate is not None:
                raise OSError(self.fail_truncate, os.strerror(self.fail_truncate))
            real_truncate(fd, length)

        def replace(path: Path, target: Path) -> Path:
            self.calls.append("replace")
            if self.fail_replace is not None:
                raise OSError(self.fail_replace, os.strerror(self.fail_replace))
            return real_replace(path, target)

        with (
            mock.patch("knitlog.journal.disk.os.write", write),
            mock.patch("knitlog.journal.disk.os.fsync", fsync),
            mock.patch("knitlog.journal.disk.os.ftruncate", truncate),
            mock.patch("pathlib.Path.replace", replace),
        ):
            yield self


def rounds(path: Path) -> list[int]:
    return [entry.round for entry in JournalFile.open(path).state.entries]


def test_an_append_is_one_write_and_one_flush(journal: JournalFile) -> None:
    with FaultyDisk().in_place() as disk:
        log_round(journal, [37])
    assert disk.calls == ["write", "fsync"]


@pytest.mark.parametrize("take", [1, 20, 150])
def test_a_short_write_is_carried_on(journal: JournalFile, take: int) -> None:
    with FaultyDisk(take=take).in_place() as disk:
        log_round(journal, [37])
    assert disk.calls == ["write", "write", "fsync"]
    assert rounds(journal.path) == [1]
    assert JournalFile.open(journal.path).state.problems == ()


@pytest.mark.parametrize("error", SENTENCES)
@pytest.mark.parametrize(
    "fault",
    [
        lambda e: FaultyDisk(fail_write=e),
        lambda e: FaultyDisk(fail_write=e, take=1),
        lambda e: FaultyDisk(fail_write=e, take=100),
        lambda e: FaultyDisk(fail_fsync=e),
    ],
    ids=["write", "write after 1 byte", "write after 100 bytes", "fsync"],
)
def test_a_failed_append_leaves_the_file_as_it_was(
    journal: JournalFile, error: int, fault: Callable[[int], FaultyDisk]
) -> None:
    log_round(journal, [37])
    before = journal.path.read_bytes()
    state = journal.state
    with fault(error).in_place(), pytest.raises(JournalError, match=SENTENCES[error]):
        log_round(journal, [38])
    assert journal.path.read_bytes() == before
    assert journal.state == state
    log_round(journal, [38])  # the disk has come to its senses
    assert rounds(journal.path) == [1, 2]


CALLS = ("open", "fstat", "write", "fsync", "ftruncate", "close")
"""Every system call the disk module makes on an open file."""


@contextmanager
def failing_at(turn: int, error: int) -> Iterator[list[str]]:
    """Let every system call of the disk module through but the one of that turn, from 0."""
    made: list[str] = []

    def standing_in(name: str) -> Callable[..., object]:
        real: Callable[..., object] = getattr(os, name)

        def call(*arguments: object) -> object:
            made.append(name)
            if len(made) == turn + 1:
                if name == "close":
                    real(*arguments)  # as Linux does: it reports the error and closes all the same
                raise OSError(error, os.strerror(error))
            return real(*arguments)

        return call

    stand_in = {name: standing_in(name) for name in CALLS}
    system = SimpleNamespace(**{**vars(os), **stand_in})
    with mock.patch("knitlog.journal.disk.os", system):
        yield made


@pytest.mark.parametrize("error", [errno.ENOSPC, errno.EIO])
def test_whichever_call_of_an_append_fails_what_was_acknowledged_is_there(
    library: Library, error: int
) -> None:
    """Each system call of an append in turn, until there is none left to fail."""
    failed: list[str] = []
    for turn in range(50):
        journal = library.create(f"Hut shawl {turn}", make_facts(stitches=128))
        log_round(journal, [37])
        acknowledged = [1]
        with failing_at(turn, error) as made:
            try:
                log_round(journal, [38])
                acknowledged.append(2)
            except JournalError:
                failed.append(made[turn])
        if len(made) <= turn:
            break
        assert rounds(journal.path) == acknowledged
        state = log_round(journal, [39])  # the disk has come to its senses
        assert [entry.round for entry in state.entries] == [*acknowledged, len(acknowledged) + 1]
        assert JournalFile.open(journal.path).state.problems == ()
    else:
        pytest.fail("an append takes more system calls than that?")
    assert {"open", "write", "fsync"} <= set(failed)


@pytest.mark.parametrize("error", [errno.ENOSPC, errno.EIO])
def test_whichever_call_of_setting_up_fails_there_is_all_or_nothing(
    library: Library, error: int
) -> None:
    failed: list[str] = []
    facts = make_facts(stitches=128)
    for turn in range(50):
        name = f"Hut shawl {turn}"
        there = True
        with failing_at(turn, error) as made:
            try:
                library.create(name, facts)
            except NotSavedError:
                there = False
                failed.append(made[turn])
            except JournalError as met:  # it is there, but could not be read at once
                if "cannot be read" not in str(met):
                    raise
        if len(made) <= turn:
            break
        assert (name in {shelf.name for shelf in library.projects()}) == there
        if not there:
            library.create(name, facts)  # the disk has come to its senses
    else:
        pytest.fail("setting up takes more system calls than that?")
    assert {"open", "write", "fsync"} <= set(failed)


@pytest.mark.parametrize("take", [1, 100])
def test_a_write_that_cannot_even_be_taken_back_is_a_torn_line(
    journal: JournalFile, take: int
) -> None:
    log_round(journal, [37])
    before = journal.path.read_bytes()
    faulty = FaultyDisk(fail_write=errno.EIO, take=take, fail_truncate=errno.EIO)
    with faulty.in_place(), pytest.raises(NotSavedError):
        log_round(journal, [38])
    assert len(journal.path.read_bytes()) == len(before) + take
    assert rounds(journal.path) == [1]
    log_round(journal, [38])
    assert rounds(journal.path) == [1, 2]
    assert [p.line for p in JournalFile.open(journal.path).state.problems] == [3]


def test_nothing_another_process_wrote_is_ever_taken_back(journal: JournalFile) -> None:
    """Should the lock not hold (some network drives), a longer file is left alone."""
    log_round(journal, [37])
    line = journal.path.read_bytes().splitlines(keepends=True)[-1]
    stranger = line[:1]  # even when it is a single byte

    faulty = FaultyDisk()
    with faulty.in_place():

        def fsync(fd: int) -> None:
            with journal.path.open("ab") as file:
                file.write(stranger)
            raise OSError(errno.EIO, "input/output error")

        with mock.patch("knitlog.journal.disk.os.fsync", fsync), pytest.raises(NotSavedError):
            log_round(journal, [38])
    assert journal.path.read_bytes().endswith(stranger)
    assert "ftruncate" not in faulty.calls


@pytest.mark.parametrize(
    "faulty",
    [
        FaultyDisk(fail_write=errno.ENOSPC),
        FaultyDisk(fail_write=errno.ENOSPC, take=30),
        FaultyDisk(fail_fsync=errno.EIO),
        FaultyDisk(fail_replace=errno.EIO),
    ],
    ids=["write", "short write", "fsync", "replace"],
)
def test_a_project_is_set_up_whole_or_not_at_all(library: Library, faulty: FaultyDisk) -> None:
    faulty.calls.clear()
    with faulty.in_place(), pytest.raises(NotSavedError):
        library.create("Hut shawl", make_facts(stitches=128))
    assert library.projects() == ()
    assert not [p for p in library.folder.iterdir() if not p.name.endswith(".lock")]
    library.create("Hut shawl", make_facts(stitches=128))
    assert [p.name for p in library.projects()] == ["Hut shawl"]


def test_a_failed_export_leaves_the_old_one(journal: JournalFile, tmp_path: Path) -> None:
    log_round(journal, [37])
    path = tmp_path / "hut.csv"
    write_csv(journal.state, path)
    before = path.read_bytes()
    log_round(journal, [38])
    with FaultyDisk(fail_write=errno.ENOSPC, take=10).in_place(), pytest.raises(NotSavedError):
        write_csv(journal.state, path, overwrite=True)
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.glob("*.csv*")] == ["hut.csv"]


FULL_DISK = """
import resource, sys
from knitlog.journal.actions import log_round
from knitlog.journal.errors import JournalError
from knitlog.journal.store import JournalFile
journal = JournalFile.open(sys.argv[1])
room = journal.path.stat().st_size + int(sys.argv[2])
resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))
logged = 0
try:
    while True:
        log_round(journal, [37])
        logged += 1
except JournalError as error:
    print(logged, error)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="limits of a Unix kernel")
@pytest.mark.parametrize("room", [0, 1, 170, 500])
def test_a_real_kernel_that_refuses_to_grow_the_file(journal: JournalFile, room: int) -> None:
    """RLIMIT_FSIZE makes the kernel write short, then refuse: no stand-ins involved."""
    run = subprocess.run(
        [sys.executable, "-c", FULL_DISK, str(journal.path), str(room)],
        # a measurement of coverage, if one is running, could not write its own file either
        env={**os.environ, "COVERAGE_PROCESS_CONFIG": ""},
        capture_output=True,
        text=True,
        check=True,
    )
    logged, sentence = run.stdout.split(" ", 1)
    assert "was not saved" in sentence
    assert run.stderr == ""
    read = JournalFile.open(journal.path)
    assert read.state.problems == ()
    assert rounds(journal.path) == list(range(1, int(logged) + 1))


def test_a_write_that_takes_nothing_is_a_failure_not_a_loop(journal: JournalFile) -> None:
    before = journal.path.read_bytes()
    with (
        mock.patch("knitlog.journal.disk.os.write", return_value=0),
        pytest.raises(NotSavedError, match="disk refused it"),
    ):
        log_round(journal, [37])
    assert journal.path.read_bytes() == before


def test_a_drive_that_cannot_lock_is_said(journal: JournalFile) -> None:
    with (
        mock.patch("knitlog.journal.disk.FileLock.acquire", side_effect=NotImplementedError),
        pytest.raises(JournalReadOnlyError, match="cannot lock files"),
    ):
        log_round(journal, [37])


def test_a_file_removed_just_before_the_write_is_said(journal: JournalFile) -> None:
    read_file = disk.read_file

    def read_and_lose(path: Path) -> tuple[bytes, disk.Stamp]:
        found = read_file(path)
        path.unlink()
        return found

    log_round(JournalFile.open(journal.path), [37])  # another window's, so that it is read anew
    with (
        mock.patch("knitlog.journal.disk.read_file", read_and_lose),
        pytest.raises(JournalMissingError, match="not there any more"),
    ):
        log_round(journal, [38])
    assert not journal.path.exists()
