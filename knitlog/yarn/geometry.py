"""Where the colours come back: yarn per stitch, drift and position.

N stitches a round, a repeat of length L along the yarn, k repeats meant to go into
a round, s of yarn in a stitch.  A round uses N s; the colours come back after k L of
yarn, which is N + d stitches:

    k L = (N + d) s        s* = k L / N        s / s* - 1 = -d / (N + d)

If the stitches are too small the round ends before the repeat does, and the next
colour change lands *past* the last one: drift d > 0.  A position p is the number of
stitches knitted in the round before the colour changes, counted in knitting order,
0 to N; halves allowed; N of one round is 0 of the next.

The needle: the loop goes round it, so s is near t pi (D + y), needle diameter D, yarn
thickness y, hand tension t near 1 (plain geometry, no source; against Munden's law at
the middle of the yarn-weight classes it gives yarn thicknesses of 1.7 to 3.1 mm).
"""

import math

from knitlog.yarn import YarnError

THINNEST_YARN_MM, USUAL_YARN_THICKNESS_MM, THICKEST_YARN_MM = 0.5, 2.0, 5.0
"""Bounds and middle of what hand-knitting yarns measure (common practice, no source)."""


def target_yarn_per_stitch(stitches: float, repeats: float, repeat_length_mm: float) -> float:
    """Yarn per stitch at which the colours neither gain nor lose, s*, mm.

    >>> target_yarn_per_stitch(128, 1, 1524)
    11.90625

    Raises:
        YarnError: a count or length is not above zero.

    """
    return yarn_per_stitch(0.0, stitches, repeats, repeat_length_mm)


def yarn_per_stitch(
    drift: float, stitches: float, repeats: float, repeat_length_mm: float
) -> float:
    """Yarn per stitch that makes this drift, s, mm.

    >>> yarn_per_stitch(2, 125, 1, 1524)
    12.0

    Raises:
        YarnError: a count or length is not above zero, or the drift eats the whole round.

    """
    _check_positive(stitches, "stitch count", "as 128")
    _check_positive(repeats, "number of repeats a round", "as 1")
    _check_positive(repeat_length_mm, "length of the repeat", "with its unit, as 152cm")
    _check_round(drift, stitches)
    # s = k L / (N + d)
    return repeats * repeat_length_mm / (stitches + drift)


def yarn_error_percent(drift: float, stitches: float) -> float:
    """How far yarn per stitch is off its target, percent; below zero is too little yarn.

    >>> round(yarn_error_percent(3, 128), 2)
    -2.29

    Raises:
        YarnError: the stitch count is not above zero, or the drift eats the whole round.

    """
    _check_positive(stitches, "stitch count", "as 128")
    _check_round(drift, stitches)
    # s / s* - 1 = -d / (N + d)
    return -100 * drift / (stitches + drift)


def needle_response_factor(d1_mm: float, d2_mm: float, yarn_thickness_mm: float) -> float:
    """Factor by which yarn per stitch changes from needle ``d1_mm`` to ``d2_mm``.

    >>> round(needle_response_factor(4.5, 5.0, 2.2), 4)
    1.0746

    Raises:
        YarnError: a needle is not above zero, or the yarn thickness is below zero.

    """
    _check_positive(d1_mm, "needle size", "in mm, as 4.5mm")
    _check_positive(d2_mm, "needle size", "in mm, as 4.5mm")
    if not (yarn_thickness_mm >= 0 and math.isfinite(yarn_thickness_mm)):
        raise YarnError("the yarn thickness cannot be below zero: type it in mm, as 2.2mm")
    # s2 / s1 = t pi (D2 + y) / (t pi (D1 + y))
    return (d2_mm + yarn_thickness_mm) / (d1_mm + yarn_thickness_mm)


def drift_after_needle_change(drift: float, stitches: float, factor: float) -> float:
    """Drift once every stitch takes ``factor`` times the yarn.

    >>> round(drift_after_needle_change(0, 128, 7.2 / 6.7), 1)
    -8.9

    Raises:
        YarnError: the factor or the stitch count is not above zero.

    """
    _check_positive(stitches, "stitch count", "as 128")
    _check_positive(factor, "change of yarn per stitch", "as 1.05")
    _check_round(drift, stitches)
    # (N + d2) s f = k L = (N + d1) s
    return (stitches + drift) / factor - stitches


def likely_yarn_thickness(yarn_per_stitch_mm: float | None, needle_mm: float | None) -> float:
    """Yarn thickness nobody stated, mm: from the loop law within 0.5 to 5, else a usual one.

    Raises:
        YarnError: a yarn per stitch or needle is given and not above zero.

    """
    if yarn_per_stitch_mm is None or needle_mm is None:
        return USUAL_YARN_THICKNESS_MM
    _check_positive(yarn_per_stitch_mm, "yarn per stitch", "in mm, as 12mm")
    _check_positive(needle_mm, "needle size", "in mm, as 4.5mm")
    # a tight hand's loop may seem too short to go round the needle at all: the least is taken
    return min(max(yarn_per_stitch_mm / math.pi - needle_mm, THINNEST_YARN_MM), THICKEST_YARN_MM)


def wrap(position: float, stitches: float) -> float:
    """The position as counted in its own round, from 0 up to but not including N.

    >>> wrap(130.5, 128), wrap(-1, 128)
    (2.5, 127.0)

    Raises:
        YarnError: the stitch count is not above zero.

    """
    _check_positive(stitches, "stitch count", "as 128")
    wrapped = position % stitches
    # a hair below zero rounds up to N itself
    return 0.0 if wrapped == stitches else float(wrapped)


def wrap_offset(offset: float, period: float) -> float:
    """The offset to the nearest colour change of its kind, from -period/2 up to period/2.

    >>> wrap_offset(127, 128), wrap_offset(3, 128)
    (-1.0, 3.0)

    Raises:
        YarnError: the period is not above zero.

    """
    _check_positive(period, "number of stitches in a repeat", "as 128")
    return float(offset - period * math.floor(offset / period + 0.5))


def is_right_side_row(row: int) -> bool:
    """Whether a row worked flat is knitted with the right side facing.

    Row 1 is taken for a right-side row, as most patterns have it (common practice).
    """
    return row % 2 == 1


def to_knitting_order(row: int, seen: float, stitches: float) -> float:
    """Stitches knitted before a point seen ``seen`` stitches from the right edge.

    ``seen`` is counted looking at the right side.  A right-side row is knitted from that
    edge, a wrong-side row towards it, so it reads mirrored.

    >>> to_knitting_order(1, 20, 128), to_knitting_order(2, 20, 128)
    (20, 108)
    """
    return seen if is_right_side_row(row) else stitches - seen


def from_knitting_order(row: int, knitted: float, stitches: float) -> float:
    """Where a point ``knitted`` stitches into a row is seen, from the right edge.

    The inverse of :func:`to_knitting_order`; mirroring twice changes nothing.
    """
    return to_knitting_order(row, knitted, stitches)


def _check_positive(value: float, what: str, example: str) -> None:
    if not (value > 0 and math.isfinite(value)):
        raise YarnError(f"the {what} must be above zero, not {value:g}: type it {example}")


def _check_round(drift: float, stitches: float) -> None:
    if not stitches + drift > 0:
        raise YarnError(
            f"a drift of {drift:g} on {stitches:g} stitches would swallow the whole round: "
            "check the readings and the stitch count"
        )
