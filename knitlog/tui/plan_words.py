"""A plan in words and numbers: the list of stitch counts, the choice, the yarn a stitch takes."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from knitlog.plan.stitch_count import Candidate, find_stitch_counts
from knitlog.tui.plan_answers import sentence
from knitlog.yarn.units import format_length

if TYPE_CHECKING:
    from knitlog.tui.plan_form import PlanAsked

_MOST_CANDIDATES = 30
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
