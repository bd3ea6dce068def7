"""Yarn enough? Length used a round, rounds left in the skein, with their spread.

    length a round = N s        rounds left = length left / (N s)

By the scale there are two ways.  The label's length and weight turn grams into
millimetres, and carry the label's error.  Better, once rounds have been knitted: the
weight they took, so many grams a round, needs no label at all.
"""

import math
from dataclasses import dataclass

from knitlog.drift.fit_result import Estimate
from knitlog.plan.checks import PlanError, check_not_negative, check_positive
from knitlog.plan.normal import chance_above, ratio_estimate

SCALE_SD_G = 0.3
"""Spread of a kitchen scale that shows whole grams: 1 / root 12."""
LABEL_SHARE = 0.03
"""Spread of a label's length for its weight, as a share (common practice, no source)."""


_SURE = 0.95


@dataclass(frozen=True, slots=True)
class YarnLeft:
    """How far the yarn goes."""

    length_per_round_mm: Estimate | None
    """Yarn one round takes, mm; None where only weights were given."""
    weight_per_round_g: Estimate | None
    """Yarn one round takes, g; None where only lengths were given."""
    rounds_left: Estimate
    """Rounds the yarn left will make."""
    sure_rounds: int
    """Whole rounds it will make in 39 cases of 40."""

    def chance_for(self, rounds: float) -> float:
        """Chance that the yarn lasts ``rounds`` more rounds, 0 to 1."""
        return chance_above(self.rounds_left.mean, self.rounds_left.sd, rounds)


def length_per_round(stitches: float, yarn_per_stitch: Estimate) -> Estimate:
    """Yarn one round takes, mm: N s.

    Raises:
        PlanError: the stitch count or yarn per stitch is not above zero.

    """
    check_positive(stitches, "stitch count", "as 128")
    check_positive(yarn_per_stitch.mean, "yarn per stitch", "in mm, as 12mm")
    return ratio_estimate(
        stitches * yarn_per_stitch.mean, yarn_per_stitch.sd / yarn_per_stitch.mean
    )


def rounds_left_by_length(
    length_left_mm: float,
    stitches: float,
    yarn_per_stitch: Estimate,
    length_left_sd_mm: float = 0.0,
) -> YarnLeft:
    """Rounds left from the length of yarn left.

    Args:
        length_left_mm: yarn left, mm, less what is kept for binding off.
        stitches: stitches a round.
        yarn_per_stitch: mm.
        length_left_sd_mm: spread of the length left, mm.

    Raises:
        PlanError: a count or length makes no sense.

    """
    check_not_negative(length_left_mm, "length of yarn left", "with its unit, as 85m")
    check_not_negative(length_left_sd_mm, "spread of the length left", "in mm, as 500mm")
    each = length_per_round(stitches, yarn_per_stitch)
    share = each.sd / each.mean
    if length_left_mm > 0:
        share = math.hypot(share, length_left_sd_mm / length_left_mm)
    return _yarn_left(length_left_mm / each.mean, share, each, None)


def rounds_left_by_label(
    weight_left_g: float,
    skein_length_mm: float,
    skein_weight_g: float,
    stitches: float,
    yarn_per_stitch: Estimate,
) -> YarnLeft:
    """Rounds left from the weight left and the label's length and weight.

    Args:
        weight_left_g: yarn left on the scale, g.
        skein_length_mm: length of a whole skein by its label, mm.
        skein_weight_g: weight of a whole skein by its label, g.
        stitches: stitches a round.
        yarn_per_stitch: mm.

    Raises:
        PlanError: a count, length or weight makes no sense.

    """
    check_not_negative(weight_left_g, "weight of yarn left", "with its unit, as 34g")
    check_positive(skein_length_mm, "length of a whole skein", "with its unit, as 400m")
    check_positive(skein_weight_g, "weight of a whole skein", "with its unit, as 100g")
    mm_per_g = skein_length_mm / skein_weight_g
    # length left = weight left * label length / label weight
    left = weight_left_g * mm_per_g
    left_sd = mm_per_g * math.hypot(SCALE_SD_G, LABEL_SHARE * weight_left_g)
    return rounds_left_by_length(left, stitches, yarn_per_stitch, left_sd)


def rounds_left_by_weight(
    weight_before_g: float, weight_left_g: float, rounds_knitted: float
) -> YarnLeft:
    """Rounds left from two weighings with counted rounds between them.

    Args:
        weight_before_g: yarn left at the first weighing, g.
        weight_left_g: yarn left now, g.
        rounds_knitted: rounds knitted between the two.

    Raises:
        PlanError: no round was knitted, or the yarn did not get lighter.

    """
    check_positive(rounds_knitted, "number of rounds between the weighings", "as 12")
    check_not_negative(weight_left_g, "weight of yarn left", "with its unit, as 34g")
    used = weight_before_g - weight_left_g
    if not used > 0:
        raise PlanError(
            f"the yarn weighed {weight_before_g:g} g before and {weight_left_g:g} g now: "
            "the first must be the heavier; weigh again and type both"
        )
    # rounds left = left / (used / rounds); used = before - left shares the present weighing
    left = weight_left_g / used * rounds_knitted
    by_left = (1 / used + weight_left_g / used**2) * SCALE_SD_G * rounds_knitted
    by_before = weight_left_g / used**2 * SCALE_SD_G * rounds_knitted
    share = math.hypot(by_left, by_before) / left if left > 0 else 0.0
    each = ratio_estimate(used / rounds_knitted, math.sqrt(2) * SCALE_SD_G / used)
    return _yarn_left(left, share, None, each)


def _yarn_left(
    rounds: float, share: float, length: Estimate | None, weight: Estimate | None
) -> YarnLeft:
    left = ratio_estimate(rounds, share)
    return YarnLeft(length, weight, left, math.floor(left.low95 + 1e-9))


def skeins_needed(
    rounds: float,
    stitches: float,
    yarn_per_stitch: Estimate,
    skein_length_mm: float,
) -> int:
    """Whole skeins that last ``rounds`` rounds in 19 cases of 20.

    Joins lose yarn too (see :func:`joining_waste`); that is not counted here.

    Raises:
        PlanError: a count or length makes no sense, or no number of skeins will do.

    """
    check_positive(rounds, "number of rounds", "as 120")
    check_positive(skein_length_mm, "length of a whole skein", "with its unit, as 400m")
    need = rounds * stitches * yarn_per_stitch.mean / skein_length_mm
    for skeins in range(max(1, math.floor(need)), math.ceil(2 * need) + 2):
        length = skeins * skein_length_mm
        left = rounds_left_by_length(length, stitches, yarn_per_stitch, LABEL_SHARE * length)
        if left.chance_for(rounds) >= _SURE:
            return skeins
    raise PlanError("the yarn per stitch is too little known to say: measure it first")


def joining_waste(skeins: int, repeat_length_mm: float) -> float:
    """Yarn cut to waste, on average, where so many skeins are joined in colour, mm.

    Cut anywhere from nothing to a whole repeat at each join: half of one.

    Raises:
        PlanError: the repeat is not above zero.

    """
    check_positive(repeat_length_mm, "length of the repeat", "with its unit, as 152cm")
    return max(skeins - 1, 0) * repeat_length_mm / 2
