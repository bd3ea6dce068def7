"""Commands at the needles: each logs one thing, safely on disk before it is told."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import click

from knitlog.cli.options import on_a_project
from knitlog.cli.types import LAST_LEFT, ROUND, STITCH_COUNT, STITCHES, TENSION, number

if TYPE_CHECKING:
    from knitlog.journal.project import Entry, ProjectState
    from knitlog.journal.store import JournalFile

# "-1.5" is an entry, not an option: what no option matches is passed on as it stands
_ENTRIES = {"ignore_unknown_options": True}
_round_option = click.option("--round", "round_number", type=ROUND, help="Which round.")
_tension_option = click.option(
    "--tension",
    type=TENSION,
    help="What you ask of your hand: +2 is looser, 0 as usual.",
)
_aim_option = click.option(
    "--aim", type=STITCHES, help="Where to let the colour change fall in that round."
)
_note_option = click.option("--note", default="", metavar="TEXT", help="A word to go with it.")


@on_a_project("log", context_settings=_ENTRIES)
@click.argument("entry", nargs=-1, required=True, type=click.UNPROCESSED)
@_round_option
@_tension_option
@_aim_option
@_note_option
def log(
    journal: JournalFile,
    entry: tuple[str, ...],
    round_number: int | None,
    tension: float | None,
    aim: float | None,
    note: str,
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
      knitlog log red-hat "2: 92"     the second colour change alone
      knitlog log red-hat 41 @12      round 12, without those between
      knitlog log red-hat 37 --round 12
      knitlog log red-hat 43 --tension +2    knitted looser in that round

    Worked flat, count from the right edge, as seen from the right side.
    """
    from knitlog.journal import actions
    from knitlog.typed.entry import read_entry

    _no_stray_options(entry)
    state = journal.state
    typed = read_entry(" ".join(entry), lambda number: state.around(number or round_number))
    round_number = typed.round or round_number
    known = round_number is not None and state.entry(round_number) is not None
    after = actions.log_round(
        journal,
        typed.places,
        round_number=round_number,
        note=note,
        tension_percent=tension,
        aim_stitch=aim,
    )
    logged = after.entry(round_number or after.last_round)
    if logged is not None:
        _say(after, _told(after, logged, "corrected" if known else "logged"))


@on_a_project("fix", context_settings=_ENTRIES)
@click.argument("stitches", metavar="STITCHES", type=STITCHES)
@click.option("--how", default="tapestry needle", show_default=True, help="What you did.")
@click.option("--over", type=STITCHES, help="How many stitches it was spread over.")
@click.option("--minutes", type=number("10"), help="How long it took.")
@click.option("--after-round", type=ROUND, help="After which round it was made.")
@_note_option
def fix(
    journal: JournalFile,
    stitches: float,
    how: str,
    over: float | None,
    minutes: float | None,
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

    state = actions.make_fix(
        journal,
        stitches,
        after_round=after_round,
        how=how,
        over_stitches=over,
        minutes=minutes,
        note=note,
    )
    made = after_round or state.last_round
    _say(state, f"Fix logged after round {made}: {stitches:g} stitches taken out.")


@on_a_project("change")
@click.option("--needle", metavar="SIZE", help="The new needle: 5mm, US 8, UK 6 or JP 10.")
@click.option("--stitches", type=STITCH_COUNT, metavar="N", help="The new stitch count a round.")
@click.option(
    "--from-round",
    type=ROUND,
    help="From which round on (the next; for a place the last one logged).",
)
@_tension_option
@_aim_option
@click.option(
    "--place",
    metavar="here|STITCH",
    help="Let the colours stack from here, or at a stitch: their place from now on.",
)
@_note_option
def change(
    journal: JournalFile,
    needle: str | None,
    stitches: int | None,
    from_round: int | None,
    tension: float | None,
    aim: float | None,
    place: str | None,
    note: str,
) -> None:
    """Log another needle, stitch count, tension or place.

    Tension is what you ask of your hand from that round on, in percent of yarn
    a stitch against your usual; what it gives is learnt.

    \b
    Examples:
      knitlog change red-hat --needle 5mm
      knitlog change red-hat --stitches 98 --from-round 14
      knitlog change red-hat --tension +2 --aim 43
      knitlog change red-hat --tension 0
      knitlog change red-hat --place here
    """
    from knitlog.journal import actions
    from knitlog.journal.registry import units_of
    from knitlog.typed.measures import parse_needle, parse_stitches

    coming, last = journal.state.next_round, journal.state.last_round
    steps: list[tuple[partial[ProjectState], int, str]] = []
    if needle is not None:
        mm = parse_needle(needle)
        step = partial(actions.change_needle, needle_mm=mm, as_given=needle)
        said = units_of(journal.state.facts).needle(mm, needle)
        steps.append((step, coming, f"needle {said}"))
    if stitches is not None:
        step = partial(actions.change_stitches, stitches=stitches)
        steps.append((step, coming, f"{stitches} stitches"))
    if tension is not None:
        step = partial(actions.ask_tension, percent=tension, aim_stitch=aim)
        steps.append((step, coming, _tension_words(tension)))
    elif aim is not None:
        raise click.UsageError("--aim goes with a tension: --tension +2 --aim 43")
    if place is not None:
        stitch = None if place.strip().lower() == "here" else parse_stitches(place, "43, or here")
        step = partial(actions.take_new_home, stitch=stitch)
        where = "where they are" if stitch is None else f"at stitch {stitch:g}"
        steps.append((step, last, f"the colours stack {where}"))
    if not steps:
        raise click.UsageError(
            "Say what changed, with --needle 5mm, --stitches 98, --tension +2 or --place here"
        )
    actions.together(
        journal,
        [
            partial(step, from_round=from_round, note="" if place_in_line else note)
            for place_in_line, (step, _, _) in enumerate(steps)
        ],
    )
    for _, first, words in steps:
        _say(journal.state, f"From round {from_round or first}: {words}.")


def _tension_words(percent: float) -> str:
    if not percent:
        return "your usual tension"
    return f"{abs(percent):g} % {'looser' if percent > 0 else 'tighter'}"


@on_a_project("join")
@_round_option
@click.option("--stitch", type=STITCHES, help="At which stitch of the round.")
@_note_option
def join(journal: JournalFile, round_number: int | None, stitch: float | None, note: str) -> None:
    """Log a new skein joined in.

    \b
    Example:
      knitlog join red-hat --round 21 --stitch 40
    """
    from knitlog.journal import actions

    state = actions.join_skein(journal, round_number=round_number, stitch=stitch, note=note)
    _say(state, f"New skein joined in round {state.joins[-1].round}.")


@on_a_project("rip")
@click.argument("to_round", metavar="[ROUND]", type=LAST_LEFT, required=False)
@_note_option
def rip(journal: JournalFile, to_round: int | None, note: str) -> None:
    """Log whole rounds ripped back, to be knitted again.

    ROUND is the last one still on the needles; without it, only the last round
    was ripped.

    \b
    Examples:
      knitlog rip red-hat
      knitlog rip red-hat 18
    """
    from knitlog.journal import actions

    last = max(journal.state.last_round - 1, 0) if to_round is None else to_round
    state = actions.rip_back(journal, last, note=note)
    _say(state, f"Ripped back to round {last}; the next is round {state.next_round}.")


@on_a_project("note")
@click.argument("text", nargs=-1, required=True)
@_round_option
def note(journal: JournalFile, text: tuple[str, ...], round_number: int | None) -> None:
    """Write a note, on the project or on one round.

    \b
    Example:
      knitlog note red-hat "knitted by candle light" --round 12
    """
    from knitlog.journal import actions

    actions.add_note(journal, " ".join(text), round_number=round_number)
    _say(journal.state, "Noted." if round_number is None else f"Noted on round {round_number}.")


@on_a_project("undo")
def undo(journal: JournalFile) -> None:
    """Take back the last thing logged.

    Nothing is erased: redo brings it back.

    \b
    Example:
      knitlog undo red-hat
    """
    from knitlog.journal import actions

    what = journal.state.undo_label
    actions.undo(journal)
    _say(journal.state, f"Took back {what}.")


@on_a_project("redo")
def redo(journal: JournalFile) -> None:
    """Bring back what was last taken back.

    \b
    Example:
      knitlog redo red-hat
    """
    from knitlog.journal import actions

    what = journal.state.redo_label
    actions.redo(journal)
    _say(journal.state, f"Brought back {what}.")


@on_a_project("sitting")
@click.argument("what", metavar="start|end", type=click.Choice(["start", "end"]))
def sitting(journal: JournalFile, what: str) -> None:
    """Log that you sat down to knit, or got up.

    Tension differs from one sitting to the next, so it helps the fit; sittings
    are also guessed from the times of the entries.

    \b
    Example:
      knitlog sitting red-hat start
    """
    from knitlog.journal import actions

    if what == "start":
        actions.start_sitting(journal)
        click.echo("Sitting started.")
    else:
        actions.end_sitting(journal)
        click.echo("Sitting ended; stretch your hands.")


def _say(state: ProjectState, words: str) -> None:
    """Print our own words of a project: rounds are rows where it is worked flat."""
    if state.facts.flat:  # asked first: logging one round must not wait for the words
        from knitlog.report.words import in_rows

        words = in_rows(words, True)
    click.echo(words)


def _no_stray_options(words: tuple[str, ...]) -> None:
    for word in words:
        if word.startswith("--"):
            raise click.NoSuchOption(word.partition("=")[0])


def _told(state: ProjectState, entry: Entry, done: str) -> str:
    """Say what was logged, and how it stands to the round below."""
    parts = []
    for p, step in zip(entry.positions, state.moved(entry), strict=True):
        against = "" if step is None else f" ({_against(step)})"
        parts.append(f"stitch {p.stitch:g}{against}")
    return f"Round {entry.round} {done}: {', '.join(parts)}."


def _against(step: float) -> str:
    if not step:
        return "in line with the one below"
    return f"{abs(step):g} {'past' if step > 0 else 'short of'} the one below"
