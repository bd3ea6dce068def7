"""The fabric as it was knitted, and as it was planned: the same yarn, begun at the same place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from knitlog.plan.fabric import Fabric
    from knitlog.workbench import Look


@dataclass(frozen=True, slots=True)
class FabricPair:
    """Two fabrics of as many rounds."""

    knitted: Fabric
    planned: Fabric
    stand_in: str
    """Why the colours are not the yarn's own; empty if they are."""


def fabric_pair(view: Look) -> FabricPair | None:
    """Return both fabrics of a project's rounds so far; None without a fit.

    Raises:
        PlanError: the drift is more than a whole round.

    """
    from knitlog.plan.colour_checks import clear_changes
    from knitlog.plan.drift_path import carry_on
    from knitlog.plan.fabric import knit_fabric
    from knitlog.workbench.fabrics import knitted_path, project_fabric, run_of

    if view.fit is None:
        return None
    state, facts = view.state, view.state.facts
    run, stand_in = run_of(state)
    home = project_fabric(view, 0).home
    clear = clear_changes(run)
    change = clear[0][2] if clear else run.boundaries_mm[0]
    paths = (
        knitted_path(state, view.fit),
        carry_on(0.0, facts.target_drift, state.stints[0].stitches, view.fit.last_round),
    )
    fabrics = []
    for path in paths:
        # where round 1 begins, so that with no offset the change falls at home:
        # change = start + home s, s = k L / (N + d)
        each = facts.repeats * run.repeat_length_mm / (path.stitches[0] + path.drifts[0])
        fabrics.append(
            knit_fabric(
                run, path, facts.repeats, flat=facts.flat, start_mm=float(change - home * each)
            )
        )
    return FabricPair(fabrics[0], fabrics[1], stand_in)
