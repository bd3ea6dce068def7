"""``fit`` and ``advise``: the drift of journals, CSV logs or projects, for people or as JSON."""

from __future__ import annotations

from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from knitlog.cli.answers import say, say_parts
from knitlog.cli.guard import DONE, complain, explain
from knitlog.cli.options import fact_options, library, past_of, without_hands

if TYPE_CHECKING:
    from collections.abc import Callable

    from knitlog.journal.project import ProjectState


def _measuring(command: Callable[[], None]) -> click.Command:
    """A command that looks at each file in turn; a bad one is told on stderr, the others go on.

    It shows what ``report`` says under its own name: ``fit_parts`` and ``fit_object``.
    """
    name = command.__name__

    @click.argument("files", nargs=-1, required=True, metavar="FILE...")
    @click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")
    @without_hands
    @fact_options
    @wraps(command)
    def each(
        files: tuple[str, ...], as_json: bool, without_hands: bool, facts: dict[str, str]
    ) -> int:
        from knitlog.analysis.analysis import analyse
        from knitlog.report import json_objects, look_parts

        folder = click.get_current_context().obj
        worst, past = DONE, past_of(folder, without=without_hands)
        for number, file in enumerate(files):
            try:
                # a file is measured by itself; a project of hers starts from her past
                own = None if Path(file).exists() else past
                state = state_of(folder, file, facts)
                found = analyse(state, past=own, with_advice=name == "advise")
            except (ValueError, OSError, click.ClickException) as error:
                code, sentence = explain(error)
                complain(sentence if file in sentence else f"{file}: {sentence}")
                worst = max(worst, code)
                continue
            if as_json:
                told = json_objects.OF_A_LOOK[name](file, found)
                click.echo(json_objects.to_line(told))
                continue
            if len(files) > 1:
                say([*([""] if number else []), f"{file}:"])
            say_parts(look_parts.OF_A_LOOK[name](found))
        return worst

    done: click.Command = click.command(name, cls=click.Command)(each)
    return done


@_measuring
def fit() -> None:
    """Say how far the colours drift, with honest uncertainty.

    FILE is a journal, a CSV log (columns round,stitch and more) or the name of
    a project. The options tell the facts a CSV does not, and overrule those it
    does.

    \b
    Examples:
      knitlog fit red-hat
      knitlog fit log.csv --stitches 128 --repeat-length 60in
      knitlog fit *.csv --json
    """


@_measuring
def advise() -> None:
    """Say what to do about the drift, and why.

    Every remedy that is possible here, side by side: how much of the rest
    would be in place, how many fixes, how many minutes, what it does to the
    size.

    \b
    Examples:
      knitlog advise red-hat
      knitlog advise log.csv --stitches 128 --needle 4.5mm --needles-owned "4mm, 4.5mm, 5mm"
    """


def state_of(folder: Path | None, file: str, facts: dict[str, Any]) -> ProjectState:
    """Read a file, or the project of that name in the folder."""
    from knitlog.analysis.files import read_log_file
    from knitlog.journal.errors import JournalError, JournalMissingError

    path = Path(file)
    if not path.exists() and path.suffix not in (".csv", ".knitlog") and path.parent == Path():
        try:
            path = library(folder).find(file)
        except JournalMissingError as error:
            raise click.UsageError(f"{error} Nor is there a file of that name here.") from None
        except JournalError as error:
            raise click.UsageError(str(error)) from None
    return read_log_file(path, facts)
