"""More of ``knitlog plan``: one stitch count, skeins, the scale, past projects, odd joins."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from knitlog.cli.answers import answer, as_json, estimate_words, numbers_of, several
from knitlog.cli.plan import plan

if TYPE_CHECKING:
    from knitlog.drift import Estimate
    from knitlog.plan.stitch_count import Candidate

_ENTRIES = {"ignore_unknown_options": True}
_yarn = click.option(
    "--yarn-per-stitch",
    required=True,
    metavar="LENGTH",
    help="Yarn in one stitch: 20.5mm, or with its spread 20.5mm+-0.3mm.",
)


@click.command("count")
@click.argument("stitches", type=click.IntRange(min=2))
@_yarn
@click.option("--repeat-length", metavar="LENGTH", help="Yarn in one colour repeat: 60in.")
@click.option("--colours", metavar="RUN", help="The colours instead of the length of a repeat.")
@click.option("--yarn", "kept", metavar="NAME", help="A yarn kept with 'knitlog yarn keep'.")
@click.option("--needle", required=True, metavar="SIZE", help="Needle it was measured on: 4.5mm.")
@click.option("--on", "on_needle", metavar="SIZE", help="Needle to knit on, if another.")
@click.option("--needles-owned", metavar="SIZES", help="Others at hand: '4mm, 5mm'.")
@click.option("--gauge", metavar="GAUGE", help="'20 st/4in' or '20 st/10cm'.")
@click.option("--repeats", default="1", show_default=True, metavar="K", help="Repeats a round.")
@click.option("--size", metavar="LENGTH", help="Wanted size around: 54cm or 21in.")
@click.option("--multiple", default="1", metavar="N", help="Pattern multiple: 4, or 8+1.")
@click.option("--tolerance", default="3", metavar="STITCHES", help="How far off still looks right.")
@click.option("--target-drift", default="0", metavar="STITCHES", help="For a spiral on purpose.")
@click.option("--by-round", type=click.IntRange(min=2), default=5, help="Round to judge by.")
@click.option("--begin", metavar="NAME", help="Begin a project of this name by this plan.")
@click.option("--rounds", type=click.IntRange(min=1), metavar="N", help="Rounds planned.")
@click.option("--flat", is_flag=True, help="Worked back and forth in rows.")
@as_json
@click.pass_obj
def plan_count(
    folder: Path | None,
    stitches: int,
    yarn_per_stitch: str,
    repeat_length: str | None,
    colours: str | None,
    kept: str | None,
    needle: str,
    on_needle: str | None,
    needles_owned: str | None,
    gauge: str | None,
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
    from knitlog.journal.factkeys import parse_number
    from knitlog.plan.stitch_count import StitchCountQuestion, candidate_for
    from knitlog.workbench.planned import ChosenPlan, begin_planned
    from knitlog.yarn.gauge import parse_gauge
    from knitlog.yarn.needles import parse_needle
    from knitlog.yarn.units import parse_length

    run, repeat = _repeat(folder, repeat_length, colours, kept)
    times, extra = _multiple(multiple)
    question = StitchCountQuestion(
        yarn_per_stitch=_estimate(yarn_per_stitch),
        repeat_length_mm=repeat,
        needle_mm=parse_needle(needle),
        gauge=None if gauge is None else parse_gauge(gauge),
        wanted_size_mm=None if size is None else parse_length(size),
        multiple=times,
        extra=extra,
        other_needles_mm=tuple(parse_needle(n) for n in several(needles_owned or "")),
        wanted_drift=parse_number(target_drift, "2 or -1.5"),
        tolerance=parse_number(tolerance, "3"),
        by_round=by_round,
    )
    on = question.needle_mm if on_needle is None else parse_needle(on_needle)
    found = candidate_for(question, stitches, parse_number(repeats, "1 or 2"), on)
    content = _candidate(found)
    said = _candidate_lines(found, by_round)
    if begin is not None:
        from knitlog.cli.options import library

        plan = ChosenPlan(found, question, run, rounds, flat)
        state = begin_planned(library(folder), begin, plan).state
        content["begun"] = state.slug
        said.append(f"Set up {state.name}; log the first round with: knitlog log {state.slug} 37")
    answer(json, content, said)


@click.command("skeins")
@click.option("--rounds", required=True, type=click.IntRange(min=1), help="Rounds to knit.")
@click.option("--stitches", required=True, type=click.IntRange(min=2), help="Stitches a round.")
@_yarn
@click.option("--skein", required=True, metavar="LENGTH", help="Length of a whole skein: 400m.")
@click.option("--joining", metavar="LENGTH", help="Colour repeat, to count what joins waste: 60in.")
@as_json
def plan_skeins(
    rounds: int,
    stitches: int,
    yarn_per_stitch: str,
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
    from knitlog.plan.yarn_enough import length_per_round, skeins_needed
    from knitlog.yarn.units import format_length, parse_length

    each = _estimate(yarn_per_stitch)
    count = skeins_needed(rounds, stitches, each, parse_length(skein))
    a_round = length_per_round(stitches, each)
    waste = None
    plural = "" if count == 1 else "s"
    said = [
        f"{count} skein{plural}, with a chance of 95 % or better; a round takes "
        f"{format_length(a_round.mean)}."
    ]
    if joining is not None:
        # cut anywhere from nothing to a whole repeat, half of one on average
        waste = (count - 1) * parse_length(joining) / 2
        if waste:
            said.append(f"Joining them in colour wastes about {format_length(waste)} besides.")
    content: dict[str, Any] = {
        "skeins": count,
        "length_per_round_mm": numbers_of(a_round),
        "joining_waste_mm": waste,
    }
    answer(json, content, said)


@click.command("weighed")
@click.option("--before", required=True, metavar="WEIGHT", help="Yarn left at first: 62g.")
@click.option("--now", required=True, metavar="WEIGHT", help="Yarn left now: 48g.")
@click.option("--knitted", required=True, type=click.IntRange(min=1), help="Rounds in between.")
@click.option("--rounds", type=click.IntRange(min=1), metavar="N", help="Rounds still to knit.")
@as_json
def plan_weighed(before: str, now: str, knitted: int, rounds: int | None, *, json: bool) -> None:
    """Say how many rounds are left, from two weighings.

    Better than a label: the scale saw what your own rounds took.

    \b
    Example:
      knitlog plan weighed --before 62g --now 48g --knitted 12 --rounds 30
    """
    from knitlog.plan.yarn_enough import rounds_left_by_weight
    from knitlog.yarn.units import parse_weight

    found = rounds_left_by_weight(parse_weight(before), parse_weight(now), knitted)
    content: dict[str, Any] = {
        "rounds_left": numbers_of(found.rounds_left),
        "sure_rounds": found.sure_rounds,
        "weight_per_round_g": numbers_of(found.weight_per_round_g),
    }
    said = [f"Enough for about {found.rounds_left.mean:.0f} rounds; {found.sure_rounds} for sure."]
    if rounds is not None:
        content["chance"] = found.chance_for(rounds)
        said.append(f"It lasts {rounds} rounds with a chance of {100 * content['chance']:.0f} %.")
    answer(json, content, said)


@click.command("past")
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
    from knitlog.plan.stitch_yarn import PastProject, from_past_projects

    projects = []
    for text in yarns:
        mean, spread = _with_spread(text)
        projects.append(PastProject(mean, spread or 0.0))
    found = from_past_projects(projects)
    answer(
        json,
        {"yarn_per_stitch_mm": numbers_of(found), "projects": len(projects)},
        [f"Expect {estimate_words(found, 'mm')} a stitch of the next project."],
    )


@click.command("new-repeat", context_settings=_ENTRIES)
@click.argument("drift", type=click.UNPROCESSED)
@click.option("--stitches", required=True, type=click.IntRange(min=2), help="Stitches a round.")
@click.option("--old", required=True, metavar="LENGTH", help="Repeat of the old skein: 60in.")
@click.option("--new", "new_repeat", required=True, metavar="LENGTH", help="Of the new: 59in.")
@as_json
def plan_new_repeat(drift: str, stitches: int, old: str, new_repeat: str, *, json: bool) -> None:
    """Say what a skein with another repeat does to the drift.

    \b
    Example:
      knitlog plan new-repeat 0.5 --stitches 128 --old 60in --new 59in
    """
    from knitlog.journal.factkeys import parse_number
    from knitlog.plan.joining import drift_with_new_repeat
    from knitlog.yarn.units import parse_length

    before = parse_number(drift, "0.5 or -1")
    after = drift_with_new_repeat(before, stitches, parse_length(old), parse_length(new_repeat))
    answer(
        json,
        {"drift": after, "drift_before": before},
        [
            f"At the same tension the drift goes from {before:+.1f} to {after:+.1f} "
            "stitches a round."
        ],
    )


@click.command("cast-on-yarn", context_settings=_ENTRIES)
@click.argument("left", metavar="LEFT", type=click.UNPROCESSED)
@click.option("--stitches", required=True, type=click.IntRange(min=2), help="Stitches cast on.")
@click.option("--repeats", default="1", show_default=True, metavar="K", help="Repeats a round.")
@click.option("--repeat-length", required=True, metavar="LENGTH", help="One repeat: 60in.")
@click.option("--tolerance", default="3", metavar="STITCHES", help="How far off still looks right.")
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
    from knitlog.journal.factkeys import parse_number
    from knitlog.plan.cast_on import check_cast_on, off_from_yarn_left
    from knitlog.yarn.units import parse_length

    over = left.lstrip().startswith(("-", "\u2212"))
    length = parse_length(left.strip().lstrip("-\u2212"))
    off = off_from_yarn_left(
        -length if over else length,
        stitches,
        parse_number(repeats, "1 or 2"),
        parse_length(repeat_length),
    )
    check = check_cast_on(off, stitches, parse_number(tolerance, "3"))
    answer(
        json,
        {
            "verdict": str(check.verdict),
            "off_stitches": check.off_stitches,
            "yarn_change_percent": check.yarn_change_percent,
            "why": check.why,
        },
        [check.why],
    )


@click.command("mend-join", context_settings=_ENTRIES)
@click.option("--colours", metavar="RUN", help="One repeat: 'rose 30cm, moss 45cm'.")
@click.option("--yarn", "kept", metavar="NAME", help="A yarn kept with 'knitlog yarn keep'.")
@click.option("--old-ends", required=True, metavar="LENGTH", help="Where in the repeat it ends.")
@click.option(
    "--new-starts", required=True, metavar="LENGTH", help="Where in the repeat the new begins."
)
@click.option("--other-end", metavar="LENGTH", help="Its other end, where the run turns back.")
@click.option("--offset", default="0", metavar="STITCHES", help="Offset to take out: 4 or -2.")
@click.option("--yarn-per-stitch", metavar="LENGTH", help="Yarn in one stitch, for an offset.")
@click.option("--tail", default="15cm", show_default=True, metavar="LENGTH", help="To weave in.")
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
    from knitlog.journal.factkeys import parse_number
    from knitlog.plan.joining import plan_join
    from knitlog.yarn.units import parse_length

    run, _ = _repeat(folder, None, colours, kept)
    found = plan_join(
        run,
        parse_length(old_ends),
        parse_length(new_starts),
        tail_mm=parse_length(tail),
        offset_stitches=parse_number(offset, "4 or -2"),
        yarn_per_stitch_mm=None if yarn_per_stitch is None else parse_length(yarn_per_stitch),
        new_other_end_mm=None if other_end is None else parse_length(other_end),
    )
    answer(
        json,
        {
            "cut_mm": found.cut_mm,
            "tail_mm": found.tail_mm,
            "join_colour": found.join_colour.name,
            "into_colour_mm": found.join_at.into_mm,
            "from_other_end": found.from_other_end,
            "offset_taken_out": found.offset_taken_out,
            "sentence": found.sentence,
        },
        [found.sentence],
    )


PLAN_MORE = (
    plan_count,
    plan_skeins,
    plan_weighed,
    plan_past,
    plan_new_repeat,
    plan_cast_on_yarn,
    plan_mend_join,
)
"""Added to ``knitlog plan``."""


def _repeat(
    folder: Path | None, length: str | None, colours: str | None, kept: str | None
) -> tuple[Any, float]:
    """The colours, if told, and the length of one repeat, mm."""
    from knitlog.plan.colour_run import parse_colour_run
    from knitlog.yarn.units import parse_length

    if kept is not None:
        from knitlog.cli.yarn import book

        run = book(folder).find(kept).run
    elif colours is not None:
        run = parse_colour_run(colours)
    elif length is not None:
        return None, parse_length(length)
    else:
        raise click.UsageError("Say what one repeat is, with --colours, --yarn or --repeat-length")
    return run, run.repeat_length_mm


def _multiple(text: str) -> tuple[int, int]:
    times, _, extra = text.partition("+")
    from knitlog.journal.factkeys import parse_whole

    return parse_whole(times, "8"), parse_whole(extra, "1") if extra.strip() else 0


def _with_spread(text: str) -> tuple[float, float | None]:
    """A length and its spread, mm: 20.5mm, 20.5mm+-0.3mm or 20.5mm±0.3mm."""
    from knitlog.yarn.units import parse_length

    mean, sign, spread = text.replace("+-", "±").partition("±")
    return parse_length(mean), parse_length(spread) if sign else None


def _estimate(text: str) -> Estimate:
    from knitlog.plan.normal import ratio_estimate
    from knitlog.plan.stitch_yarn import DEFAULT_ERRORS

    mean, spread = _with_spread(text)
    # a number she knows is as good as a swatch pulled out
    return ratio_estimate(mean, DEFAULT_ERRORS.swatch_share if spread is None else spread / mean)


def _candidate(found: Candidate) -> dict[str, Any]:
    out = found.if_not
    return {
        "stitches": found.stitches,
        "repeats": found.repeats,
        "needle_mm": found.needle_mm,
        "yarn_per_stitch_mm": numbers_of(found.yarn_per_stitch),
        "target_yarn_per_stitch_mm": found.target_yarn_per_stitch_mm,
        "drift": numbers_of(found.drift),
        "chance_in_tolerance": found.chance_in_tolerance,
        "size_mm": found.size_mm,
        "size_off_percent": found.size_off_percent,
        "if_not": {
            "judge_after_round": out.judge_after_round,
            "act_if_moved": out.act_if_moved,
            "stitch_step": out.stitch_step,
            "larger_needle_mm": out.larger_needle_mm,
            "larger_needle_drift_change": out.larger_needle_drift_change,
            "smaller_needle_mm": out.smaller_needle_mm,
            "smaller_needle_drift_change": out.smaller_needle_drift_change,
            "likelier": out.likelier,
            "sentence": out.sentence,
        },
    }


def _candidate_lines(found: Candidate, by_round: int) -> list[str]:
    from knitlog.yarn.units import format_length

    d = found.drift
    return [
        f"{found.stitches} stitches, {found.repeats:g} repeat{'' if found.repeats == 1 else 's'} "
        f"a round on {found.needle_mm:g} mm: "
        f"{format_length(found.size_mm)} around.",
        f"Drift {d.mean:+.1f} a round ({d.low95:+.1f} to {d.high95:+.1f}, 19 times in 20).",
        f"It stacks by round {by_round} with a chance of {100 * found.chance_in_tolerance:.0f} %.",
        found.if_not.sentence,
    ]


for _command in PLAN_MORE:
    plan.add_command(_command)
