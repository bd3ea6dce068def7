"""The few calls that touch the disk.

Everything that can lose a knitter's round is in this module: one write, flushed
before it is believed, and taken back if the disk refuses half-way.
"""

import contextlib
import errno
import os
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from filelock import FileLock, Timeout

from knitlog.journal.errors import (
    JournalError,
    JournalExistsError,
    JournalMissingError,
    JournalReadOnlyError,
    NotSavedError,
)
from knitlog.typed.text import quoted

MAX_FILE_BYTES = 16 * 1024 * 1024
"""Largest journal read or written: some 80,000 events."""

SUFFIX = ".knitlog"
"""Of a journal's name."""
OURS = b'{"schema":'
"""How every file begins that is only ever appended to."""
LOCK_SECONDS = 20.0
_BINARY = getattr(os, "O_BINARY", 0)
_NO_LINK = getattr(os, "O_NOFOLLOW", 0)
_OWNER_ONLY, _OWNER_ONLY_FOLDER = 0o600, 0o700
"""What is logged is for her alone, where the system knows such a thing."""


@dataclass(frozen=True, slots=True)
class Stamp:
    """What tells a changed file from the one last read."""

    inode: int
    size: int
    mtime_ns: int


UNKNOWN = Stamp(-1, -1, -1)
"""Stamp of no file: what was last read is taken to have changed."""


def stamp_of(status: os.stat_result) -> Stamp:
    """Give the stamp of a file's status."""
    return Stamp(status.st_ino, status.st_size, status.st_mtime_ns)


def read_file(path: Path, max_bytes: int = MAX_FILE_BYTES) -> tuple[bytes, Stamp]:
    """Read a whole file.

    Raises:
        JournalMissingError: there is no such file.
        JournalError: it is a folder, too large, or cannot be read.

    """
    name = quoted(str(path), 200)
    try:
        with path.open("rb") as file:
            status = os.fstat(file.fileno())
            is_file = stat.S_ISREG(status.st_mode)
            if is_file and status.st_size <= max_bytes:
                data = file.read(max_bytes + 1)
                if len(data) <= max_bytes:
                    return data, stamp_of(os.fstat(file.fileno()))
    except OSError as error:
        raise _cannot_read(name, error) from None
    except ValueError:  # a NUL character
        raise JournalMissingError(f"{name} cannot be the name of a file.") from None
    if not is_file:
        raise JournalError(f"{name} is not a file; give the name of one.")
    raise JournalError(
        f"{name} is larger than {max_bytes // (1024 * 1024)} MB, too large for a log; "
        "is it the right file?"
    )


def _cannot_read(name: str, error: OSError) -> JournalError:
    if isinstance(error, FileNotFoundError | NotADirectoryError):
        return JournalMissingError(f"There is no file {name}; check the name and the folder.")
    if isinstance(error, IsADirectoryError):
        return JournalError(f"{name} is a folder; give the name of a file.")
    if isinstance(error, PermissionError):
        return JournalError(f"{name} may not be read; check its permissions.")
    return JournalError(f"{name} cannot be read ({_reason(error)}).")


def _reason(error: OSError) -> str:
    return (error.strerror or type(error).__name__).lower()


@contextlib.contextmanager
def locked(path: Path) -> Iterator[None]:
    """Hold the journal's lock, so that no second process writes meanwhile.

    Raises:
        JournalMissingError: the folder is gone.
        JournalReadOnlyError: the folder cannot be written.
        NotSavedError: another process held the lock for too long.

    """
    lock_path = path.with_name(f".{path.name}.lock")
    lock = FileLock(lock_path, mode=_OWNER_ONLY)
    try:
        if not path.parent.is_dir():  # the lock would quietly make the folder again
            raise _folder_gone(path)
        if lock_path.is_symlink():
            raise JournalReadOnlyError(
                f"There is a link {quoted(lock_path.name, 100)} where the lock of this journal "
                "belongs; take it away and try again."
            )
        lock.acquire(timeout=LOCK_SECONDS, poll_interval=0.01)
    except Timeout:
        raise NotSavedError(
            "Another knitlog is busy with this journal; close it or try again."
        ) from None
    except NotImplementedError:
        raise JournalReadOnlyError(
            f"The drive of {quoted(str(path), 200)} cannot lock files, so two programs could write "
            "over each other; keep the projects on another drive."
        ) from None
    except OSError as error:
        raise _cannot_write(path, error) from None
    try:
        yield
    finally:
        lock.release()


def append_line(path: Path, line: bytes) -> Stamp:
    """Append bytes to an existing file and flush them to disk; the caller holds the lock.

    If the disk refuses part of the write or the flush, the part that was written is
    taken back, so that the file is as it was, and an error says so.

    Raises:
        JournalMissingError: the file is gone.
        JournalReadOnlyError: the file cannot be written.
        NotSavedError: the disk is full or failing; nothing of ``line`` counts as logged.

    """
    try:
        fd = os.open(path, os.O_WRONLY | os.O_APPEND | _BINARY)
    except OSError as error:
        raise _cannot_write(path, error) from None
    try:
        start = os.fstat(fd).st_size
        if start + len(line) > MAX_FILE_BYTES:
            raise NotSavedError("This journal is full; finish the project and begin a new one.")
        written, failure = _write_and_flush(fd, line)
        if failure is not None:
            _take_back(fd, start, written)
            raise _cannot_write(path, failure)
        try:
            return stamp_of(os.fstat(fd))
        except OSError:
            return UNKNOWN  # it is on disk: to say otherwise would have it typed twice
    except OSError as error:
        raise _cannot_write(path, error) from None
    finally:
        with contextlib.suppress(OSError):  # it is on disk already
            os.close(fd)


def create_file(
    path: Path, data: bytes, *, overwrite: bool = False, ours: bytes | None = None
) -> None:
    """Create a file whole or not at all, for its owner alone; for a journal the caller locks it.

    ``overwrite`` replaces a file that is there already, but never a journal or a book of
    colour runs: an export that is given the wrong name must not cost what was logged.  Where
    the program chose the name and not she, ``ours`` is how such a file begins: anything else
    of that name is hers, or a link, and is not replaced.

    Raises:
        JournalExistsError: there is already such a file, it is the name of a journal, or it
            is not one of ours.
        JournalError: it cannot be written.

    """
    draft = path.with_name(f".{path.name}.new")
    moved = False
    try:
        there = path.exists() or path.is_symlink()
        if there and not overwrite:
            raise JournalExistsError(
                f"There is already a file {quoted(str(path), 200)}; choose another name."
            )
        if overwrite and _is_kept(path):
            raise JournalExistsError(
                f"{quoted(str(path), 200)} is for what is logged and is not written over; choose "
                "another name."
            )
        if there and ours is not None and (path.is_symlink() or not _begins(path, ours)):
            raise JournalExistsError(
                f"There is already a file {quoted(str(path), 200)} that knitlog did not write; "
                "move it away or choose another folder."
            )
        draft.unlink(missing_ok=True)  # of a draft that was never finished, or a link
        flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | _NO_LINK | _BINARY
        fd = os.open(draft, flags, _OWNER_ONLY)
        try:
            _, failure = _write_and_flush(fd, data)
        finally:
            os.close(fd)
        if failure is not None:
            raise failure
        draft.replace(path)
        moved = True
        _flush_folder(path.parent)
    except OSError as error:
        with contextlib.suppress(OSError):
            if not moved:
                draft.unlink()
            elif not overwrite:
                path.unlink()  # what is not acknowledged is not half there
        raise _cannot_write(path, error) from None


def _is_kept(path: Path) -> bool:
    """True for the name of a journal, and for any file that is only ever appended to."""
    return path.name.lower().endswith(SUFFIX) or _begins(path, OURS)


def _begins(path: Path, beginning: bytes) -> bool:
    if not path.is_file():
        return False
    with path.open("rb") as file:
        return file.read(len(beginning)) == beginning


def make_folder(folder: Path) -> None:
    """Make a folder, with those above it.

    Raises:
        JournalReadOnlyError: it cannot be made.

    """
    try:
        folder.mkdir(mode=_OWNER_ONLY_FOLDER, parents=True, exist_ok=True)
    except OSError as error:
        raise JournalReadOnlyError(
            f"The folder {quoted(str(folder), 200)} cannot be made ({_reason(error)}); "
            "choose another folder."
        ) from None


def _write_and_flush(fd: int, data: bytes) -> tuple[int, OSError | None]:
    """Write all of ``data`` and flush it: one write, unless the system takes only part of it.

    Gives the bytes written and what went wrong, if anything.
    """
    written = 0
    try:
        while written < len(data):
            taken = os.write(fd, data[written:])
            if taken == 0:
                return written, OSError(errno.EIO, os.strerror(errno.EIO))
            written += taken
        os.fsync(fd)
    except OSError as error:
        return written, error
    return written, None


def _take_back(fd: int, start: int, written: int) -> None:
    """Cut off the part of our own write that was never acknowledged, if nothing follows it."""
    with contextlib.suppress(OSError):
        if written and os.fstat(fd).st_size == start + written:
            os.ftruncate(fd, start)
            os.fsync(fd)


def _flush_folder(folder: Path) -> None:
    """Flush a new name to disk, where the system can (Windows cannot open a folder)."""
    if os.name == "nt":
        return
    fd = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(fd)
    finally:
        os.close(fd)


def _folder_gone(path: Path) -> JournalMissingError:
    return JournalMissingError(
        f"The folder {quoted(str(path.parent), 200)} is not there any more; "
        "put it back, then try again. Nothing was saved just now."
    )


def _cannot_write(path: Path, error: OSError) -> JournalError:
    name = quoted(str(path), 200)
    if isinstance(error, FileNotFoundError | NotADirectoryError):
        if not path.parent.is_dir():
            return _folder_gone(path)
        return JournalMissingError(
            f"The journal {name} is not there any more; put it back, then try again. "
            "Nothing was saved just now."
        )
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return JournalReadOnlyError(
            f"{name} cannot be written (its folder or file is read-only); nothing was saved. "
            "Change the permissions or choose another folder."
        )
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return NotSavedError(
            "The disk is full, so this was not saved; everything before it is safe. "
            "Free some space and type it again."
        )
    return NotSavedError(
        f"The disk refused it ({_reason(error)}), so this was not saved; everything before it "
        "is safe. Try again."
    )
