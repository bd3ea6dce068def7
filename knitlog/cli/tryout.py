"""``knitlog try``: a sample project to play with."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import click

from knitlog.cli.screens import open_screens

if TYPE_CHECKING:
    from collections.abc import Iterable


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
    from knitlog.workbench import lay_out_samples, samples

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
    from knitlog.cli.wording import say, table
    from knitlog.journal.store import SUFFIX, JournalFile
    from knitlog.workbench import lay_out_samples

    with tempfile.TemporaryDirectory(prefix="knitlog-try-") as place:
        lay_out_samples(Path(place))
        states = [(name, JournalFile.open(Path(place) / f"{name}{SUFFIX}").state) for name in names]
    say(iter(["Sample projects, all of them invented:", ""]))
    about = [state.about.partition(" Invented")[0] for _, state in states]
    say(table([(n, s.name, text) for (n, s), text in zip(states, about, strict=True)]))
