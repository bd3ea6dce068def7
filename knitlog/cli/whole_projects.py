"""Commands about whole projects: set up, list, show, settings, mend, finish, import, export."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from knitlog.cli.answers import as_json, say, say_parts, tell
from knitlog.cli.options import (
    fact_options,
    library,
    on_a_project,
    past_of,
    project_argument,
    without_hands,
)

if TYPE_CHECKING:
    from knitlog.journal.library import Shelf
    from knitlog.journal.store import JournalFile


@click.command("new")
@click.argument("name")
@click.option("--about", default="", metavar="TEXT", help="What it is, in your words.")
@fact_options
@click.pass_obj
def new(folder: Path | None, name: str, about: str, facts: dict[str, str]) -> None:
    """Set up a project.

    Only --stitches must be told; the more of the rest is known, the more
    knitlog can advise. Everything can be set later with 'knitlog settings'.

    \b
    Example:
      knitlog new "Red hat" --stitches 96 --repeat-length 60in --needle "US 4"
              --gauge "28 st/10cm" --rounds 48 --needles-owned "3.25mm, 3.5mm"
    """
    from knitlog.journal.facts import make_facts
    from knitlog.journal.registry import parse_facts

    if "stitches" not in facts:
        raise click.UsageError("Say how many stitches a round has, with --stitches 96")
    known = parse_facts(facts)
    journal = library(folder).create(name, make_facts(**known), about=about)
    from knitlog.report.words import one_round
    from knitlog.typed.text import plain_text

    turn = one_round(journal.state.facts)
    click.echo(f"Set up {plain_text(journal.state.name)}; log the first {turn} with:")
    click.echo(f"  knitlog log {plain_text(journal.state.slug)} 37")


@click.command("list")
@click.pass_obj
def list_projects(folder: Path | None) -> None:
    """List the projects, the latest first.

    \b
    Example:
      knitlog list
    """
    from knitlog.report.parts import table

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
    say(table([*map(_row, shelves)], ("Name", "Rounds", "Last logged", "Project")))
    for shelf in shelves:
        if shelf.trouble:
            say([f"! {shelf.slug}: {shelf.trouble}"])


@on_a_project("show")
@click.option("--all", "everything", is_flag=True, help="Everything logged instead, notes and all.")
@without_hands
@as_json
def show(journal: JournalFile, *, everything: bool, without_hands: bool, json: bool) -> None:
    """Show where a project stands and what to do next.

    The verdict, the advice in short, the facts, the last rounds. PROJECT is its
    name, or any part of it that no other has.

    \b
    Examples:
      knitlog show red-hat
      knitlog show red-hat --all
    """
    from knitlog.analysis.analysis import analyse
    from knitlog.report.json_objects import state_object
    from knitlog.report.look_parts import log_parts, state_parts

    state = journal.state
    if everything and not json:
        say_parts(log_parts(state))
        return
    found = analyse(state, past=past_of(click.get_current_context().obj, without=without_hands))
    tell(json, lambda: state_object(found), state_parts(found))


@on_a_project("settings")
@click.option("--name", metavar="TEXT", help="Another name.")
@click.option("--about", metavar="TEXT", help="What it is, in your words.")
@click.option(
    "--forget",
    multiple=True,
    metavar="FACT",
    help="Forget a fact, as gauge or repeat-length; may be given more than once.",
)
@fact_options
def settings(
    journal: JournalFile,
    name: str | None,
    about: str | None,
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
    from knitlog.journal.registry import parse_changes

    changes = parse_changes(facts, forget)
    if name is not None:
        changes["name"] = name
    if about is not None:
        changes["about"] = about
    if not changes:
        raise click.UsageError("Say what to change, for example --tolerance 4")
    state = actions.change_facts(journal, **changes)

    say([f"Changed the settings of {state.name}."])
    if "colours" in changes and state.facts.colour_run is not None:
        from knitlog.report.fabric_words import unnamed_words

        say(filter(None, [unnamed_words(state.facts.colour_run)]))


@click.command("mend")
@project_argument
@click.option("--name", metavar="TEXT", help="Its name; the file's name if not given.")
@click.option("--about", default="", metavar="TEXT", help="What it is, in your words.")
@fact_options
@click.pass_obj
def mend(
    folder: Path | None,
    project: str,
    name: str | None,
    about: str,
    facts: dict[str, str],
) -> None:
    """Mend a damaged project, or say what is damaged.

    Without facts it tells what in the file could not be read; a copy of it in
    the folder that has parted from it is joined to it, every round once, with a
    question where the two disagree. If the line that sets the project up is
    damaged, it shows what is left of it: give the facts again as for 'knitlog
    new' and the rounds are there again. What is damaged stays in the file.

    \b
    Examples:
      knitlog mend red-hat
      knitlog mend red-hat --name "Red hat" --stitches 96 --repeat-length 60in
    """
    from knitlog.journal.copies import copies_of
    from knitlog.journal.facts import make_facts
    from knitlog.journal.fold import SetUpMissingError
    from knitlog.journal.registry import parse_facts
    from knitlog.report.file_words import damage_lines
    from knitlog.report.words import counted, one_round

    place = library(folder)
    given = parse_facts(facts)
    try:
        journal = place.open(project)
        state = journal.state
    except SetUpMissingError as missing:
        if "stitches" not in given:
            say(["What is left of the line that sets it up:", f"  {missing.damaged}"])
            raise click.UsageError(
                "Set the project up again with its facts, as far as you know them: "
                f"knitlog mend {project} --stitches 96"
            ) from None
        state = place.mend(project, make_facts(**given), new_name=name, about=about).state
        rounds = counted(len(state.entries), one_round(state.facts))
        say([f"Set {state.name} up again, with {rounds}."])
        return
    if given or name is not None or about:
        raise click.UsageError(
            f"{state.name} opens, so its facts are changed with 'knitlog settings {state.slug}'"
        )
    say(damage_lines(state))
    for copy in copies_of(place, journal):
        _join(journal, copy)


@on_a_project("finish")
@click.option("--note", default="", metavar="TEXT", help="A word to go with it.")
def finish(journal: JournalFile, note: str) -> None:
    """Log that a project is off the needles.

    \b
    Example:
      knitlog finish red-hat
    """
    from knitlog.journal import actions
    from knitlog.report.words import counted, one_round

    state = actions.finish(journal, note=note)
    rounds = counted(state.last_round, one_round(state.facts))
    say([f"{state.name} is finished after {rounds}. Well knitted."])


@on_a_project("export")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path, dir_okay=False),
    help="The file to write; the screen if none is given.",
)
def export_project(journal: JournalFile, output: Path | None) -> None:
    """Write a project as a CSV log.

    \b
    Examples:
      knitlog export red-hat > red-hat.csv
      knitlog export red-hat -o red-hat.csv
    """
    from knitlog.journal.csvout import to_csv, write_csv

    state = journal.state
    if output is None:
        sys.stdout.write(to_csv(state))
        return
    write_csv(state, output, overwrite=True)

    say([f"Wrote {state.name} to {output}."])


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--name", metavar="TEXT", help="The project's name; the file's name if not given.")
@fact_options
@click.pass_obj
def import_project(
    folder: Path | None, file: Path, name: str | None, facts: dict[str, str]
) -> None:
    """Make a project of a CSV log (or of a journal somebody sent).

    A journal that is a copy of a project here is joined to it: every round of
    both is there once, with a question where they disagree.

    \b
    Examples:
      knitlog import red-hat.csv
      knitlog import log.csv --name "Red hat" --stitches 96
    """
    from knitlog.analysis.files import import_log, project_of_copy
    from knitlog.report.words import counted, one_round

    known = project_of_copy(library(folder), file)
    if known is not None and name is None:
        _join(known, file)
        return
    journal = import_log(library(folder), file, name=name, facts=facts)
    state = journal.state
    rounds = counted(len(state.entries), one_round(state.facts))
    say([f"Made the project {state.name} with {rounds} logged."])


def _row(shelf: Shelf) -> tuple[str, ...]:
    state = shelf.state
    if state is None:
        return (shelf.slug, "-", "-", "cannot be opened")
    rounds = str(state.last_round)
    if state.facts.planned_rounds:
        rounds += f" of {state.facts.planned_rounds}"
    finished = " (finished)" if state.finished else ""
    return (shelf.slug, rounds, f"{state.last_at:%Y-%m-%d}", state.name + finished)


def _join(journal: JournalFile, file: Path) -> None:
    """Join a copy that has parted; asks where the two disagree, at a terminal."""
    from knitlog.journal.actions import restore
    from knitlog.journal.copies import join_copy
    from knitlog.journal.store import JournalFile
    from knitlog.report.file_words import disagreement_words, joined_lines

    joined = join_copy(journal, JournalFile.open(file))
    say(joined_lines(joined, file.name))
    asked = sys.stdin.isatty()
    for found in joined.disagreements:
        say([f"? {disagreement_words(found)}"])
        if asked and click.confirm("Take what the copy says?", default=False):
            restore(journal, found.there.id)
    if joined.disagreements and not asked:
        say(["What was here stands; where the copy is right, log it again."])
