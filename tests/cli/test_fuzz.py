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

import click
import pytest
from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st

from knitlog.cli import run
from tests.cli.commands import all_commands

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
GOOD = {
    "project": ["red-hat", "red", "hat"],
    "projects": ["red-hat", "hat"],
    "first": ["red-hat"],
    "second": ["red-hat", "log.csv"],
    "files": ["red-hat", "log.csv", "red-hat.knitlog"],
    "entry": ["37", "+2", "=", "12.5"],
    "stitches": ["96", "12", "2"],
    "colours": ["rose 30cm, snow 1m", "ice 5cm #aabbcc, reed 20in, and back"],
    "repeat_length": ["60in", "152cm"],
    "needle": ["US 4", "3.5mm"],
    "gauge": ["28 st/10cm", "20 st 28 rows/4in"],
    "rounds": ["48", "3"],
    "yarn_per_stitch": ["14.6mm"],
    "left": ["34g", "180m"],
    "skein": ["400m/100g"],
}
"""Values that will do, by the names of arguments and options."""
NOISE = st.text(max_size=12)
LINES = st.lists(st.one_of(WORDS, WORDS, WORDS, NOISE), max_size=8)
PLAUSIBLE = st.tuples(st.sampled_from(sorted(COMMANDS)), st.just("red-hat"), LINES).map(
    lambda parts: [parts[0], parts[1], *parts[2]]
)


def some_value(parameter: click.Parameter) -> st.SearchStrategy[str]:
    """What might be typed for one argument or option; mostly of the right kind."""
    kind = parameter.type
    if isinstance(kind, click.Choice):
        return st.sampled_from([str(choice) for choice in kind.choices])
    if isinstance(kind, click.IntRange):
        return st.integers(-1, 200).map(str)
    if isinstance(kind, click.Path):
        return st.sampled_from(["log.csv", "red-hat.knitlog", "new", "new.svg", "new.png", ".."])
    known = GOOD.get(parameter.name or "")
    if known is None:
        return WORDS
    good = st.sampled_from(known)
    return st.one_of(good, good, good, WORDS)


@st.composite
def well_formed(draw: st.DrawFn) -> list[str]:
    """A command with all its arguments, some of its options, and values that often will do."""
    words = [draw(st.sampled_from(sorted(COMMANDS)))]
    command = COMMANDS[words[0]]
    while isinstance(command, click.Group):
        words.append(draw(st.sampled_from(sorted(command.commands))))
        command = command.commands[words[-1]]
    for parameter in command.params:
        if isinstance(parameter, click.Argument):
            words.append(draw(some_value(parameter)))
    options = [p for p in command.params if isinstance(p, click.Option)]
    chosen = st.lists(st.sampled_from(options), max_size=4, unique_by=lambda p: p.name)
    for option in draw(chosen) if options else []:
        words.append(draw(st.sampled_from([*option.opts, *option.secondary_opts])))
        if not option.is_flag:
            words.append(draw(some_value(option)))
    return words


@contextlib.contextmanager
def at_home(folder: Path) -> Iterator[None]:
    """Work in ``folder``, where the projects are kept too."""
    before, environment = Path.cwd(), os.environ.get("KNITLOG_FOLDER")
    folder.mkdir(parents=True, exist_ok=True)
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
        at_home(Path(place) / "two" / "deep"),  # ../.. is still within
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
    ):
        home = Path(place) / "two" / "deep"
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


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(well_formed())
def test_a_few_well_formed_command_lines(arguments: list[str]) -> None:
    try_line(arguments)


def count_codes(
    lines: st.SearchStrategy[list[str]], batches: int, of: int, capsys: pytest.CaptureFixture[str]
) -> None:
    """Try that many command lines, print what became of them and what memory they took."""
    codes: Counter[int] = Counter()

    def batch(number: int) -> None:
        @settings(
            max_examples=of, deadline=None, database=None, suppress_health_check=list(HealthCheck)
        )
        @seed(number)
        @given(lines)
        def each(arguments: list[str]) -> None:
            codes[try_line(arguments)] += 1

        each()

    try_line(["fit", "red-hat"])  # everything is loaded before memory is measured
    before = peak_memory_mb()
    for number in range(batches):
        batch(number)
    grown = peak_memory_mb() - before
    told = ", ".join(f"{codes[code]:,} with exit code {code}" for code in sorted(codes))
    with capsys.disabled():
        print(f"\n{codes.total():,} command lines: {told}; memory grew by {grown:.0f} MB")
    assert codes.total() >= batches * of
    assert grown < MOST_GROWTH_MB


@pytest.mark.long
def test_a_hundred_thousand_wild_command_lines(capsys: pytest.CaptureFixture[str]) -> None:
    count_codes(st.one_of(LINES, PLAUSIBLE), 10, 10_000, capsys)


@pytest.mark.long
def test_many_well_formed_command_lines(capsys: pytest.CaptureFixture[str]) -> None:
    count_codes(well_formed(), 4, 1_000, capsys)
