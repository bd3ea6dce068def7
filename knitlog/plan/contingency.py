"""What to do if the colours do not stack after all: worked out before the first round.

By the round of judgement the colour change has moved so many stitches a round.  The
pattern allows steps of one multiple; each takes its stitches out of the drift.  The
needles next to this one do the same by (D2 + y)/(D1 + y), more coarsely.  A move of less
than half a step of either is better evened out by hand, since the step would overshoot.
"""

from dataclasses import dataclass
from enum import StrEnum

from knitlog.drift.fit_result import Estimate
from knitlog.yarn.geometry import drift_after_needle_change, needle_response_factor
from knitlog.yarn.needle_sizes import NEEDLE_SIZES_MM


class Side(StrEnum):
    """The side colours move to."""

    PAST = "past"
    SHORT = "short"
    EITHER = "either"


@dataclass(frozen=True, slots=True)
class Contingency:
    """The way out, whichever side the colours move to."""

    judge_after_round: int
    """Look after this round."""
    act_if_moved: float
    """Act if the colour change has moved this many stitches against the first round's."""
    stitch_step: int
    """Smallest change of the stitch count the pattern allows, 0 where there is none; each
    stitch added takes one off the drift."""
    act_on_stitches_if_drift: float
    """A stitch-count step helps once the drift is this far off, stitches a round."""
    larger_needle_mm: float | None
    """Next needle up, mm, for colours that move past."""
    larger_needle_drift_change: float | None
    """What it does to the drift, stitches a round."""
    smaller_needle_mm: float | None
    """Next needle down, mm, for colours that fall short."""
    smaller_needle_drift_change: float | None
    """What it does to the drift, stitches a round."""
    likelier: Side
    """Which side the colours are likelier to move to."""


def plan_contingency(
    *,
    stitches: int,
    drift: Estimate,
    wanted_drift: float,
    tolerance: float,
    by_round: int,
    multiple: int,
    needle_mm: float,
    needles_mm: tuple[float, ...],
    yarn_thickness_mm: float,
) -> Contingency:
    """Work out what to do if the colours have left their tolerance by ``by_round``.

    Args:
        stitches: stitches a round.
        drift: predicted, stitches a round.
        wanted_drift: stitches a round.
        tolerance: stitches either way.
        by_round: the round of judgement.
        multiple: stitches of the pattern's repeat.
        needle_mm: needle in use, mm.
        needles_mm: needles owned, mm; with one only, the usual sizes are proposed.
        yarn_thickness_mm: mm.

    """
    sizes = needles_mm if len(set(needles_mm)) > 1 else NEEDLE_SIZES_MM
    larger = min((mm for mm in sizes if mm > needle_mm), default=None)
    smaller = max((mm for mm in sizes if mm < needle_mm), default=None)
    lean = drift.mean - wanted_drift
    likelier = Side.PAST if lean > 0 else Side.SHORT
    return Contingency(
        judge_after_round=by_round,
        act_if_moved=tolerance,
        stitch_step=multiple,
        act_on_stitches_if_drift=multiple / 2,
        larger_needle_mm=larger,
        larger_needle_drift_change=_needle_step(stitches, needle_mm, larger, yarn_thickness_mm),
        smaller_needle_mm=smaller,
        smaller_needle_drift_change=_needle_step(stitches, needle_mm, smaller, yarn_thickness_mm),
        likelier=Side.EITHER if abs(lean) < drift.sd else likelier,
    )


def _needle_step(stitches: int, now: float, new: float | None, thickness: float) -> float | None:
    """Change of drift from the needle ``now`` to ``new``, stitches a round."""
    if new is None:
        return None
    return drift_after_needle_change(0.0, stitches, needle_response_factor(now, new, thickness))
