"""``knitlog yarn``: colour runs measured once and kept by name."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from knitlog.cli.answers import answer, as_json

if TYPE_CHECKING:
    from knitlog.journal.colour_runs import ColourRunBook, KeptRun
    from knitlog.plan.colour_checks import RunFinding
    from knitlog.yarn.colours import ColourRun

_reel = click.option(
    "--reel", metavar="LENGTH", help="One turn of the reel it was dyed on, to check: 60in."
)


@click.group("yarn")
def yarn() -> None:
    """Keep the colours of a yarn by name; check them.

    \b
    Examples:
      knitlog yarn keep "Hut sunset" "rose 30cm, moss 45cm #117733, snow 77cm" --reel 60in
      knitlog yarn list
      knitlog yarn show sunset
    """


@yarn.command("keep")
@click.argument("name")
@click.argument("run", metavar="RUN")
@click.option("--note", default="", metavar="TEXT", help="Anything else about it.")
@_reel
@as_json
@click.pass_obj
def keep(
    folder: Path | None, name: str, run: str, note: str, reel: str | None, *, json: bool
) -> None:
    """Keep the colours of a yarn under a name.

    RUN is one repeat along the yarn, 'rose 30cm, moss 45cm, snow 77cm'; add
    'and back' at the end if it comes back the way it went. A name that is kept
    already gets the new colours.

    \b
    Example:
      knitlog yarn keep "Hut sunset" "rose 30cm, moss 45cm #117733, snow 77cm"
    """
    from knitlog.plan.run_notation import parse_colour_run

    parsed = parse_colour_run(run)
    findings = _findings(parsed, reel)
    kept = book(folder).keep(name, parsed, note=note)
    said = [f"Kept {kept.name}: {_summary(kept.run)}", *_finding_lines(findings, reel)]
    answer(json, _object(kept, findings), said)


@yarn.command("list")
@as_json
@click.pass_obj
def list_runs(folder: Path | None, *, json: bool) -> None:
    """List the yarns that are kept.

    \b
    Example:
      knitlog yarn list
    """
    kept_in = book(folder)
    runs = kept_in.runs()
    problems = [problem.sentence for problem in kept_in.problems()]
    said = [f"{kept.name}: {_summary(kept.run)}" for kept in runs]
    if not runs:
        said = ['None yet. Keep one with: knitlog yarn keep "Hut sunset" "rose 30cm, moss 45cm"']
    answer(
        json,
        {"yarns": [_object(kept) for kept in runs], "problems": problems},
        [*said, *(f"! {sentence}" for sentence in problems)],
    )


@yarn.command("show")
@click.argument("name")
@_reel
@as_json
@click.pass_obj
def show(folder: Path | None, name: str, reel: str | None, *, json: bool) -> None:
    """Show one yarn, as --colours takes it, with what a check finds.

    \b
    Example:
      knitlog yarn show sunset
    """
    from knitlog.plan.run_notation import format_colour_run

    kept = book(folder).find(name)
    findings = _findings(kept.run, reel)
    said = [kept.name, f"  {format_colour_run(kept.run)}", f"  {_summary(kept.run)}"]
    if kept.note:
        said.append(f"  {kept.note}")
    answer(json, _object(kept, findings), [*said, *_finding_lines(findings, reel)])


@yarn.command("drop")
@click.argument("name")
@as_json
@click.pass_obj
def drop(folder: Path | None, name: str, *, json: bool) -> None:
    """Keep a yarn no longer.

    \b
    Example:
      knitlog yarn drop sunset
    """
    kept = book(folder).drop(name)
    answer(json, {"dropped": kept.name}, [f"{kept.name} is kept no longer."])


@yarn.command("check")
@click.argument("run", metavar="RUN")
@_reel
@as_json
def check(run: str, reel: str | None, *, json: bool) -> None:
    """Check a colour run against the reel's turn and against itself.

    \b
    Example:
      knitlog yarn check "rose 30cm, moss 45cm, snow 77cm" --reel 60in
    """
    from knitlog.plan.run_notation import parse_colour_run
    from knitlog.report.plan_json import run_object

    parsed = parse_colour_run(run)
    findings = _findings(parsed, reel)
    answer(
        json,
        run_object(parsed, findings),
        [_summary(parsed), *_finding_lines(findings, reel)],
    )


def book(folder: Path | None) -> ColourRunBook:
    """The yarns kept in the folder the knitter chose, or in her usual place."""
    from knitlog.journal.colour_runs import ColourRunBook
    from knitlog.journal.library import default_folder

    return ColourRunBook(default_folder() if folder is None else folder)


def _findings(run: ColourRun, reel: str | None) -> tuple[RunFinding, ...]:
    from knitlog.plan.colour_checks import check_colour_run
    from knitlog.typed.measures import parse_length

    return check_colour_run(run, None if reel is None else parse_length(reel))


def _finding_lines(findings: tuple[RunFinding, ...], reel: str | None) -> list[str]:
    """What was found, in sentences; lengths as the reel's turn was told."""
    from knitlog.report.plan_words import finding_words
    from knitlog.typed.measures import length_system

    system = length_system(reel or "")
    return [f"{'! ' if found.serious else ''}{finding_words(found, system)}" for found in findings]


def _summary(run: ColourRun) -> str:
    from knitlog.report.plan_words import run_words

    return run_words(run)


def _object(kept: KeptRun, findings: tuple[RunFinding, ...] = ()) -> dict[str, Any]:
    from knitlog.report.plan_json import run_object

    return {
        "name": kept.name,
        "note": kept.note,
        "kept_at": kept.at.isoformat(),
        **run_object(kept.run, findings),
    }
