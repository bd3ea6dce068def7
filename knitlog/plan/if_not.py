"""What to do if the colours do not stack after all: said before the first round.

By the round of judgement the colour change has moved so many stitches a round.  The
pattern allows steps of one multiple; each takes its stitches out of the drift.  The
needles next to this one do the same by (D2 + y)/(D1 + y), more coarsely.  A move of less
than half a step of either is better evened out by hand, since the step would overshoot.
"""

from dataclasses import dataclass

from knitlog.drift.result import Estimate
from knitlog.yarn.geometry import drift_after_needle_change, needle_response_factor
from knitlog.yarn.needles import NEEDLE_SIZES_MM


@dataclass(frozen=True, slots=True)
class IfNot:
    """The way out, whichever side the colours move to."""

    judge_after_round: int
    """Look after this round."""
    act_if_moved: float
    """Act if the colour change has moved this many stitches against the first round's."""
    stitch_step: int
    """Smallest change of the stitch count the pattern allows; each stitch added takes one
    off the drift."""
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
    likelier: str
    """Which side the colours are likelier to move to: past, short, or either."""
    sentence: str
    """What to do, for the knitter."""


def plan_if_not(
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
) -> IfNot:
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
    up = _needle_step(stitches, needle_mm, larger, yarn_thickness_mm)
    down = _needle_step(stitches, needle_mm, smaller, yarn_thickness_mm)
    lean = drift.mean - wanted_drift
    likelier = "either" if abs(lean) < drift.sd else ("past" if lean > 0 else "short")
    half_step = multiple / 2
    return IfNot(
        judge_after_round=by_round,
        act_if_moved=tolerance,
        stitch_step=multiple,
        act_on_stitches_if_drift=half_step,
        larger_needle_mm=larger,
        larger_needle_drift_change=up,
        smaller_needle_mm=smaller,
        smaller_needle_drift_change=down,
        likelier=likelier,
        sentence=_sentence(by_round, tolerance, multiple, larger, up, smaller, down),
    )


def _needle_step(stitches: int, now: float, new: float | None, thickness: float) -> float | None:
    """Change of drift from the needle ``now`` to ``new``, stitches a round."""
    if new is None:
        return None
    return drift_after_needle_change(0.0, stitches, needle_response_factor(now, new, thickness))


def _sentence(
    by_round: int,
    tolerance: float,
    multiple: int,
    larger: float | None,
    up: float | None,
    smaller: float | None,
    down: float | None,
) -> str:
    rounds = by_round - 1
    moved = f"If by round {by_round} the colours have moved more than {tolerance:g} stitches"
    if multiple == 1:
        counts = (
            f"share the move out over {rounds} rounds and add that many stitches "
            "(if they moved past) or take as many off (if they fell short)"
        )
    else:
        counts = (
            f"add {multiple} stitches for every {multiple} a round they moved past, "
            f"or take {multiple} off for as many short"
        )
    needles: list[str] = []
    if larger is not None and up is not None:
        needles.append(f"a {larger:g} mm needle would take about {abs(up):.0f} a round off")
    if smaller is not None and down is not None:
        needles.append(f"a {smaller:g} mm needle would put about {abs(down):.0f} on")
    coarser = f"; {' and '.join(needles)}" if needles else ""
    little = (
        f"; below {multiple / 2:g} a round, even them out with a tapestry needle"
        if multiple > 1
        else ""
    )
    return f"{moved}, {counts}{coarser}{little}."
