"""The cast-on check: it should use exactly k repeats of the colour run.

A cast-on is the first thing knitted with the yarn, so how far its k repeats miss the
last stitch says how far it is off, by the same geometry as a round:

    k L = (N + o) c        c* = k L / N        c* / c - 1 = o / N

with o the stitches by which the repeats reach past the last stitch (+) or fall short
of it (-), and c the yarn a cast-on stitch takes.  It is an offset, not a drift: it is
made once, shows only where the edge meets round 1, and says little of the rounds to
come, since a cast-on stitch is no knitted stitch.
"""

from dataclasses import dataclass
from enum import StrEnum

from knitlog.plan.checks import PlanError, check_not_negative, check_positive

HAND_REACH_PERCENT = 10.0
"""How far a hand can change its tension at will, percent (common practice, no source)."""


class CastOnVerdict(StrEnum):
    """What to do about the cast-on."""

    KNIT_ON = "knit on"
    AGAIN = "cast on again"
    CHANGE_PLAN = "change the plan"


@dataclass(frozen=True, slots=True)
class CastOnCheck:
    """How the cast-on came out."""

    off_stitches: float
    """Stitches the repeats reach past the last stitch (+) or fall short of it (-)."""
    yarn_change_percent: float
    """How much more (+, looser) or less (-, tighter) yarn a cast-on stitch needs, percent."""
    tolerance: float
    """Stitches either way that still look in line."""
    verdict: CastOnVerdict
    """What to do."""


def check_cast_on(off_stitches: float, stitches: int, tolerance: float = 3.0) -> CastOnCheck:
    """Judge a cast-on by how many stitches off its last repeat ended.

    Args:
        off_stitches: where the repeats ended against the last stitch: + past it (the
            colours have not yet come back when the stitches are all on), - short of it.
        stitches: stitches cast on, N.
        tolerance: stitches either way that still look in line.

    Raises:
        PlanError: a count is not above zero, or the repeats ended before they began.

    """
    check_positive(stitches, "stitch count", "as 128")
    check_not_negative(tolerance, "tolerance", "in stitches, as 3")
    if not -stitches < off_stitches < float("inf"):
        raise PlanError(
            f"{off_stitches:g} stitches off on a cast-on of {stitches} is more than the whole of "
            "it: count from the last stitch, as -4 for four stitches short"
        )
    # c* / c - 1 = o / N
    change = 100 * off_stitches / stitches
    if abs(off_stitches) <= tolerance:
        verdict = CastOnVerdict.KNIT_ON
    elif abs(change) <= HAND_REACH_PERCENT:
        verdict = CastOnVerdict.AGAIN
    else:
        verdict = CastOnVerdict.CHANGE_PLAN
    return CastOnCheck(off_stitches, change, tolerance, verdict)


def off_from_yarn_left(
    yarn_left_mm: float, stitches: int, repeats: float, repeat_length_mm: float
) -> float:
    """Stitches off, from the yarn left of the k repeats once all stitches are on.

    Args:
        yarn_left_mm: yarn of the k repeats not used (+), or used beyond them (-), mm.
        stitches: stitches cast on, N.
        repeats: repeats the cast-on is meant to use, k.
        repeat_length_mm: length of one repeat, mm.

    Raises:
        PlanError: a count or length is not above zero, or all the yarn was left.

    """
    check_positive(stitches, "stitch count", "as 128")
    check_positive(repeats, "number of repeats a round", "as 1")
    check_positive(repeat_length_mm, "length of the repeat", "with its unit, as 152cm")
    used = repeats * repeat_length_mm - yarn_left_mm
    check_positive(used, "yarn used by the cast-on", "from the first stitch to the last")
    # c = used / N, o = left / c
    return yarn_left_mm * stitches / used
