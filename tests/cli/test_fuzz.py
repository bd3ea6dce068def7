"""Command lines nobody would type: never a traceback, never a hang, never an escape sequence."""

import contextlib
import functools
import io
import os
import re
import resource
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st

from knitlog.cli import all_commands, run

PROGRESS = re.compile(r"knitlog: [a-z ]+ \.\.\.\n")
"""Told where something takes over a second: no complaint."""
COMMANDS = all_commands()
MOST_GROWTH_MB = 300.0
WORDS = st.sampled_from(
    [
        *COMMANDS,
        *(option for c in COMMANDS.values() for p in c.params for option in p.opts),
        *("hat", "red-hat", "log.csv", "hat.knitlog", "37", "+2", "-1.5", "=", "-", "--", "-1e9"),
        *("1e308", "nan", "60in", "20 st/4in", "US 7", "4mm, 5mm", "0", "-1", "99999999999999999"),
        *("rose 30cm, snow 1m", "2=37", "yes", "\x1b[2J", "\u202e", "../..", "~", ".", "", "\0"),
    ]
)
NOISE = st.text(max_size=12)
LINES = st.lists(st.one_of(WORDS, WORDS, WORDS, NOISE), max_size=8)
PLAUSIBLE = st.tuples(st.sampled_from(sorted(COMMANDS)), st.just("red-hat"), LINES).map(
    lambda parts: [parts[0], parts[1], *parts[2]]
)


@contextlib.contextmanager
def at_home(folder: Path) -> Iterator[None]:
    """A folder with one small project, and nothing else within reach."""
    before, environment = Path.cwd(), os.environ.get("KNITLOG_FOLDER")
    os.chdir(folder)
    os.environ["KNITLOG_FOLDER"] = str(folder)
    try:
        yield
    finally:
        os.chdir(before)
        if environment is None:
            del os.environ["KNITLOG_FOLDER"]
        else:
            os.environ["KNITLOG_FOLDER"] = environment


def peak_memory_mb() -> float:
    """Most memory this process has held so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024  # kilobytes on Linux


@functools.cache
def small_project() -> bytes:
    """The journal of a project with one round."""
    with tempfile.TemporaryDirectory() as place, at_home(Path(place)):
        assert run(["new", "Red hat", "--stitches", "96"]) == 0
        assert run(["log", "red-hat", "37"]) == 0
        return (Path(place) / "red-hat.knitlog").read_bytes()


def try_line(arguments: list[str]) -> int:
    """Run one command line in a fresh folder, look at what it left behind, give its exit code."""
    out, err = io.StringIO(), io.StringIO()
    with (
        tempfile.TemporaryDirectory() as place,
        at_home(Path(place)),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        home = Path(place)
        (home / "log.csv").write_text("# stitches: 40\nround,stitch\n1,3\n2,5\n")
        before = small_project()
        (home / "red-hat.knitlog").write_bytes(before)
        code = run(arguments)
        after = (home / "red-hat.knitlog").read_bytes()
    lines = err.getvalue().splitlines(keepends=True)
    said = "".join(line for line in lines if not PROGRESS.fullmatch(line))
    assert code in (0, 1, 2), (arguments, code)
    assert "something went wrong inside knitlog" not in said, (arguments, said)
    assert "Traceback" not in said
    assert said.count("\n") <= max(1, len(arguments)), (arguments, said)
    assert (code == 0) == (said == ""), (arguments, code, said)
    assert "\x1b" not in out.getvalue() + said
    assert after.startswith(before), arguments
    return code


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.one_of(LINES, PLAUSIBLE))
def test_a_few_wild_command_lines(arguments: list[str]) -> None:
    try_line(arguments)


@pytest.mark.long
def test_a_hundred_thousand_wild_command_lines(capsys: pytest.CaptureFixture[str]) -> None:
    codes: Counter[int] = Counter()

    def batch(number: int) -> None:
        @settings(
            max_examples=10_000,
            deadline=None,
            database=None,
            suppress_health_check=list(HealthCheck),
        )
        @seed(number)
        @given(st.one_of(LINES, PLAUSIBLE))
        def lines(arguments: list[str]) -> None:
            codes[try_line(arguments)] += 1

        lines()

    try_line(["fit", "red-hat"])  # everything is loaded before memory is measured
    before = peak_memory_mb()
    for number in range(10):
        batch(number)
    grown = peak_memory_mb() - before
    told = ", ".join(f"{codes[code]:,} with exit code {code}" for code in sorted(codes))
    with capsys.disabled():
        print(f"\n{codes.total():,} command lines: {told}; memory grew by {grown:.0f} MB")
    assert codes.total() >= 100_000
    assert grown < MOST_GROWTH_MB
