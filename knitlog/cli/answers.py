"""What a command tells: an answer in words or as JSON, and how far it has got."""

from __future__ import annotations

import os
import shutil
import sys
import time
from functools import wraps
from typing import TYPE_CHECKING, Any

import click

from knitlog.cli.paint import Paint, colour_system
from knitlog.report.drawing import LETTERS, means_of
from knitlog.typed.text import plain_text

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from knitlog.report.parts import Part

_PATIENCE = 1.0
"""Seconds of silence before progress is told."""

_WIDEST = 100
"""Columns of the widest picture."""

as_json = click.option("--json", is_flag=True, help="The answer as one JSON object.")


def tell(json: bool, content: Callable[[], Mapping[str, Any]], parts: Iterable[Part]) -> None:
    """Print an answer as JSON, or its parts."""
    if json:
        answer(True, content(), ())
    else:
        say_parts(parts)


def say_parts(parts: Iterable[Part], *, lettered: bool = False) -> None:
    """Print the parts of an answer, pictures as well as the terminal can, or in letters."""
    from knitlog.report.parts import laid_out

    parts, system = list(parts), colour_system()
    paint = Paint(system, (c for part in parts if part.drawing for c in part.drawing.palette))
    encoding = getattr(sys.stdout, "encoding", None)
    means = means_of(os.environ, encoding, colour=system is not None)
    means = LETTERS if lettered else means
    width = min(shutil.get_terminal_size().columns, _WIDEST)
    for line in laid_out(parts, means, width):
        if isinstance(line, str):
            say([line])
        else:
            click.echo(paint.line(line))


def answer(json: bool, content: Mapping[str, Any], said: Iterable[str]) -> None:
    """Print an answer as JSON or in words."""
    if json:
        from knitlog.report.json_objects import to_line

        click.echo(to_line(content))
        return
    say(said)


def say(lines: Iterable[str]) -> None:
    """Print lines, each made harmless."""
    for line in lines:
        click.echo(plain_text(line))


class Progress:
    """Tells on stderr what is being done, once it has taken longer than a second."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._begun = clock()

    def __call__(self, what: str) -> None:
        """Say what is being done now."""
        if self._clock() - self._begun >= _PATIENCE:
            click.echo(f"knitlog: {what} ...", err=True)

    def counted(self, number: int, of: int) -> None:
        """Say how many of how many projects have been read."""
        if number and number % 5 == 0:
            self(f"read {number} of {of} finished projects")


def progress_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command ``--quiet``; progress arrives as ``progress``."""

    @wraps(command)
    def tell(*args: Any, quiet: bool, **values: Any) -> Any:
        return command(*args, progress=None if quiet else Progress(), **values)

    return click.option("--quiet", is_flag=True, help="No word of progress.")(tell)
