"""What ``knitlog plan`` and ``knitlog yarn`` print with ``--json``; documented in DEVELOPERS.md."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from knitlog.plan.colour_checks import RunFinding, clear_changes
from knitlog.report.json_objects import numbers
from knitlog.report.plan_words import (
    cast_on_words,
    contingency_words,
    disagreement_words,
    finding_words,
    join_words,
    nothing_fits_words,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from knitlog.drift import Estimate
    from knitlog.plan.cast_on import CastOnCheck
    from knitlog.plan.joining import JoinPlan
    from knitlog.plan.stitch_colours import Fabric
    from knitlog.plan.stitch_count import Candidate, StitchCountQuestion, StitchCounts
    from knitlog.plan.stitch_yarn import CombinedYarn
    from knitlog.plan.yarn_enough import YarnLeft
    from knitlog.yarn.colours import ColourRun


def yarn_object(together: CombinedYarn, ways: Mapping[str, Estimate]) -> dict[str, Any]:
    """Yarn per stitch, and what each way says of it."""
    return {
        "yarn_per_stitch_mm": numbers(together.estimate),
        "ways": [
            {"way": way, "share": share, "yarn_per_stitch_mm": numbers(estimate)}
            for (way, estimate), share in zip(ways.items(), together.shares, strict=True)
        ],
        "warning": disagreement_words(together),
    }


def counts_object(
    question: StitchCountQuestion, found: StitchCounts, shown: Iterable[Candidate]
) -> dict[str, Any]:
    """The stitch counts shown, and whether they are of the wanted size."""
    return {
        "candidates": [
            {**_candidate(c), "if_not": contingency_words(c.contingency)} for c in shown
        ],
        "fits": found.fits,
        "note": nothing_fits_words(question, found),
    }


def candidate_object(c: Candidate) -> dict[str, Any]:
    """One stitch count, with what to do if it does not stack in numbers."""
    out = c.contingency
    return {
        **_candidate(c),
        "yarn_per_stitch_mm": numbers(c.yarn_per_stitch),
        "if_not": {
            "judge_after_round": out.judge_after_round,
            "act_if_moved": out.act_if_moved,
            "stitch_step": out.stitch_step,
            "larger_needle_mm": out.larger_needle_mm,
            "larger_needle_drift_change": out.larger_needle_drift_change,
            "smaller_needle_mm": out.smaller_needle_mm,
            "smaller_needle_drift_change": out.smaller_needle_drift_change,
            "likelier": str(out.likelier),
            "sentence": contingency_words(out),
        },
    }


def _candidate(c: Candidate) -> dict[str, Any]:
    return {
        "stitches": c.stitches,
        "repeats": c.repeats,
        "needle_mm": c.needle_mm,
        "drift": numbers(c.drift),
        "chance_in_tolerance": c.chance_in_tolerance,
        "target_yarn_per_stitch_mm": c.target_yarn_per_stitch_mm,
        "size_mm": c.size_mm,
        "size_off_percent": c.size_off_percent,
    }


def cast_on_object(check: CastOnCheck) -> dict[str, Any]:
    """How the cast-on came out."""
    return {
        "verdict": str(check.verdict),
        "off_stitches": check.off_stitches,
        "yarn_change_percent": check.yarn_change_percent,
        "why": cast_on_words(check),
    }


def enough_object(found: YarnLeft, rounds: int | None) -> dict[str, Any]:
    """How many rounds the yarn left will make."""
    content: dict[str, Any] = {
        "rounds_left": numbers(found.rounds_left),
        "sure_rounds": found.sure_rounds,
        "length_per_round_mm": numbers(found.length_per_round_mm),
        "weight_per_round_g": numbers(found.weight_per_round_g),
    }
    if rounds is not None:
        content["chance"] = found.chance_for(rounds)
    return content


def join_object(found: JoinPlan) -> dict[str, Any]:
    """Where to cut and join the next skein."""
    return {
        "cut_mm": found.cut_mm,
        "tail_mm": found.tail_mm,
        "join_colour": found.join_colour.name,
        "into_colour_mm": found.join_at.into_mm,
        "from_other_end": found.from_other_end,
        "offset_taken_out": found.offset_taken_out,
        "sentence": join_words(found),
    }


def fabric_object(fabric: Fabric) -> dict[str, Any]:
    """A fabric: rows as knitted, round 1 first; -1 where there is no stitch."""
    return {
        "colours": [
            {"name": name, "colour": colour}
            for name, colour in zip(fabric.names, fabric.palette, strict=True)
        ],
        "rows": fabric.cells.tolist(),
        "flat": fabric.flat,
    }


def run_object(run: ColourRun, findings: Iterable[RunFinding]) -> dict[str, Any]:
    """A colour run, and what a check of it found."""
    return {
        "colours": [
            {"name": s.name, "length_mm": s.length_mm, "colour": s.colour} for s in run.segments
        ],
        "turns_back": run.palindrome,
        "repeat_length_mm": run.repeat_length_mm,
        "changes_to_log": [
            {"from": before, "to": after, "at_mm": at} for before, after, at in clear_changes(run)
        ],
        "findings": [
            {
                "finding": str(found.finding),
                "serious": found.serious,
                "sentence": finding_words(found),
                "difference_mm": found.difference_mm,
            }
            for found in findings
        ],
    }
