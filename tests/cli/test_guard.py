"""The guard: no exception reaches the knitter as a traceback."""

import subprocess
import sys
from pathlib import Path

import click
import pytest

from knitlog.cli.guard import complain, guarded
from knitlog.journal.errors import JournalError, NotSavedError
from knitlog.yarn import YarnError

from .conftest import ROOT, Knitlog


def raising(error: BaseException) -> int:
    def run() -> None:
        raise error

    return guarded(run)


@pytest.mark.parametrize(
    ("error", "code", "said"),
    [
        (JournalError("No such hat."), 2, "No such hat."),
        (YarnError("'60' has no unit"), 2, "'60' has no unit"),
        (NotSavedError("The disk is full."), 1, "The disk is full."),
        (click.UsageError("No such option: --foo."), 2, "--foo"),
        (OSError(28, "No space left on device"), 1, "disk is full"),
        (PermissionError(13, "Permission denied", "/hut"), 1, "/hut"),
        (FileNotFoundError(2, "No such file or directory", "hat.csv"), 2, "hat.csv"),
        (MemoryError(), 1, "memory"),
        (RecursionError("deep"), 1, "something went wrong inside knitlog"),
        (ValueError("a bug's"), 1, "something went wrong inside knitlog"),
        (KeyError("x"), 1, "nothing that was logged is lost"),
        (ZeroDivisionError("two\nlines"), 1, "two lines"),
    ],
)
def test_each_error_has_its_code_and_one_sentence(
    error: Exception, code: int, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert raising(error) == code
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err
    assert err.count("\n") == 1
    assert "Traceback" not in err


@pytest.mark.parametrize("error", [KeyboardInterrupt(), click.Abort(), BrokenPipeError()])
def test_interrupts_are_quiet(error: BaseException, capsys: pytest.CaptureFixture[str]) -> None:
    with capsys.disabled():  # a broken pipe points stdout at nothing; keep pytest's own
        saved = sys.stdout
        sys.stdout = open("/dev/null", "w")  # noqa: PTH123, SIM115
        try:
            assert raising(error) == 1
        finally:
            sys.stdout.close()
            sys.stdout = saved
    assert capsys.readouterr().err == ""


def test_debug_shows_the_trace(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("KNITLOG_DEBUG", "1")
    assert raising(KeyError("x")) == 1
    err = capsys.readouterr().err
    assert "Traceback" in err
    assert "knitlog: something went wrong" in err


def test_what_is_complained_about_is_harmless(capsys: pytest.CaptureFixture[str]) -> None:
    complain("bad \x1b[2J name\nsecond line")
    err = capsys.readouterr().err
    assert "\x1b" not in err
    assert err.count("\n") == 1


def test_a_reader_that_goes_away_is_no_error(hat: str, folder: Path) -> None:
    for command in (["list"], ["export", hat], ["--help"]):
        with subprocess.Popen(
            [sys.executable, "-m", "knitlog", *command],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=ROOT,
        ) as process:
            assert process.stdout is not None
            assert process.stderr is not None
            process.stdout.close()  # before anything was written: every write is refused
            assert process.stderr.read() == ""
            assert process.wait(60) == 1


@pytest.mark.parametrize("command", [[], ["try"], ["try", "too-small"]])
def test_the_screens_need_a_terminal(knitlog: Knitlog, command: list[str]) -> None:
    done = knitlog(*command)
    assert done.code == 1
    assert "need a terminal" in done.sentence


def test_python_m_and_version(knitlog_process: Knitlog) -> None:
    done = knitlog_process("--version")
    assert done.code == 0
    assert done.out.startswith("knitlog 0.")
