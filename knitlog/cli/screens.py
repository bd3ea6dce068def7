"""Opening the screens from the command line, on her projects or on a sample to play with."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import click

from knitlog.cli.answers import say

if TYPE_CHECKING:
    from collections.abc import Iterable


def open_screens(folder: Path | None, project: str | None = None) -> None:
    """Open the screens, if there is a terminal to open them in."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise click.ClickException(
            "The screens need a terminal; without one, every command still works: see "
            "'knitlog --help'."
        )
    from knitlog.tui import run_app

    if code := run_app(folder, project=project):
        raise click.exceptions.Exit(code)


@click.command("try")
@click.argument("sample", required=False)
@click.option("--list", "only_list", is_flag=True, help="Only list the samples.")
@click.pass_obj
def try_sample(folder: Path | None, sample: str | None, only_list: bool) -> None:
    """Open a copy of a sample project, to play with.

    The samples are invented. What you log in the copy is forgotten when you
    quit, unless you say with --folder where to keep it.

    \b
    Examples:
      knitlog try
      knitlog try --list
      knitlog try needle-changed
      knitlog --folder ./play try
    """
    from knitlog.analysis.samples import lay_out_samples, samples

    known = samples()
    if only_list:
        _list_samples(known)
        return
    name = sample or "too-small"
    if name not in known:
        raise click.UsageError(f"There is no sample '{name}'; choose from {', '.join(known)}")
    if folder is not None:
        lay_out_samples(folder)
        open_screens(folder, project=name)
        return
    with tempfile.TemporaryDirectory(prefix="knitlog-try-") as place:
        lay_out_samples(Path(place))
        open_screens(Path(place), project=name)


def _list_samples(names: Iterable[str]) -> None:
    from knitlog.analysis.samples import lay_out_samples
    from knitlog.journal.store import SUFFIX, JournalFile
    from knitlog.report.parts import table

    with tempfile.TemporaryDirectory(prefix="knitlog-try-") as place:
        lay_out_samples(Path(place))
        states = [(name, JournalFile.open(Path(place) / f"{name}{SUFFIX}").state) for name in names]
    say(["Sample projects, all of them invented:", ""])
    about = [state.about.partition(" Invented")[0] for _, state in states]
    say(table([(n, s.name, text) for (n, s), text in zip(states, about, strict=True)]))
