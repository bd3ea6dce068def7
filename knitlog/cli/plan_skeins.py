"""``knitlog plan`` enough, weighed, skeins, join, mend-join, new-repeat: the yarn in skeins."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from knitlog.cli.answers import answer, as_json
from knitlog.cli.plan_asked import (
    ENTRIES,
    colours_option,
    gauge_option,
    kept_option,
    needed_run,
    stitch_yarn,
    stitches_option,
    yarn_option,
)
from knitlog.cli.types import ROUNDS

_rounds = click.option("--rounds", type=ROUNDS, metavar="N", help="Rounds still to knit.")


@click.command("enough")
@stitches_option
@yarn_option
@gauge_option
@click.option("--left", metavar="AMOUNT", help="Yarn left: a length, 180m, or a weight, 34g.")
@click.option("--skein", metavar="LENGTH/WEIGHT", help="A whole skein by its label: 400m/100g.")
@_rounds
@as_json
def plan_enough(
    stitches: int,
    yarn_per_stitch: str | None,
    gauge: str | None,
    left: str | None,
    skein: str | None,
    rounds: int | None,
    *,
    json: bool,
) -> None:
    """Say how many rounds the yarn left will make.

    \b
    Examples:
      knitlog plan enough --stitches 96 --yarn-per-stitch 14.6mm --left 180m --rounds 30
      knitlog plan enough --stitches 96 --gauge "28 st/10cm" --left 34g --skein 400m/100g
    """
    from knitlog.plan.yarn_enough import rounds_left_by_label, rounds_left_by_length
    from knitlog.report.plan_json import enough_object
    from knitlog.report.plan_words import enough_words
    from knitlog.typed.measures import length_system, parse_length, parse_skein, parse_weight

    if left is None:
        raise click.UsageError("Say how much yarn is left, with --left 180m or --left 34g")
    each = stitch_yarn(yarn_per_stitch, gauge)
    if skein is None:
        found = rounds_left_by_length(parse_length(left), stitches, each)
        system = length_system(left)
    else:
        found = rounds_left_by_label(parse_weight(left), *parse_skein(skein), stitches, each)
        system = length_system(skein.partition("/")[0])
    answer(json, enough_object(found, rounds), enough_words(found, rounds, system))


@click.command("weighed")
@click.option("--before", required=True, metavar="WEIGHT", help="Yarn left at first: 62g.")
@click.option("--now", required=True, metavar="WEIGHT", help="Yarn left now: 48g.")
@click.option("--knitted", required=True, type=ROUNDS, help="Rounds in between.")
@_rounds
@as_json
def plan_weighed(before: str, now: str, knitted: int, rounds: int | None, *, json: bool) -> None:
    """Say how many rounds are left, from two weighings.

    Better than a label: the scale saw what your own rounds took.

    \b
    Example:
      knitlog plan weighed --before 62g --now 48g --knitted 12 --rounds 30
    """
    from knitlog.plan.yarn_enough import rounds_left_by_weight
    from knitlog.report.plan_json import enough_object
    from knitlog.report.plan_words import enough_words
    from knitlog.typed.measures import parse_weight

    found = rounds_left_by_weight(parse_weight(before), parse_weight(now), knitted)
    answer(json, enough_object(found, rounds), enough_words(found, rounds))


@click.command("skeins")
@click.option("--rounds", required=True, type=ROUNDS, help="Rounds to knit.")
@stitches_option
@yarn_option
@gauge_option
@click.option("--skein", required=True, metavar="LENGTH", help="Length of a whole skein: 400m.")
@click.option("--joining", metavar="LENGTH", help="Colour repeat, to count what joins waste: 60in.")
@as_json
def plan_skeins(
    rounds: int,
    stitches: int,
    yarn_per_stitch: str | None,
    gauge: str | None,
    skein: str,
    joining: str | None,
    *,
    json: bool,
) -> None:
    """Say how many skeins to buy.

    \b
    Example:
      knitlog plan skeins --rounds 120 --stitches 128 --yarn-per-stitch 20.5mm --skein 400m
    """
    from knitlog.plan.yarn_enough import joining_waste, length_per_round, skeins_needed
    from knitlog.report.json_objects import numbers
    from knitlog.report.plan_words import skein_words
    from knitlog.typed.measures import length_system, parse_length

    each = stitch_yarn(yarn_per_stitch, gauge)
    count = skeins_needed(rounds, stitches, each, parse_length(skein))
    a_round = length_per_round(stitches, each)
    waste = None if joining is None else joining_waste(count, parse_length(joining))
    content: dict[str, Any] = {
        "skeins": count,
        "length_per_round_mm": numbers(a_round),
        "joining_waste_mm": waste,
    }
    answer(json, content, skein_words(count, a_round.mean, waste, length_system(skein)))


_old_ends = click.option(
    "--old-ends", required=True, metavar="LENGTH", help="Where in the repeat it ends."
)
_new_starts = click.option(
    "--new-starts", required=True, metavar="LENGTH", help="Where in the repeat the new begins."
)
_tail = click.option(
    "--tail", default="15cm", show_default=True, metavar="LENGTH", help="To weave in."
)


@click.command("join")
@colours_option
@kept_option
@_old_ends
@_new_starts
@_tail
@as_json
@click.pass_obj
def plan_join(
    folder: Path | None,
    colours: str | None,
    kept: str | None,
    old_ends: str,
    new_starts: str,
    tail: str,
    *,
    json: bool,
) -> None:
    """Say where to join the next skein so that the stack goes on.

    \b
    Example:
      knitlog plan join --colours "rose 30cm, moss 45cm, snow 20cm"
              --old-ends 52cm --new-starts 10cm
    """
    _join(folder, colours, kept, old_ends, new_starts, tail, json=json)


@click.command("mend-join", context_settings=ENTRIES)
@colours_option
@kept_option
@_old_ends
@_new_starts
@click.option("--other-end", metavar="LENGTH", help="Its other end, where the run turns back.")
@click.option("--offset", default="0", metavar="STITCHES", help="Offset to take out: 4 or -2.")
@click.option("--yarn-per-stitch", metavar="LENGTH", help="Yarn in one stitch, for an offset.")
@_tail
@as_json
@click.pass_obj
def plan_mend_join(
    folder: Path | None,
    colours: str | None,
    kept: str | None,
    old_ends: str,
    new_starts: str,
    other_end: str | None,
    offset: str,
    yarn_per_stitch: str | None,
    tail: str,
    *,
    json: bool,
) -> None:
    """Join the next skein so as to take an offset out too.

    \b
    Example:
      knitlog plan mend-join --yarn sunset --old-ends 52cm --new-starts 10cm
              --offset 4 --yarn-per-stitch 20.5mm
    """
    from knitlog.typed.measures import parse_length, parse_stitches

    _join(
        folder,
        colours,
        kept,
        old_ends,
        new_starts,
        tail,
        offset=parse_stitches(offset, "4 or -2"),
        each=None if yarn_per_stitch is None else parse_length(yarn_per_stitch),
        other_end=None if other_end is None else parse_length(other_end),
        json=json,
    )


def _join(
    folder: Path | None,
    colours: str | None,
    kept: str | None,
    old_ends: str,
    new_starts: str,
    tail: str,
    *,
    offset: float = 0.0,
    each: float | None = None,
    other_end: float | None = None,
    json: bool,
) -> None:
    """Say where to join."""
    from knitlog.plan.joining import plan_join as find_join
    from knitlog.report.plan_json import join_object
    from knitlog.report.plan_words import join_words
    from knitlog.typed.measures import length_system, parse_length

    found = find_join(
        needed_run(folder, colours, kept),
        parse_length(old_ends),
        parse_length(new_starts),
        tail_mm=parse_length(tail),
        offset_stitches=offset,
        yarn_per_stitch_mm=each,
        new_other_end_mm=other_end,
    )
    answer(json, join_object(found), [join_words(found, length_system(old_ends))])


@click.command("new-repeat", context_settings=ENTRIES)
@click.argument("drift", type=click.UNPROCESSED)
@stitches_option
@click.option("--old", required=True, metavar="LENGTH", help="Repeat of the old skein: 60in.")
@click.option("--new", "new_repeat", required=True, metavar="LENGTH", help="Of the new: 59in.")
@as_json
def plan_new_repeat(drift: str, stitches: int, old: str, new_repeat: str, *, json: bool) -> None:
    """Say what a skein with another repeat does to the drift.

    \b
    Example:
      knitlog plan new-repeat 0.5 --stitches 128 --old 60in --new 59in
    """
    from knitlog.plan.joining import drift_with_new_repeat
    from knitlog.report.plan_words import new_repeat_words
    from knitlog.typed.measures import parse_length, parse_stitches

    before = parse_stitches(drift, "0.5 or -1")
    after = drift_with_new_repeat(before, stitches, parse_length(old), parse_length(new_repeat))
    answer(json, {"drift": after, "drift_before": before}, [new_repeat_words(before, after)])


SKEIN_COMMANDS = (
    plan_enough,
    plan_weighed,
    plan_skeins,
    plan_join,
    plan_mend_join,
    plan_new_repeat,
)
"""Added to ``knitlog plan``."""
