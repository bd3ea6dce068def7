"""``knitlog plan``: before casting on, and the yarn that is left.

Each command asks one question of the plan room and says the answer in words, or
with ``--json`` as one JSON object.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from knitlog.cli.answers import answer, as_json, estimate_words, numbers_of, several
from knitlog.cli.history import without_hands, yarn_by_hands

if TYPE_CHECKING:
    from knitlog.drift import Estimate

_ENTRIES = {"ignore_unknown_options": True}

_gauge = click.option("--gauge", metavar="GAUGE", help="'20 st/4in' or '20 st/10cm'.")
_repeat_length = click.option(
    "--repeat-length", metavar="LENGTH", help="Yarn in one colour repeat: 152cm, 60in, 1.67yd."
)
_yarn = click.option(
    "--yarn-per-stitch", metavar="LENGTH", help="Yarn in one stitch, if you know it: 12.1mm."
)
_stitches = click.option(
    "--stitches", required=True, type=click.IntRange(min=2), metavar="N", help="Stitches a round."
)
_run = click.option(
    "--colours",
    required=True,
    metavar="RUN",
    help="One repeat along the yarn: 'rose 30cm, moss 45cm #117733, snow 20cm'.",
)
_repeats = click.option(
    "--repeats", default="1", show_default=True, metavar="K", help="Colour repeats a round."
)


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
@_gauge
@_repeat_length
@click.option(
    "--pulled-out",
    metavar="STITCHES=LENGTHS",
    help="Stitches pulled out and the yarn measured, once or more: '40=48.2cm, 48cm'.",
)
@click.option(
    "--between-tags",
    metavar="COUNTS",
    help="Stitches counted from one colour change to the same one again: '127, 127.5'.",
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
      knitlog plan yarn --between-tags "74, 73.5" --repeat-length 60in
    """
    ways: dict[str, Estimate] = {}
    from knitlog.journal.factkeys import parse_number
    from knitlog.plan.stitch_yarn import combine, from_gauge, from_tags, from_unravelling
    from knitlog.yarn.gauge import parse_gauge
    from knitlog.yarn.units import parse_length

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
        measured = [parse_length(text) for text in several(lengths)]
        ways["pulled out"] = from_unravelling(parse_number(count, "40"), measured)
    if between_tags is not None:
        if repeat_length is None:
            raise click.UsageError("--between-tags needs --repeat-length too")
        counts = [parse_number(text, "127.5") for text in several(between_tags)]
        ways["between tags"] = from_tags(counts, parse_length(repeat_length))
    if not ways:
        raise click.UsageError("Give --gauge, --pulled-out or --between-tags")
    together = combine(list(ways.values()))
    answer(
        json,
        {
            "yarn_per_stitch_mm": numbers_of(together.estimate),
            "ways": [
                {"way": way, "share": share, "yarn_per_stitch_mm": numbers_of(estimate)}
                for (way, estimate), share in zip(ways.items(), together.shares, strict=True)
            ],
            "warning": together.warning,
        },
        [
            f"Yarn per stitch: {estimate_words(together.estimate, 'mm')}",
            *(f"  by {way}: {estimate_words(e, 'mm')}" for way, e in ways.items()),
            *([together.warning] if together.warning else []),
        ],
    )


@plan.command("stitches")
@_yarn
@_gauge
@_repeat_length
@click.option("--needle", required=True, metavar="SIZE", help="Needle in hand: 4.5mm or US 7.")
@click.option("--needles-owned", metavar="SIZES", help="Others at hand: '4mm, 5mm'.")
@click.option("--size", metavar="LENGTH", help="Wanted size around: 54cm or 21in.")
@click.option("--multiple", type=click.IntRange(min=1), default=1, help="Stitch pattern multiple.")
@click.option("--tolerance", default="3", metavar="STITCHES", help="How far off still looks right.")
@click.option("--target-drift", default="0", metavar="STITCHES", help="For a spiral on purpose.")
@click.option("--most", type=click.IntRange(min=1), default=8, help="How many to show.")
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
    needle: str,
    needles_owned: str | None,
    size: str | None,
    multiple: int,
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

    \b
    Examples:
      knitlog plan stitches --yarn-per-stitch 14.6mm --repeat-length 60in --needle 3.25mm
      knitlog plan stitches --gauge "28 st/10cm" --repeat-length 60in --needle "US 3"
              --size 21in --multiple 4 --needles-owned "3mm, 3.5mm"
    """
    from knitlog.journal.factkeys import parse_number
    from knitlog.plan.stitch_count import StitchCountQuestion, find_stitch_counts
    from knitlog.yarn.gauge import parse_gauge
    from knitlog.yarn.needles import parse_needle
    from knitlog.yarn.units import format_length, parse_length

    if repeat_length is None:
        raise click.UsageError("Say how long one colour repeat is, with --repeat-length 60in")
    own = None
    if yarn_per_stitch is None and gauge is not None:
        own = yarn_by_hands(
            folder, gauge=gauge, needle=needle, fibre=fibre, pattern=pattern, without=without_hands
        )
    question = StitchCountQuestion(
        yarn_per_stitch=own or _stitch_yarn(yarn_per_stitch, gauge),
        repeat_length_mm=parse_length(repeat_length),
        needle_mm=parse_needle(needle),
        gauge=None if gauge is None else parse_gauge(gauge),
        wanted_size_mm=None if size is None else parse_length(size),
        multiple=multiple,
        other_needles_mm=tuple(parse_needle(text) for text in several(needles_owned or "")),
        wanted_drift=parse_number(target_drift, "0 or -1.5"),
        tolerance=parse_number(tolerance, "3"),
    )
    found = find_stitch_counts(question)[:most]
    rows = [("Stitches", "Repeats", "Needle", "Drift", "Stacks", "Around")]
    rows += [
        (
            str(c.stitches),
            f"{c.repeats:g}",
            f"{c.needle_mm:g} mm",
            f"{c.drift.mean:+.1f} (± {1.96 * c.drift.sd:.1f})",
            f"{100 * c.chance_in_tolerance:.0f} %",
            format_length(c.size_mm),
        )
        for c in found
    ]
    from knitlog.cli.wording import table

    answer(
        json,
        {
            "candidates": [
                {
                    "stitches": c.stitches,
                    "repeats": c.repeats,
                    "needle_mm": c.needle_mm,
                    "drift": numbers_of(c.drift),
                    "chance_in_tolerance": c.chance_in_tolerance,
                    "target_yarn_per_stitch_mm": c.target_yarn_per_stitch_mm,
                    "size_mm": c.size_mm,
                    "size_off_percent": c.size_off_percent,
                    "if_not": c.if_not.sentence,
                }
                for c in found
            ]
        },
        [
            *table(rows),
            "",
            f"Stacks: the chance to be within tolerance by round {question.by_round}.",
            f"With {found[0].stitches} stitches: {found[0].if_not.sentence}",
        ],
    )


@plan.command("cast-on", context_settings=_ENTRIES)
@click.argument("off", metavar="OFF", type=click.UNPROCESSED)
@_stitches
@click.option("--tolerance", default="3", metavar="STITCHES", help="How far off still looks right.")
@as_json
def plan_cast_on(off: str, stitches: int, tolerance: str, *, json: bool) -> None:
    """Judge a cast-on by where the repeats ended.

    OFF is how many stitches past (+) or short of (-) the last stitch the
    colours came back.

    \b
    Example:
      knitlog plan cast-on -4 --stitches 128
    """
    from knitlog.journal.factkeys import parse_number
    from knitlog.plan.cast_on import check_cast_on

    check = check_cast_on(parse_number(off, "-4"), stitches, parse_number(tolerance, "3"))
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


@plan.command("enough")
@_stitches
@_yarn
@_gauge
@click.option("--left", metavar="AMOUNT", help="Yarn left: a length, 180m, or a weight, 34g.")
@click.option("--skein", metavar="LENGTH/WEIGHT", help="A whole skein by its label: 400m/100g.")
@click.option("--rounds", type=click.IntRange(min=1), metavar="N", help="Rounds still to knit.")
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
    from knitlog.yarn.units import format_length, parse_length, parse_weight

    if left is None:
        raise click.UsageError("Say how much yarn is left, with --left 180m or --left 34g")
    each = _stitch_yarn(yarn_per_stitch, gauge)
    if skein is None:
        found = rounds_left_by_length(parse_length(left), stitches, each)
    else:
        length, slash, weight = skein.partition("/")
        if not slash:
            raise click.UsageError("Type --skein as 400m/100g")
        found = rounds_left_by_label(
            parse_weight(left), parse_length(length), parse_weight(weight), stitches, each
        )
    content: dict[str, Any] = {
        "rounds_left": numbers_of(found.rounds_left),
        "sure_rounds": found.sure_rounds,
        "length_per_round_mm": numbers_of(found.length_per_round_mm),
    }
    said = [f"Enough for about {found.rounds_left.mean:.0f} rounds; {found.sure_rounds} for sure."]
    if found.length_per_round_mm is not None:
        said.append(f"A round takes {format_length(found.length_per_round_mm.mean)}.")
    if rounds is not None:
        content["chance"] = found.chance_for(rounds)
        said.append(f"It lasts {rounds} rounds with a chance of {100 * content['chance']:.0f} %.")
    answer(json, content, said)


@plan.command("join")
@_run
@click.option("--old-ends", required=True, metavar="LENGTH", help="Where in the repeat it ends.")
@click.option(
    "--new-starts", required=True, metavar="LENGTH", help="Where in the repeat the new begins."
)
@click.option("--tail", default="15cm", show_default=True, metavar="LENGTH", help="To weave in.")
@as_json
def plan_join(colours: str, old_ends: str, new_starts: str, tail: str, *, json: bool) -> None:
    """Say where to join the next skein so that the stack goes on.

    \b
    Example:
      knitlog plan join --colours "rose 30cm, moss 45cm, snow 20cm"
              --old-ends 52cm --new-starts 10cm
    """
    from knitlog.plan.colour_run import parse_colour_run
    from knitlog.plan.joining import plan_join as find_join
    from knitlog.yarn.units import parse_length

    found = find_join(
        parse_colour_run(colours),
        parse_length(old_ends),
        parse_length(new_starts),
        tail_mm=parse_length(tail),
    )
    answer(
        json,
        {
            "cut_mm": found.cut_mm,
            "tail_mm": found.tail_mm,
            "join_colour": found.join_colour.name,
            "into_colour_mm": found.join_at.into_mm,
            "sentence": found.sentence,
        },
        [found.sentence],
    )


@plan.command("fabric", context_settings=_ENTRIES)
@_run
@_stitches
@_repeats
@click.option("--drift", default="0", metavar="STITCHES", help="Slide a round: 2.5 or -1.")
@click.option("--unevenness", default="0", metavar="STITCHES", help="Spread of a round: 0.7.")
@click.option("--rounds", type=click.IntRange(1, 2000), default=40, help="How many rounds.")
@click.option("--flat", is_flag=True, help="Worked back and forth in rows.")
@_gauge
@click.option("--seed", type=int, default=0, help="Another seed, another unevenness.")
@click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path, dir_okay=False),
    help="A picture instead of letters: fabric.svg or fabric.png.",
)
@as_json
def plan_fabric(
    colours: str,
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
    from knitlog.journal.factkeys import parse_number
    from knitlog.plan.colour_run import parse_colour_run
    from knitlog.plan.drift_path import carry_on, tension_errors
    from knitlog.plan.fabric import knit_fabric

    slide = parse_number(drift, "2.5 or -1")
    errors = tension_errors(rounds, parse_number(unevenness, "0.7"), seed)
    path = carry_on(0.0, slide, stitches, rounds, errors)
    fabric = knit_fabric(
        parse_colour_run(colours), path, parse_number(repeats, "1 or 2"), flat=flat
    )
    if output is not None:
        from knitlog.cli.answers import save_picture

        caption = f"{stitches} stitches, drift {slide:+g}"
        save_picture(output, fabric, caption, gauge)
        click.echo(f"Drew {rounds} rounds.")
        return
    from knitlog.cli.answers import fabric_letters, fabric_object

    answer(json, fabric_object(fabric), fabric_letters(fabric))


def _stitch_yarn(text: str | None, gauge: str | None) -> Estimate:
    """Yarn per stitch as told, or guessed from the gauge, mm."""
    from knitlog.plan.normal import ratio_estimate
    from knitlog.plan.stitch_yarn import DEFAULT_ERRORS, from_gauge
    from knitlog.yarn.gauge import parse_gauge
    from knitlog.yarn.units import parse_length

    if text is not None:
        # a number she knows is as good as a swatch pulled out
        return ratio_estimate(parse_length(text), DEFAULT_ERRORS.swatch_share)
    if gauge is not None:
        return from_gauge(parse_gauge(gauge))
    raise click.UsageError("Say how much yarn a stitch takes, with --yarn-per-stitch or --gauge")
