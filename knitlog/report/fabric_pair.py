"""The fabric as it was knitted, and as it was planned: the same yarn, begun at the same place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from knitlog.drift import DriftFit
    from knitlog.journal.project import ProjectState
    from knitlog.plan.stitch_colours import Fabric


@dataclass(frozen=True, slots=True)
class FabricPair:
    """Two fabrics of as many rounds."""

    knitted: Fabric
    planned: Fabric
    stand_in: str
    """Why the colours are not the yarn's own, or what to ask of them; empty if they are."""


def fabric_pair(state: ProjectState, fit: DriftFit) -> FabricPair:
    """Return both fabrics of a project's rounds so far.

    Raises:
        PlanError: the drift is more than a whole round.

    """
    from knitlog.analysis.fabrics import home_of, knitted_path, run_of, start_mm
    from knitlog.plan.stitch_colours import knit_fabric
    from knitlog.plan.yarn_path import carry_on
    from knitlog.report.fabric_words import STAND_IN, unnamed_words

    facts = state.facts
    run, home = run_of(state), home_of(state, fit)
    planned = carry_on(0.0, facts.target_drift, state.stints[0].stitches, fit.last_round)
    knitted, as_planned = (
        knit_fabric(
            run,
            path,
            facts.repeats,
            flat=facts.flat,
            start_mm=start_mm(run, facts.repeats, path, home),
        )
        for path in (knitted_path(fit), planned)
    )
    return FabricPair(
        knitted, as_planned, STAND_IN if facts.colour_run is None else unnamed_words(run)
    )
