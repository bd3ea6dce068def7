"""``knitlog plan`` stitches, count, cast-on, cast-on-yarn: how many stitches to cast on."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from knitlog.cli.answers import answer, as_json
from knitlog.cli.options import without_hands, yarn_by_hands
from knitlog.cli.plan_asked import (
    ENTRIES,
    colour_run,
    colours_option,
    gauge_option,
    kept_option,
    length_of_repeat,
    multiple_option,
    needles_option,
    repeat_length_option,
    repeats_option,
    size_option,
    spiral_option,
    stitch_yarn,
    stitches_option,
    tolerance_option,
    yarn_option,
)
from knitlog.cli.types import ROUND, ROUNDS, STITCH_COUNT, whole

if TYPE_CHECKING:
    from knitlog.drift import Estimate
    from knitlog.plan.stitch_count import StitchCountQuestion
    from knitlog.typed.measures import Units


@click.command("stitches")
@yarn_option
@gauge_option
@repeat_length_option
@colours_option
@kept_option
@click.option("--needle", required=True, metavar="SIZE", help="Needle in hand: 4.5mm or US 7.")
@needles_option
@size_option
@multiple_option
@tolerance_option
@spiral_option
@click.option("--most", type=whole(1, 100, "8"), default=8, help="How many to show.")
@click.option("--fibre", metavar="WORD", help="What the yarn is of, in your word: wool.")
@click.option("--pattern", metavar="WORD", help="The stitch pattern, in your word: plain.")
@without_hands
@as_json
@click.pass_obj
def plan_stitches(
    folder: Path | None,
    yarn_per_stitch: str | None,
    gauge: str | None,
    repeat_length: str | None,
    colours: str | None,
    kept: str | None,
    needle: str,
    needles_owned: str | None,
    size: str | None,
    multiple: str,
    tolerance: str,
    target_drift: str,
    most: int,
    fibre: str | None,
    pattern: str | None,
    *,
    without_hands: bool,
    json: bool,
) -> None:
    """Find stitch counts that should stack.

    Where none is of the wanted size, the nearest are shown.

    \b
    Examples:
      knitlog plan stitches --yarn-per-stitch 14.6mm --repeat-length 60in --needle 3.25mm
      knitlog plan stitches --gauge "28 st/10cm" --repeat-length 60in --needle "US 3"
              --size 21in --multiple 4 --needles-owned "3mm, 3.5mm"
    """
    from knitlog.plan.stitch_count import find_stitch_counts
    from knitlog.report.parts import table
    from knitlog.report.plan_json import counts_object
    from knitlog.report.plan_words import (
        CANDIDATE_HEAD,
        candidate_row,
        contingency_words,
        nothing_fits_words,
    )

    repeat = length_of_repeat(colour_run(folder, colours, kept), repeat_length)
    own = None
    if yarn_per_stitch is None and gauge is not None:
        own = yarn_by_hands(
            folder, gauge=gauge, needle=needle, fibre=fibre, pattern=pattern, without=without_hands
        )
    each = own or stitch_yarn(yarn_per_stitch, gauge)
    question = _question(
        each, repeat, needle, gauge, size, multiple, needles_owned, target_drift, tolerance
    )
    found = find_stitch_counts(question)
    shown, units = found.candidates[:most], _units(size, needle)
    note = nothing_fits_words(question, found, units.lengths)
    answer(
        json,
        counts_object(question, found, shown),
        [
            *([note, ""] if note else []),
            *table(
                [
                    CANDIDATE_HEAD,
                    *(candidate_row(c, units.lengths, units.needle(c.needle_mm)) for c in shown),
                ]
            ),
            "",
            f"Stacks: the chance to be within tolerance by round {question.by_round}.",
            f"With {shown[0].stitches} stitches: {contingency_words(shown[0].contingency, units)}",
        ],
    )


@click.command("count")
@click.argument("stitches", type=STITCH_COUNT)
@yarn_option
@gauge_option
@repeat_length_option
@colours_option
@kept_option
@click.option("--needle", required=True, metavar="SIZE", help="Needle it was measured on: 4.5mm.")
@click.option("--on", "on_needle", metavar="SIZE", help="Needle to knit on, if another.")
@needles_option
@repeats_option
@size_option
@multiple_option
@tolerance_option
@spiral_option
@click.option("--by-round", type=ROUND, default=5, help="Round to judge by.")
@click.option("--begin", metavar="NAME", help="Begin a project of this name by this plan.")
@click.option("--rounds", type=ROUNDS, metavar="N", help="Rounds planned.")
@click.option("--flat", is_flag=True, help="Worked back and forth in rows.")
@as_json
@click.pass_obj
def plan_count(
    folder: Path | None,
    stitches: int,
    yarn_per_stitch: str | None,
    gauge: str | None,
    repeat_length: str | None,
    colours: str | None,
    kept: str | None,
    needle: str,
    on_needle: str | None,
    needles_owned: str | None,
    repeats: str,
    size: str | None,
    multiple: str,
    tolerance: str,
    target_drift: str,
    by_round: int,
    begin: str | None,
    rounds: int | None,
    flat: bool,
    *,
    json: bool,
) -> None:
    """Say what to expect of one stitch count; begin a project by it.

    \b
    Examples:
      knitlog plan count 74 --yarn-per-stitch 20.5mm --repeat-length 60in --needle 4.5mm
      knitlog plan count 74 --yarn-per-stitch 20.5mm --yarn sunset --needle 4.5mm
              --begin "Red hat" --rounds 60
    """
    from knitlog.analysis.planned import ChosenPlan, begin_planned
    from knitlog.plan.stitch_count import candidate_for
    from knitlog.report.plan_json import candidate_object
    from knitlog.report.plan_words import candidate_words, chance_words, contingency_words
    from knitlog.typed.measures import parse_needle
    from knitlog.typed.numbers import parse_number

    run = colour_run(folder, colours, kept)
    repeat = length_of_repeat(run, repeat_length)
    each = stitch_yarn(yarn_per_stitch, gauge)
    question = replace(
        _question(
            each, repeat, needle, gauge, size, multiple, needles_owned, target_drift, tolerance
        ),
        by_round=by_round,
    )
    on = question.needle_mm if on_needle is None else parse_needle(on_needle)
    found = candidate_for(question, stitches, parse_number(repeats, "1 or 2"), on)
    content = candidate_object(found)
    units = _units(size, needle)
    said = [
        candidate_words(found, units.lengths, flat=flat, units=units),
        chance_words(found),
        contingency_words(found.contingency, units),
    ]
    if begin is not None:
        from knitlog.cli.options import library
        from knitlog.report.plan_words import planned_words

        told = {
            "repeat-length": repeat_length,
            "needle": needle if on_needle is None else on_needle,
            "gauge": gauge,
            "needles-owned": needles_owned,
        }
        given = {key: text for key, text in told.items() if text is not None}
        plan = ChosenPlan(found, question, run, rounds, flat, given)
        state = begin_planned(library(folder), begin, plan, planned_words(plan)).state
        content["begun"] = state.slug
        said.append(f"Set up {state.name}; log the first round with: knitlog log {state.slug} 37")
    answer(json, content, said)


def _question(
    each: Estimate,
    repeat_mm: float,
    needle: str,
    gauge: str | None,
    size: str | None,
    multiple: str,
    needles_owned: str | None,
    target_drift: str,
    tolerance: str,
) -> StitchCountQuestion:
    """What she has and wants, as typed."""
    from knitlog.plan.stitch_count import StitchCountQuestion
    from knitlog.typed.measures import (
        parse_gauge,
        parse_length,
        parse_multiple,
        parse_needle,
        parse_needles,
        parse_stitches,
    )

    times, extra = parse_multiple(multiple)
    return StitchCountQuestion(
        yarn_per_stitch=each,
        repeat_length_mm=repeat_mm,
        needle_mm=parse_needle(needle),
        gauge=None if gauge is None else parse_gauge(gauge),
        wanted_size_mm=None if size is None else parse_length(size),
        multiple=times,
        extra=extra,
        other_needles_mm=parse_needles(needles_owned) if needles_owned else (),
        wanted_drift=parse_stitches(target_drift, "2 or -1.5"),
        tolerance=parse_stitches(tolerance, "3"),
    )


def _units(size: str | None, needle: str) -> Units:
    """What she measures sizes in, and the numbers she has for needles."""
    from knitlog.typed.measures import Units, length_system, needle_system

    return Units("metric" if size is None else length_system(size), needle_system(needle))


@click.command("cast-on", context_settings=ENTRIES)
@click.argument("off", metavar="OFF", type=click.UNPROCESSED)
@stitches_option
@tolerance_option
@as_json
def plan_cast_on(off: str, stitches: int, tolerance: str, *, json: bool) -> None:
    """Judge a cast-on by where the repeats ended.

    OFF is how many stitches past (+) or short of (-) the last stitch the
    colours came back.

    \b
    Example:
      knitlog plan cast-on -4 --stitches 128
    """
    from knitlog.typed.measures import parse_stitches

    _judge(parse_stitches(off, "-4"), stitches, tolerance, json=json)


@click.command("cast-on-yarn", context_settings=ENTRIES)
@click.argument("left", metavar="LEFT", type=click.UNPROCESSED)
@stitches_option
@repeats_option
@click.option("--repeat-length", required=True, metavar="LENGTH", help="One repeat: 60in.")
@tolerance_option
@as_json
def plan_cast_on_yarn(
    left: str, stitches: int, repeats: str, repeat_length: str, tolerance: str, *, json: bool
) -> None:
    """Judge a cast-on by the yarn of its repeats left over.

    LEFT is the yarn left of the repeats once all stitches are on; -3cm if it
    took 3 cm more than them.

    \b
    Example:
      knitlog plan cast-on-yarn 4cm --stitches 76 --repeat-length 152cm
    """
    from knitlog.plan.cast_on import off_from_yarn_left
    from knitlog.typed.measures import parse_length
    from knitlog.typed.numbers import parse_number

    over = left.lstrip().startswith(("-", "\u2212"))
    length = parse_length(left.strip().lstrip("-\u2212"))
    off = off_from_yarn_left(
        -length if over else length,
        stitches,
        parse_number(repeats, "1 or 2"),
        parse_length(repeat_length),
    )
    _judge(off, stitches, tolerance, json=json)


def _judge(off: float, stitches: int, tolerance: str, *, json: bool) -> None:
    """Say how a cast-on came out."""
    from knitlog.plan.cast_on import check_cast_on
    from knitlog.report.plan_json import cast_on_object
    from knitlog.report.plan_words import cast_on_words
    from knitlog.typed.measures import parse_stitches

    check = check_cast_on(off, stitches, parse_stitches(tolerance, "3"))
    answer(json, cast_on_object(check), [cast_on_words(check)])


STITCH_COMMANDS = (plan_stitches, plan_count, plan_cast_on, plan_cast_on_yarn)
"""Added to ``knitlog plan``."""
