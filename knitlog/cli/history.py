"""Her history on the command line: the switch to do without it, and long work told of."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypedDict

import click

if TYPE_CHECKING:
    from pathlib import Path

    from knitlog.advice import Limits
    from knitlog.drift import Estimate, Prior
    from knitlog.journal.project import ProjectState

_PATIENCE = 1.0
"""Seconds of silence before progress is told."""

without_hands = click.option(
    "--without-hands",
    is_flag=True,
    help="Do without what your finished projects say of your hands.",
)


class Own(TypedDict):
    """What a look at a project takes from her history."""

    prior: Prior | None
    limits: Limits | None


NOTHING: Own = {"prior": None, "limits": None}


def own_history(
    folder: Path | None, state: ProjectState, *, without: bool, progress: Progress | None = None
) -> Own:
    """Return what the finished projects of the folder say of ``state``."""
    if without:
        return NOTHING
    from knitlog.cli.options import library
    from knitlog.workbench.hands import learn_hands, limits_of, prior_of

    hands = learn_hands(
        library(folder), besides=state.slug, progress=progress.counted if progress else None
    ).hands
    if not hands.known:
        return NOTHING
    return {"prior": prior_of(hands, state), "limits": limits_of(hands)}


def yarn_by_hands(
    folder: Path | None,
    *,
    gauge: str | None,
    needle: str | None,
    fibre: str | None = None,
    pattern: str | None = None,
    without: bool = False,
) -> Estimate | None:
    """Return yarn per stitch, mm, as her finished projects would have it; None for nothing.

    By the gauge where one was counted, or else by the needle.
    """
    if without or not (gauge or needle):
        return None
    from knitlog.cli.options import library
    from knitlog.hands import Work, yarn_per_stitch
    from knitlog.workbench.hands import learn_hands
    from knitlog.yarn.gauge import parse_gauge
    from knitlog.yarn.needles import parse_needle

    hands = learn_hands(library(folder)).hands
    if not hands.known:
        return None
    work = Work(
        needle_mm=None if needle is None else parse_needle(needle),
        gauge_stitches_per_cm=None if gauge is None else parse_gauge(gauge).stitches_per_cm,
        fibre=fibre,
        stitch_pattern=pattern,
    )
    return yarn_per_stitch(hands, work)


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
