"""A project from a plan: what was found before casting on, as the facts of a journal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from knitlog.journal.colour_runs import parts_of
from knitlog.journal.facts import ProjectFacts, make_facts
from knitlog.journal.registry import BY_KEY

if TYPE_CHECKING:
    from knitlog.journal.library import Library
    from knitlog.journal.store import JournalFile
    from knitlog.plan.stitch_count import Candidate, StitchCountQuestion
    from knitlog.yarn.colours import ColourRun


@dataclass(frozen=True, slots=True)
class ChosenPlan:
    """What the knitter chose, and what she asked."""

    candidate: Candidate
    """The way to cast on."""
    question: StitchCountQuestion
    """What it answers: repeat, gauge, tolerance, needles."""
    run: ColourRun | None
    """The yarn's colours; None if they are not described."""
    rounds: int | None = None
    """Rounds planned."""
    flat: bool = False
    """Rows worked back and forth."""
    given: Mapping[str, str] = field(default_factory=dict)
    """What she typed for a length, a needle or the gauge, by the key of the fact."""


def planned_facts(plan: ChosenPlan) -> ProjectFacts:
    """The facts of a project begun by this plan.

    The gauge is that of the needle chosen: a stitch grows as its yarn does (Munden).

    Raises:
        JournalError: a number is out of range.

    """
    chosen, asked = plan.candidate, plan.question
    # stitches per cm on the chosen needle: width grows with s
    growth = chosen.yarn_per_stitch.mean / asked.yarn_per_stitch.mean
    gauge = asked.gauge
    rounds_per_cm = None if gauge is None else gauge.rounds_per_cm
    return make_facts(
        stitches=chosen.stitches,
        repeats=float(chosen.repeats),
        repeat_length_mm=asked.repeat_length_mm,
        needle_mm=chosen.needle_mm,
        gauge_stitches_per_cm=None if gauge is None else gauge.stitches_per_cm / growth,
        gauge_rounds_per_cm=None if rounds_per_cm is None else rounds_per_cm / growth,
        planned_rounds=plan.rounds,
        tolerance=asked.tolerance,
        multiple=asked.multiple,
        multiple_over=asked.extra or None,
        needles_owned_mm=tuple(sorted({asked.needle_mm, *asked.other_needles_mm}))
        if asked.other_needles_mm
        else (),
        flat=plan.flat,
        target_drift=asked.wanted_drift,
        yarn_thickness_mm=asked.yarn_thickness_mm,
        colours=() if plan.run is None else parts_of(plan.run),
        colours_turn_back=plan.run is not None and plan.run.palindrome,
        as_given={BY_KEY[key].given_as: text for key, text in plan.given.items()},
    )


def begin_planned(library: Library, name: str, plan: ChosenPlan, about: str = "") -> JournalFile:
    """Begin the project; ``about`` is how it is described.

    Raises:
        JournalError: the name is taken or empty, a number is out of range, or nothing can
            be written.

    """
    return library.create(name, planned_facts(plan), about=about)
