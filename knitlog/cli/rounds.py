"""Commands at the needles: each logs one thing, safely on disk before it is told."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from knitlog.cli.options import library, project_argument

if TYPE_CHECKING:
    from pathlib import Path

    from knitlog.journal.project import Entry, ProjectState
    from knitlog.journal.store import JournalFile

# "-1.5" is an entry, not an option: what no option matches is passed on as it stands
_ENTRIES = {"ignore_unknown_options": True}
_round_option = click.option(
    "--round", "round_number", type=click.IntRange(min=1), metavar="N", help="Which round."
)
_note_option = click.option("--note", default="", metavar="TEXT", help="A word to go with it.")


@click.command("log", context_settings=_ENTRIES)
@project_argument
@click.argument("entry", nargs=-1, required=True, type=click.UNPROCESSED)
@_round_option
@_note_option
@click.pass_obj
def log(
    folder: Path | None, project: str, entry: tuple[str, ...], round_number: int | None, note: str
) -> None:
    """Log where the colour changed in a round.

    The next round unless --round says otherwise; a round logged again is
    corrected.

    \b
    Examples:
      knitlog log red-hat 37          at stitch 37 of the round
      knitlog log red-hat +2          two stitches past the round below
      knitlog log red-hat -1.5        a stitch and a half short of it
      knitlog log red-hat =           in line with it
      knitlog log red-hat 37 81       two colour changes
      knitlog log red-hat 37 --round 12
    """
    from knitlog.journal import actions
    from knitlog.journal.entry import parse_entry

    _no_stray_options(entry)
    journal = library(folder).open(project)
    state = journal.state
    which = round_number or state.next_round
    positions = parse_entry(
        " ".join(entry), state.stint_of(which).stitches, state.below(which), flat=state.facts.flat
    )
    known = round_number is not None and state.entry(round_number) is not None
    after = actions.log_round(journal, positions, round_number=round_number, note=note)
    logged = after.entry(round_number or after.last_round)
    if logged is not None:
        click.echo(_told(after, logged, "corrected" if known else "logged"))


@click.command("fix", context_settings=_ENTRIES)
@project_argument
@click.argument("stitches", metavar="STITCHES", type=click.UNPROCESSED)
@click.option("--how", default="tapestry needle", show_default=True, help="What you did.")
@click.option("--over", metavar="STITCHES", help="How many stitches it was spread over.")
@click.option("--minutes", metavar="N", help="How long it took.")
@click.option(
    "--after-round", type=click.IntRange(min=1), metavar="N", help="After which round it was made."
)
@_note_option
@click.pass_obj
def fix(
    folder: Path | None,
    project: str,
    stitches: str,
    how: str,
    over: str | None,
    minutes: str | None,
    after_round: int | None,
    note: str,
) -> None:
    """Log colour taken back by hand, in stitches.

    A number above zero pulls a late colour change back; below zero pushes an
    early one on.

    \b
    Examples:
      knitlog fix red-hat 12
      knitlog fix red-hat -8 --how "rip back" --over 20
    """
    from knitlog.journal import actions
    from knitlog.journal.factkeys import parse_number

    _no_stray_options((stitches,))
    journal = library(folder).open(project)
    taken_out = parse_number(stitches, "12 or -8")
    state = actions.make_fix(
        journal,
        taken_out,
        after_round=after_round,
        how=how,
        over_stitches=None if over is None else parse_number(over, "45"),
        minutes=None if minutes is None else parse_number(minutes, "10"),
        note=note,
    )
    made = after_round or state.last_round
    click.echo(f"Fix logged after round {made}: {taken_out:g} stitches taken out.")


@click.command("change")
@project_argument
@click.option("--needle", metavar="SIZE", help="The new needle: 5mm, US 8, UK 6 or JP 10.")
@click.option(
    "--stitches", type=click.IntRange(min=2), metavar="N", help="The new stitch count a round."
)
@click.option(
    "--from-round", type=click.IntRange(min=1), metavar="N", help="From which round on (the next)."
)
@_note_option
@click.pass_obj
def change(
    folder: Path | None,
    project: str,
    needle: str | None,
    stitches: int | None,
    from_round: int | None,
    note: str,
) -> None:
    """Log another needle, or another stitch count.

    \b
    Examples:
      knitlog change red-hat --needle 5mm
      knitlog change red-hat --stitches 98 --from-round 14
    """
    from knitlog.journal import actions
    from knitlog.yarn.needles import needle_label, parse_needle

    if needle is None and stitches is None:
        raise click.UsageError("Say what changed, with --needle 5mm or --stitches 98")
    needle_mm = None if needle is None else parse_needle(needle)
    journal = library(folder).open(project)
    first = from_round or journal.state.next_round
    if needle_mm is not None:
        actions.change_needle(journal, needle_mm, from_round=from_round, note=note)
        click.echo(f"From round {first}: needle {needle_label(needle_mm)}.")
    if stitches is not None:
        spare = "" if needle_mm is not None else note
        actions.change_stitches(journal, stitches, from_round=from_round, note=spare)
        click.echo(f"From round {first}: {stitches} stitches.")


@click.command("join")
@project_argument
@_round_option
@click.option("--stitch", metavar="N", help="At which stitch of the round.")
@_note_option
@click.pass_obj
def join(
    folder: Path | None, project: str, round_number: int | None, stitch: str | None, note: str
) -> None:
    """Log a new skein joined in.

    \b
    Example:
      knitlog join red-hat --round 21 --stitch 40
    """
    from knitlog.journal import actions
    from knitlog.journal.factkeys import parse_number

    journal = library(folder).open(project)
    where = None if stitch is None else parse_number(stitch, "40")
    state = actions.join_skein(journal, round_number=round_number, stitch=where, note=note)
    click.echo(f"New skein joined in round {state.joins[-1].round}.")


@click.command("rip")
@project_argument
@click.argument("to_round", metavar="ROUND", type=click.IntRange(min=0))
@_note_option
@click.pass_obj
def rip(folder: Path | None, project: str, to_round: int, note: str) -> None:
    """Log whole rounds ripped back.

    ROUND is the last one still on the needles.

    \b
    Example:
      knitlog rip red-hat 18
    """
    from knitlog.journal import actions

    state = actions.rip_back(library(folder).open(project), to_round, note=note)
    click.echo(f"Ripped back to round {to_round}; the next is round {state.next_round}.")


@click.command("note")
@project_argument
@click.argument("text", nargs=-1, required=True)
@_round_option
@click.pass_obj
def note(
    folder: Path | None, project: str, text: tuple[str, ...], round_number: int | None
) -> None:
    """Write a note, on the project or on one round.

    \b
    Example:
      knitlog note red-hat "knitted by candle light" --round 12
    """
    from knitlog.journal import actions

    actions.add_note(library(folder).open(project), " ".join(text), round_number=round_number)
    click.echo("Noted." if round_number is None else f"Noted on round {round_number}.")


@click.command("undo")
@project_argument
@click.pass_obj
def undo(folder: Path | None, project: str) -> None:
    """Take back the last thing logged.

    Nothing is erased: redo brings it back.

    \b
    Example:
      knitlog undo red-hat
    """
    from knitlog.journal import actions

    journal = library(folder).open(project)
    what = journal.state.undo_label
    actions.undo(journal)
    click.echo(f"Took back {what}.")


@click.command("redo")
@project_argument
@click.pass_obj
def redo(folder: Path | None, project: str) -> None:
    """Bring back what was last taken back.

    \b
    Example:
      knitlog redo red-hat
    """
    from knitlog.journal import actions

    journal = library(folder).open(project)
    what = journal.state.redo_label
    actions.redo(journal)
    click.echo(f"Brought back {what}.")


@click.command("sitting")
@project_argument
@click.argument("what", metavar="start|end", type=click.Choice(["start", "end"]))
@click.pass_obj
def sitting(folder: Path | None, project: str, what: str) -> None:
    """Log that you sat down to knit, or got up.

    Tension differs from one sitting to the next, so it helps the fit; sittings
    are also guessed from the times of the entries.

    \b
    Example:
      knitlog sitting red-hat start
    """
    from knitlog.journal import actions

    journal: JournalFile = library(folder).open(project)
    if what == "start":
        actions.start_sitting(journal)
        click.echo("Sitting started.")
    else:
        actions.end_sitting(journal)
        click.echo("Sitting ended; stretch your hands.")


def _no_stray_options(words: tuple[str, ...]) -> None:
    for word in words:
        if word.startswith("--"):
            raise click.NoSuchOption(word.partition("=")[0])


def _told(state: ProjectState, entry: Entry, done: str) -> str:
    """Say what was logged, and how it stands to the round below."""
    below = {p.change: p.stitch for p in state.below(entry.round)}
    stitches = state.stint_of(entry.round).stitches
    parts = []
    for p in entry.positions:
        text = f"stitch {p.stitch:g}"
        if p.change in below and not state.facts.flat:
            # the shorter way round, since positions wrap at the stitch count
            step = (p.stitch - below[p.change] + stitches / 2) % stitches - stitches / 2
            text += f" ({_against(step)})"
        parts.append(text)
    return f"Round {entry.round} {done}: {', '.join(parts)}."


def _against(step: float) -> str:
    if not step:
        return "in line with the one below"
    return f"{abs(step):g} {'past' if step > 0 else 'short of'} the one below"
