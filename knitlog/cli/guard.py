"""The last line of defence: whatever goes wrong ends in one sentence, never a traceback.

Exit codes: 0 done, 2 bad input, 1 anything else.  ``KNITLOG_DEBUG=1`` shows the
traceback as well, for whoever wants to mend the program.
"""

import errno
import os
import sys
import traceback
from collections.abc import Callable

import click

DONE, FAILED, BAD_INPUT = 0, 1, 2

_DISK_SENTENCES = {
    errno.ENOSPC: "the disk is full: free some space and try again; what was logged before is safe",
    errno.EDQUOT: "your share of the disk is used up: free some space and try again",
    errno.EROFS: "the folder is on a read-only disk: choose another with --folder",
    errno.EACCES: "there is no permission to use it: choose another folder with --folder",
    errno.EPERM: "there is no permission to use it: choose another folder with --folder",
    errno.ENOENT: "there is no such file or folder",
    errno.EISDIR: "that is a folder: name a file in it",
    errno.ENOTDIR: "a part of that path is a file, not a folder",
    errno.EIO: "the disk reported an error: copy the file elsewhere and check the disk",
    errno.ENAMETOOLONG: "the name is too long: choose a shorter one",
}


def guarded(run: Callable[[], object]) -> int:
    """Run a command and turn whatever it raises into an exit code and one sentence."""
    try:
        result = run()
        sys.stdout.flush()
    except click.exceptions.Exit as stop:
        return stop.exit_code
    except (KeyboardInterrupt, click.Abort):
        return FAILED
    except BrokenPipeError:
        _hush_stdout()
        return FAILED
    except Exception as error:
        code, sentence = explain(error)
        if isinstance(error, OSError):
            _hush_stdout()  # what is left in the buffer must not fail a second time
        if os.environ.get("KNITLOG_DEBUG"):
            traceback.print_exc()
        complain(sentence)
        return code
    return result if isinstance(result, int) else DONE


def explain(error: Exception) -> tuple[int, str]:
    """The exit code an error deserves, and the sentence that tells it."""
    if isinstance(error, click.UsageError):
        where = error.ctx.command_path if error.ctx else "knitlog"
        message = error.format_message().rstrip(".")
        return BAD_INPUT, f"{message}; see '{where} --help'."
    if isinstance(error, click.ClickException):
        return error.exit_code, error.format_message()
    if isinstance(error, ValueError) and type(error).__module__.startswith("knitlog."):
        from knitlog.journal.errors import JournalReadOnlyError, NotSavedError

        unsaved = isinstance(error, JournalReadOnlyError | NotSavedError)
        return FAILED if unsaved else BAD_INPUT, str(error)
    if isinstance(error, OSError):
        return (FAILED if error.errno in _DISK_TROUBLE else BAD_INPUT), _disk_sentence(error)
    if isinstance(error, MemoryError):
        return FAILED, "there is not enough memory for that: is it really a knitting log?"
    return FAILED, (
        f"something went wrong inside knitlog ({type(error).__name__}: {error}); nothing that was "
        "logged is lost; KNITLOG_DEBUG=1 shows where."
    )


def complain(sentence: str) -> None:
    """Write one sentence to stderr; a closed stderr is no reason to fail."""
    from knitlog.typed.text import plain_text

    text = plain_text(" ".join(sentence.split()))
    try:
        click.echo(f"knitlog: {text}", err=True)
    except OSError:
        return


_DISK_TROUBLE = frozenset(
    {errno.ENOSPC, errno.EDQUOT, errno.EROFS, errno.EACCES, errno.EPERM, errno.EIO}
)


def _disk_sentence(error: OSError) -> str:
    reason = _DISK_SENTENCES.get(error.errno or 0, error.strerror or str(error))
    return f"{error.filename}: {reason}." if error.filename else f"{reason}."


def _hush_stdout() -> None:
    """Point stdout at nothing, so that the interpreter's last flush stays quiet."""
    try:
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, sys.stdout.fileno())
    except (OSError, ValueError):
        return
