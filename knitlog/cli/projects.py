"""Commands about whole projects: set up, list, show, settings, finish, import, export."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from knitlog.cli.history import own_history, without_hands
from knitlog.cli.options import fact_options, library, project_argument

if TYPE_CHECKING:
    from knitlog.journal.library import Shelf

colours_option = click.option(
    "--colours",
    metavar="RUN",
    help="One repeat along the yarn: 'rose 30cm, moss 45cm #117733, snow 20cm'.",
)

_FORGETTABLE = {
    "repeat-length": ("repeat_length_mm",),
    "colours": ("colours", "colours_turn_back"),
    "needle": ("needle_mm",),
    "gauge": ("gauge_stitches_per_cm", "gauge_rounds_per_cm"),
    "rounds": ("planned_rounds",),
    "needles-owned": ("needles_owned_mm",),
    "home": ("homes",),
    "yarn-thickness": ("yarn_thickness_mm",),
    "max-size-change": ("max_size_change_percent",),
    "fibre": ("fibre",),
    "pattern": ("stitch_pattern",),
    "minutes": ("minutes",),
}
"""Facts that need not be known, and the fields that hold them."""


@click.command("new")
@click.argument("name")
@click.option("--about", default="", metavar="TEXT", help="What it is, in your words.")
@colours_option
@fact_options
@click.pass_obj
def new(
    folder: Path | None, name: str, about: str, colours: str | None, facts: dict[str, str]
) -> None:
    """Set up a project.

    Only --stitches must be told; the more of the rest is known, the more
    knitlog can advise. Everything can be set later with 'knitlog settings'.

    \b
    Example:
      knitlog new "Red hat" --stitches 96 --repeat-length 60in --needle "US 4"
              --gauge "28 st/10cm" --rounds 48 --needles-owned "3.25mm, 3.5mm"
    """
    from knitlog.journal.factkeys import parse_facts
    from knitlog.journal.facts import make_facts

    if "stitches" not in facts:
        raise click.UsageError("Say how many stitches a round has, with --stitches 96")
    known = parse_facts(facts)
    if colours is not None:
        known = {**run_facts(colours), **known}
    journal = library(folder).create(name, make_facts(**known), about=about)
    from knitlog.journal.text import plain_text

    click.echo(f"Set up {plain_text(journal.state.name)}; log the first round with:")
    click.echo(f"  knitlog log {plain_text(journal.state.slug)} 37")


@click.command("list")
@click.pass_obj
def list_projects(folder: Path | None) -> None:
    """List the projects, the latest first.

    \b
    Example:
      knitlog list
    """
    from knitlog.cli.wording import say, table

    place = library(folder)
    shelves = place.projects()
    if not shelves:
        say(
            iter(
                [
                    f"No projects yet in {place.folder}.",
                    'Begin one with: knitlog new "Red hat" --stitches 96',
                ]
            )
        )
        return
    say(table([("Name", "Rounds", "Last logged", "Project"), *map(_row, shelves)]))
    for shelf in shelves:
        if shelf.trouble:
            say(iter([f"! {shelf.slug}: {shelf.trouble}"]))


@click.command("show")
@project_argument
@click.option("--all", "everything", is_flag=True, help="Everything logged instead, notes and all.")
@without_hands
@click.pass_obj
def show(folder: Path | None, project: str, *, everything: bool, without_hands: bool) -> None:
    """Show where a project stands and what to do.

    The verdict, the advice in short, the facts, the last rounds.

    \b
    Examples:
      knitlog show red-hat
      knitlog show red-hat --all
    """
    from knitlog.cli.wording import log_lines, say, state_lines
    from knitlog.workbench import look

    state = library(folder).open(project).state
    if everything:
        say(log_lines(state))
        return
    past = own_history(folder, state, without=without_hands)
    say(state_lines(look(state, **past)))


@click.command("settings")
@project_argument
@click.option("--name", metavar="TEXT", help="Another name.")
@click.option("--about", metavar="TEXT", help="What it is, in your words.")
@colours_option
@click.option(
    "--forget",
    multiple=True,
    type=click.Choice(sorted(_FORGETTABLE)),
    metavar="FACT",
    help="Forget a fact, as gauge or repeat-length; may be given more than once.",
)
@fact_options
@click.pass_obj
def settings(
    folder: Path | None,
    project: str,
    name: str | None,
    about: str | None,
    colours: str | None,
    forget: tuple[str, ...],
    facts: dict[str, str],
) -> None:
    """Change what is known of a project.

    --stitches and --needle correct what it was begun with; a change made while
    knitting is logged with 'knitlog change'.

    \b
    Examples:
      knitlog settings red-hat --tolerance 4 --rounds 52
      knitlog settings red-hat --minutes "needle=6, round-out=1"
      knitlog settings red-hat --forget gauge
    """
    from knitlog.journal import actions
    from knitlog.journal.factkeys import parse_facts

    changes = parse_facts(facts)
    if colours is not None:
        changes = {**run_facts(colours), **changes}
    if name is not None:
        changes["name"] = name
    if about is not None:
        changes["about"] = about
    if forget:
        changes["cleared"] = tuple(field for key in forget for field in _FORGETTABLE[key])
    if not changes:
        raise click.UsageError("Say what to change, for example --tolerance 4")
    state = actions.change_facts(library(folder).open(project), **changes)
    from knitlog.cli.wording import say

    say(iter([f"Changed the settings of {state.name}."]))


@click.command("finish")
@project_argument
@click.option("--note", default="", metavar="TEXT", help="A word to go with it.")
@click.pass_obj
def finish(folder: Path | None, project: str, note: str) -> None:
    """Log that a project is off the needles.

    \b
    Example:
      knitlog finish red-hat
    """
    from knitlog.cli.wording import say
    from knitlog.journal import actions

    state = actions.finish(library(folder).open(project), note=note)
    say(iter([f"{state.name} is finished after {state.last_round} rounds. Well knitted."]))


@click.command("export")
@project_argument
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path, dir_okay=False),
    help="The file to write; the screen if none is given.",
)
@click.pass_obj
def export_project(folder: Path | None, project: str, output: Path | None) -> None:
    """Write a project as a CSV log.

    \b
    Examples:
      knitlog export red-hat > red-hat.csv
      knitlog export red-hat -o red-hat.csv
    """
    from knitlog.journal.csvout import to_csv, write_csv

    state = library(folder).open(project).state
    if output is None:
        sys.stdout.write(to_csv(state))
        return
    write_csv(state, output, overwrite=True)
    from knitlog.cli.wording import say

    say(iter([f"Wrote {state.name} to {output}."]))


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--name", metavar="TEXT", help="The project's name; the file's name if not given.")
@fact_options
@click.pass_obj
def import_project(
    folder: Path | None, file: Path, name: str | None, facts: dict[str, str]
) -> None:
    """Make a project of a CSV log (or of a journal somebody sent).

    \b
    Examples:
      knitlog import red-hat.csv
      knitlog import log.csv --name "Red hat" --stitches 96
    """
    from knitlog.cli.wording import say
    from knitlog.workbench import import_log

    journal = import_log(library(folder), file, name=name, facts=facts)
    state = journal.state
    say(iter([f"Made the project {state.name} with {len(state.entries)} rounds logged."]))


def run_facts(text: str) -> dict[str, Any]:
    """Give the facts of a typed colour run; its length too."""
    from knitlog.journal.facts import ColourPart
    from knitlog.plan.colour_run import parse_colour_run

    run = parse_colour_run(text)
    return {
        "colours": tuple(
            ColourPart(name=s.name, length_mm=s.length_mm, colour=s.colour) for s in run.segments
        ),
        "colours_turn_back": run.palindrome,
        "repeat_length_mm": run.repeat_length_mm,
    }


def _row(shelf: Shelf) -> tuple[str, ...]:
    state = shelf.state
    if state is None:
        return (shelf.slug, "-", "-", "cannot be opened")
    rounds = str(state.last_round)
    if state.facts.planned_rounds:
        rounds += f" of {state.facts.planned_rounds}"
    finished = " (finished)" if state.finished else ""
    return (shelf.slug, rounds, f"{state.last_at:%Y-%m-%d}", state.name + finished)
