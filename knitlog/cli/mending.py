"""Mending a damaged journal: say what is wrong, and set a project up again if need be.

A torn or damaged line is set aside by itself whenever a journal is opened; the one line
nothing can do without is the one that sets the project up, and only the knitter can tell
what stood there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from knitlog.cli.options import fact_options, library, project_argument
from knitlog.cli.projects import colours_option, run_facts

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from knitlog.journal.project import ProjectState

_ROUNDS_NAMED = 20


@click.command("mend")
@project_argument
@click.option("--name", metavar="TEXT", help="Its name; the file's name if not given.")
@click.option("--about", default="", metavar="TEXT", help="What it is, in your words.")
@colours_option
@fact_options
@click.pass_obj
def mend(
    folder: Path | None,
    project: str,
    name: str | None,
    about: str,
    colours: str | None,
    facts: dict[str, str],
) -> None:
    """Mend a damaged project, or say what is damaged.

    Without facts it tells what in the file could not be read, and changes
    nothing. If the line that sets the project up is damaged, it shows what is
    left of it: give the facts again as for 'knitlog new' and the rounds are
    there again. What is damaged stays in the file.

    \b
    Examples:
      knitlog mend red-hat
      knitlog mend red-hat --name "Red hat" --stitches 96 --repeat-length 60in
    """
    from knitlog.cli.wording import say
    from knitlog.journal.factkeys import parse_facts
    from knitlog.journal.facts import make_facts
    from knitlog.journal.fold import SetUpMissingError

    place = library(folder)
    given = parse_facts(facts)
    if colours is not None:
        given = {**run_facts(colours), **given}
    try:
        state = place.open(project).state
    except SetUpMissingError as missing:
        if "stitches" not in given:
            say(iter(["What is left of the line that sets it up:", f"  {missing.damaged}"]))
            raise click.UsageError(
                "Set the project up again with its facts, as far as you know them: "
                f"knitlog mend {project} --stitches 96"
            ) from None
        state = place.mend(project, make_facts(**given), new_name=name, about=about).state
        say(iter([f"Set {state.name} up again; {len(state.entries)} rounds are there."]))
        return
    if given or name is not None or about:
        raise click.UsageError(
            f"{state.name} opens, so its facts are changed with 'knitlog settings {state.slug}'"
        )
    say(_found(state))


def _found(state: ProjectState) -> Iterator[str]:
    """Say what could not be used in a journal that opens."""
    if state.read_only is not None:
        yield f"! {state.read_only}"
    elif not state.problems:
        yield f"{state.name} is whole: {len(state.entries)} rounds, nothing to mend."
        return
    for problem in state.problems:
        yield f"! {problem.sentence}"
    yield f"{len(state.entries)} rounds are read."
    last = state.last_round
    missing = [r for r in range(1, last + 1) if state.entry(r) is None]
    if missing and state.read_only is None:
        named = ", ".join(map(str, missing[:_ROUNDS_NAMED]))
        more = ", ..." if len(missing) > _ROUNDS_NAMED else ""
        yield f"Not there: round {named}{more}. One that was lost can be logged again:"
        yield f"  knitlog log {state.slug} 37 --round {missing[0]}"
