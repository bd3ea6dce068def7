"""A plan in words, numbers and stitches: the list of counts, the choice, its fabric."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from knitlog.drift.prior import Prior
from knitlog.plan.drift_path import carry_on, tension_errors
from knitlog.plan.fabric import Fabric, knit_fabric
from knitlog.plan.stitch_count import Candidate, find_stitch_counts
from knitlog.tui.plan_answers import sentence
from knitlog.workbench.fabrics import stand_in_run
from knitlog.yarn.units import format_length

if TYPE_CHECKING:
    from knitlog.tui.plan_form import PlanAsked

_MOST_CANDIDATES = 30
_PREVIEW_ROUNDS = 40
_MOST_PREVIEW_ROUNDS = 400
_ANY_SIZE = 1e6


def find(asked: PlanAsked) -> tuple[tuple[Candidate, ...], str]:
    """The stitch counts that fit; or those of any size, with a sentence why none does."""
    try:
        return find_stitch_counts(asked.question)[:_MOST_CANDIDATES], ""
    except ValueError as error:
        if asked.question.wanted_size_mm is None:
            raise
        wanted = replace(asked.question, size_room_percent=_ANY_SIZE)
        nearest = sorted(find_stitch_counts(wanted), key=lambda c: abs(c.size_off_percent or 0.0))
        return tuple(nearest[:_MOST_CANDIDATES]), sentence(error)


def yarn_words(asked: PlanAsked) -> str:
    """Yarn per stitch, and by which ways."""
    s = asked.yarn.estimate
    words = f"A stitch takes {s.mean:.2f} mm ({s.low95:.2f} to {s.high95:.2f})"
    if len(asked.yarn.shares) > 1:
        words += ": " + ", ".join(f"{way} {share:.0%}" for way, share in asked.yarn.shares)
    return f"{words}. {asked.yarn.warning}" if asked.yarn.warning else f"{words}."


def row(c: Candidate, asked: PlanAsked) -> tuple[str, ...]:
    """One line of the list: count, repeats, needle, drift, size, chance to stack."""
    return (
        str(c.stitches),
        f"{c.repeats:g}",
        f"{c.needle_mm:g}mm",
        f"{c.drift.mean:+.1f} ±{2 * c.drift.sd:.1f}",
        format_length(c.size_mm, asked.system),
        f"{c.chance_in_tolerance:.0%}",
    )


def choice_words(c: Candidate, asked: PlanAsked) -> str:
    """One stitch count in a sentence."""
    plural = "" if c.repeats == 1 else "s"
    return (
        f"{c.stitches} stitches, {c.repeats:g} repeat{plural} a round on {c.needle_mm:g} mm: "
        f"{format_length(c.size_mm, asked.system)} around, drift {c.drift.mean:+.1f} a round."
    )


def preview(c: Candidate, asked: PlanAsked) -> tuple[Fabric, str]:
    """The fabric to expect of one stitch count, with a hand's usual unevenness; its caption.

    Raises:
        PlanError: it cannot be drawn.

    """
    run = asked.run or stand_in_run(asked.question.repeat_length_mm)
    rounds = min(asked.rounds or _PREVIEW_ROUNDS, _MOST_PREVIEW_ROUNDS)
    errors = tension_errors(rounds, math.exp(Prior().log_tension_noise(c.stitches)), seed=0)
    path = carry_on(0.0, c.drift.mean, c.stitches, rounds, errors)
    kind = "row" if asked.flat else "round"
    stand_in = "" if asked.run else " (stand-in colours)"
    caption = f"{c.stitches} stitches, {c.drift.mean:+.1f} a {kind}{stand_in}"
    return knit_fabric(run, path, c.repeats, flat=asked.flat), caption
