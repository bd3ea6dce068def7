"""Her history on the command line: the switch to do without it, and long work told of."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from pathlib import Path

    from knitlog.drift import Prior
    from knitlog.journal.project import ProjectState

_PATIENCE = 1.0
"""Seconds of silence before progress is told."""

without_hands = click.option(
    "--without-hands",
    is_flag=True,
    help="Do without what your finished projects say of your hands.",
)


def own_prior(
    folder: Path | None, state: ProjectState, *, without: bool, progress: Progress | None = None
) -> Prior | None:
    """Return what the finished projects of the folder say of ``state``; None for nothing."""
    if without:
        return None
    from knitlog.cli.options import library
    from knitlog.workbench.hands import learn_hands, prior_of

    hands = learn_hands(
        library(folder), besides=state.slug, progress=progress.counted if progress else None
    ).hands
    return prior_of(hands, state) if hands.known else None


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
    from functools import wraps

    @wraps(command)
    def tell(*args: Any, quiet: bool, **values: Any) -> Any:
        return command(*args, progress=None if quiet else Progress(), **values)

    return click.option("--quiet", is_flag=True, help="No word of progress.")(tell)
