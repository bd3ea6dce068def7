"""``knitlog plan``: before casting on, and the yarn that is left.

Each command asks one question of the plan room and says the answer in words, or
with ``--json`` as one JSON object.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from knitlog.cli.answers import answer, as_json
from knitlog.cli.options import without_hands, yarn_by_hands
from knitlog.cli.plan_asked import (
    ENTRIES,
    colours_option,
    gauge_option,
    kept_option,
    needed_run,
    repeat_length_option,
    repeats_option,
    stitches_option,
    with_spread,
)
from knitlog.cli.plan_skeins import SKEIN_COMMANDS
from knitlog.cli.plan_stitches import STITCH_COMMANDS
from knitlog.cli.types import SEED, whole

if TYPE_CHECKING:
    from knitlog.drift import Estimate


@click.group("plan")
def plan() -> None:
    """Plan before casting on; see how far the yarn goes.

    \b
    Examples:
      knitlog plan yarn --gauge "20 st/10cm"
      knitlog plan stitches --yarn-per-stitch 20.5mm --repeat-length 60in --needle 4.5mm
      knitlog plan enough --stitches 96 --yarn-per-stitch 14.6mm --left 180m
    """


@plan.command("yarn")
@gauge_option
@repeat_length_option
@click.option(
    "--pulled-out",
    metavar="STITCHES=LENGTHS",
    help="Stitches pulled out and the yarn measured, once or more: '40=48.2cm, 48cm'.",
)
@click.option(
    "--between-tags",
    metavar="COUNTS",
    help="Stitches counted from one colour change to the same one again: '127; 127.5'.",
)
@click.option("--needle", metavar="SIZE", help="Needle: for what your finished projects say.")
@click.option("--fibre", metavar="WORD", help="What the yarn is of, in your word: wool.")
@click.option("--pattern", metavar="WORD", help="The stitch pattern, in your word: plain.")
@without_hands
@as_json
@click.pass_obj
def plan_yarn(
    folder: Path | None,
    gauge: str | None,
    repeat_length: str | None,
    pulled_out: str | None,
    between_tags: str | None,
    needle: str | None,
    fibre: str | None,
    pattern: str | None,
    *,
    without_hands: bool,
    json: bool,
) -> None:
    """Say how much yarn a stitch takes, and how sure that is.

    From the gauge, from pulling out a counted run of stitches, from counting
    between two tags on the yarn, or from all of them together. Where you have
    finished projects, a gauge or a needle is read by your own hands.

    \b
    Examples:
      knitlog plan yarn --gauge "20 st/10cm"
      knitlog plan yarn --gauge "20 st/10cm" --needle 4.5mm --fibre wool --pattern plain
      knitlog plan yarn --pulled-out "40=82.1cm, 81.8cm"
      knitlog plan yarn --between-tags "74; 73.5" --repeat-length 60in
    """
    from knitlog.plan.stitch_yarn import combine, from_gauge, from_tags, from_unravelling
    from knitlog.report.plan_json import yarn_object
    from knitlog.report.plan_words import disagreement_words, estimate_words
    from knitlog.typed.measures import parse_gauge, parse_length, parse_lengths
    from knitlog.typed.numbers import parse_number, parse_numbers

    ways: dict[str, Estimate] = {}
    own = yarn_by_hands(
        folder, gauge=gauge, needle=needle, fibre=fibre, pattern=pattern, without=without_hands
    )
    if own is not None:
        # the gauge is in it: to count it twice would make too sure
        ways["your hands" if gauge is None else "gauge and your hands"] = own
    elif gauge is not None:
        ways["gauge"] = from_gauge(parse_gauge(gauge))
    if pulled_out is not None:
        count, equals, lengths = pulled_out.partition("=")
        if not equals:
            raise click.UsageError("Type --pulled-out as '40=48.2cm, 48cm'")
        ways["pulled out"] = from_unravelling(parse_number(count, "40"), parse_lengths(lengths))
    if between_tags is not None:
        if repeat_length is None:
            raise click.UsageError("--between-tags needs --repeat-length too")
        counts = parse_numbers(between_tags, "127; 127.5")
        ways["between tags"] = from_tags(counts, parse_length(repeat_length))
    if not ways:
        raise click.UsageError("Give --gauge, --pulled-out or --between-tags")
    together = combine(list(ways.values()))
    warning = disagreement_words(together)
    answer(
        json,
        yarn_object(together, ways),
        [
            f"Yarn per stitch: {estimate_words(together.estimate, 'mm')}",
            *(f"  by {way}: {estimate_words(e, 'mm')}" for way, e in ways.items()),
            *([warning] if warning else []),
        ],
    )


@plan.command("past")
@click.argument("yarns", nargs=-1, required=True, metavar="LENGTHS")
@as_json
def plan_past(yarns: tuple[str, ...], *, json: bool) -> None:
    """Say what yarn per stitch to expect from past projects.

    LENGTHS are the yarn per stitch of projects with the same yarn and needle,
    each with its spread if you know it: 20.4mm or 20.4mm+-0.2mm.

    \b
    Example:
      knitlog plan past 20.4mm 20.9mm 20.1mm
    """
    from knitlog.hands.next_project import yarn_of_projects
    from knitlog.report.json_objects import numbers
    from knitlog.report.plan_words import estimate_words

    told = [with_spread(text) for text in yarns]
    found = yarn_of_projects((mean, spread or 0.0) for mean, spread in told)
    answer(
        json,
        {"yarn_per_stitch_mm": numbers(found), "projects": len(told)},
        [f"Expect {estimate_words(found, 'mm')} a stitch of the next project."],
    )


@plan.command("fabric", context_settings=ENTRIES)
@colours_option
@kept_option
@stitches_option
@repeats_option
@click.option("--drift", default="0", metavar="STITCHES", help="Slide a round: 2.5 or -1.")
@click.option("--unevenness", default="0", metavar="STITCHES", help="Spread of a round: 0.7.")
@click.option("--rounds", type=whole(1, 2000, "40"), default=40, help="How many rounds.")
@click.option("--flat", is_flag=True, help="Worked back and forth in rows.")
@gauge_option
@click.option("--seed", type=SEED, default=0, help="Another seed, another unevenness.")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path, dir_okay=False),
    help="A picture instead of letters: fabric.svg or fabric.png.",
)
@as_json
@click.pass_obj
def plan_fabric(
    folder: Path | None,
    colours: str | None,
    kept: str | None,
    stitches: int,
    repeats: str,
    drift: str,
    unevenness: str,
    rounds: int,
    flat: bool,
    gauge: str | None,
    seed: int,
    output: Path | None,
    *,
    json: bool,
) -> None:
    """Show the colours as they will fall.

    In letters, one a stitch, round 1 at the bottom and stitch 1 at the right;
    or as a picture with -o.

    \b
    Examples:
      knitlog plan fabric --colours "rose 30cm, moss 45cm, snow 77cm" --stitches 96 --drift 2
      knitlog plan fabric --colours "rose 30cm, moss 45cm, snow 77cm" --stitches 96 -o hat.svg
    """
    from knitlog.plan.stitch_colours import knit_fabric
    from knitlog.plan.yarn_path import carry_on, tension_errors
    from knitlog.typed.measures import parse_gauge
    from knitlog.typed.numbers import parse_number

    slide = parse_number(drift, "2.5 or -1")
    errors = tension_errors(rounds, parse_number(unevenness, "0.7"), seed)
    path = carry_on(0.0, slide, stitches, rounds, errors)
    run = needed_run(folder, colours, kept)
    fabric = knit_fabric(run, path, parse_number(repeats, "1 or 2"), flat=flat)
    turn = "row" if flat else "round"
    if output is not None:
        from knitlog.report.fabric_file import save_fabric
        from knitlog.report.fabric_image import Panel
        from knitlog.report.words import counted, signed

        caption = f"{stitches} stitches, {signed(slide)} a {turn}"
        shape = None if gauge is None else parse_gauge(gauge)
        save_fabric(output, [Panel(caption, fabric)], shape)
        answer(False, {}, [f"Drew {counted(rounds, turn)} into {output}."])
        return
    from knitlog.report.fabric_text import chart_lines
    from knitlog.report.fabric_words import unnamed_words
    from knitlog.report.plan_json import fabric_object

    asked = unnamed_words(run)
    answer(json, fabric_object(fabric), (*chart_lines(fabric), *([asked] if asked else [])))


for _command in (*STITCH_COMMANDS, *SKEIN_COMMANDS):
    plan.add_command(_command)
