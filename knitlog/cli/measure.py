"""``fit`` and ``advise``: the drift of journals, CSV logs or projects, for people or as JSON."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from knitlog.cli.guard import BAD_INPUT, DONE, complain, explain
from knitlog.cli.history import NOTHING, own_history, without_hands
from knitlog.cli.options import fact_options, library

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from knitlog.journal.project import ProjectState
    from knitlog.workbench import Look

_files = click.argument("files", nargs=-1, required=True, metavar="FILE...")
_json = click.option("--json", "as_json", is_flag=True, help="One JSON object a line.")


@click.command("fit")
@_files
@_json
@without_hands
@fact_options
@click.pass_obj
def fit(
    folder: Path | None,
    files: tuple[str, ...],
    as_json: bool,
    without_hands: bool,
    facts: dict[str, str],
) -> int:
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
    from knitlog.cli.wording import fit_lines

    def to_object(file: str, view: Look) -> dict[str, Any]:
        from knitlog.cli.contract import fit_object

        return fit_object(file, view)

    return _each(
        folder,
        files,
        facts,
        to_object if as_json else None,
        fit_lines,
        advice=False,
        without=without_hands,
    )


@click.command("advise")
@_files
@_json
@without_hands
@fact_options
@click.pass_obj
def advise(
    folder: Path | None,
    files: tuple[str, ...],
    as_json: bool,
    without_hands: bool,
    facts: dict[str, str],
) -> int:
    """Say what to do about the drift, and why.

    Every remedy that is possible here, side by side: how much of the rest
    would be in place, how many fixes, how many minutes, what it does to the
    size.

    \b
    Examples:
      knitlog advise red-hat
      knitlog advise log.csv --stitches 128 --needle 4.5mm --needles-owned "4mm, 4.5mm, 5mm"
    """
    from knitlog.cli.wording import advice_lines

    def to_object(file: str, view: Look) -> dict[str, Any]:
        from knitlog.cli.contract import advice_object

        return advice_object(file, view)

    return _each(
        folder,
        files,
        facts,
        to_object if as_json else None,
        advice_lines,
        advice=True,
        without=without_hands,
    )


def _each(
    folder: Path | None,
    files: tuple[str, ...],
    facts: dict[str, str],
    to_object: Callable[[str, Look], dict[str, Any]] | None,
    to_lines: Callable[[Look], Iterator[str]],
    *,
    advice: bool,
    without: bool,
) -> int:
    """Answer for each file in turn; a bad one is told on stderr and the others go on."""
    from knitlog.cli.wording import say
    from knitlog.workbench import look

    worst = DONE
    for number, file in enumerate(files):
        try:
            state = state_of(folder, file, facts)
            # a file is measured by itself; a project of hers starts from her history
            own = not Path(file).exists()
            past = own_history(folder, state, without=without) if own else NOTHING
            view = look(state, with_advice=advice, **past)
        except (ValueError, OSError, click.ClickException) as error:
            code, sentence = explain(error)
            complain(sentence if file in sentence else f"{file}: {sentence}")
            worst = max(worst, code)
            continue
        if to_object is not None:
            from knitlog.cli.contract import to_line

            click.echo(to_line(to_object(file, view)))
            continue
        if len(files) > 1:
            say(iter(([""] if number else []) + [f"{file}:"]))
        say(to_lines(view))
    return worst


def state_of(folder: Path | None, file: str, facts: dict[str, str]) -> ProjectState:
    """Read a file, or the project of that name in the folder."""
    from knitlog.journal.errors import JournalError
    from knitlog.workbench import read_log_file

    path = Path(file)
    if not path.exists() and path.suffix not in (".csv", ".knitlog") and path.parent == Path():
        try:
            path = library(folder).find(file)
        except JournalError as error:
            raise click.UsageError(
                f"There is no file of that name, nor a project: {error}"
            ) from None
    return read_log_file(path, facts)


__all__ = ["BAD_INPUT", "advise", "fit"]
