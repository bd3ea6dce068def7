"""What the plan commands ask alike: their options, and how those are read."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from knitlog.cli.types import STITCH_COUNT

if TYPE_CHECKING:
    from pathlib import Path

    from knitlog.drift import Estimate
    from knitlog.yarn.colours import ColourRun

ENTRIES = {"ignore_unknown_options": True}
"""For commands whose argument may begin with a minus."""

gauge_option = click.option("--gauge", metavar="GAUGE", help="'20 st/4in' or '20 st/10cm'.")
repeat_length_option = click.option(
    "--repeat-length", metavar="LENGTH", help="Yarn in one colour repeat: 152cm, 60in, 1.67yd."
)
yarn_option = click.option(
    "--yarn-per-stitch",
    metavar="LENGTH",
    help="Yarn in one stitch, if you know it: 20.5mm, or with its spread 20.5mm+-0.3mm.",
)
stitches_option = click.option(
    "--stitches", required=True, type=STITCH_COUNT, metavar="N", help="Stitches a round."
)
colours_option = click.option(
    "--colours",
    metavar="RUN",
    help="One repeat along the yarn: 'rose 30cm, moss 45cm #117733, snow 20cm'.",
)
kept_option = click.option(
    "--yarn", "kept", metavar="NAME", help="A yarn kept with 'knitlog yarn keep', for its colours."
)
repeats_option = click.option(
    "--repeats", default="1", show_default=True, metavar="K", help="Colour repeats a round."
)
multiple_option = click.option(
    "--multiple", default="1", metavar="N", help="Stitch pattern multiple: 4, or 8+1."
)
tolerance_option = click.option(
    "--tolerance", default="3", metavar="STITCHES", help="How far off still looks right."
)
spiral_option = click.option(
    "--target-drift", default="0", metavar="STITCHES", help="For a spiral on purpose."
)
size_option = click.option("--size", metavar="LENGTH", help="Wanted size around: 54cm or 21in.")
needles_option = click.option(
    "--needles-owned", metavar="SIZES", help="Others at hand: '4mm, 5mm'."
)


def with_spread(text: str) -> tuple[float, float | None]:
    """A length and its spread, mm: 20.5mm, 20.5mm+-0.3mm or 20.5mm±0.3mm."""
    from knitlog.typed.measures import parse_length

    mean, sign, spread = text.replace("+-", "±").partition("±")
    return parse_length(mean), parse_length(spread) if sign else None


def stitch_yarn(text: str | None, gauge: str | None) -> Estimate:
    """Yarn per stitch as told, or guessed from the gauge, mm."""
    from knitlog.plan.normal import ratio_estimate
    from knitlog.plan.stitch_yarn import SWATCH_SHARE, from_gauge
    from knitlog.typed.measures import parse_gauge

    if text is not None:
        mean, spread = with_spread(text)
        # a number she knows is as good as a swatch pulled out
        share = SWATCH_SHARE if spread is None else spread / mean
        return ratio_estimate(mean, share)
    if gauge is not None:
        return from_gauge(parse_gauge(gauge))
    raise click.UsageError("Say how much yarn a stitch takes, with --yarn-per-stitch or --gauge")


def colour_run(folder: Path | None, colours: str | None, kept: str | None) -> ColourRun | None:
    """The colours as typed or as kept; None if neither is told."""
    if kept is not None:
        from knitlog.cli.yarn import book

        return book(folder).find(kept).run
    if colours is None:
        return None
    from knitlog.plan.run_notation import parse_colour_run

    return parse_colour_run(colours)


def needed_run(folder: Path | None, colours: str | None, kept: str | None) -> ColourRun:
    """The colours, which must be told."""
    run = colour_run(folder, colours, kept)
    if run is None:
        raise click.UsageError("Say what one repeat is, with --colours or --yarn")
    return run


def length_of_repeat(run: ColourRun | None, length: str | None) -> float:
    """Length of one repeat, mm: of the colours, or as told."""
    from knitlog.typed.measures import parse_length

    if run is not None:
        return run.repeat_length_mm
    if length is None:
        raise click.UsageError(
            "Say what one repeat is, with --repeat-length 60in, --colours or --yarn"
        )
    return parse_length(length)
