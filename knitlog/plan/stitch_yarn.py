"""Yarn per stitch before the first round, three ways, each with its spread.

From a gauge: Munden's law, a first guess (see :mod:`knitlog.yarn.gauge`).  From
unravelling: pull out a counted run of stitches and measure the yarn, the way of
EN 14970:2006 and BS 5441:1988.  From tags: hang two tags a known number of repeats
apart on the yarn and count the stitches knitted between them.  What her past projects
say of it is pooled in :mod:`knitlog.hands`.

Whatever is known is combined by inverse variance, widened where the ways disagree by
more than their own spreads allow (the Birge ratio: R. T. Birge, Physical Review 40,
1932, 207).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from knitlog.drift.fit_result import Estimate
from knitlog.plan.checks import PlanError, check_positive
from knitlog.plan.normal import ratio_estimate
from knitlog.yarn.gauge import Gauge, yarn_per_stitch_from_gauge

# how far each way of measuring is trusted: common practice and own judgement, no source
GAUGE_LAW_SHARE = 0.08
"""Spread of hand knitting about Munden's machine-knit law, as a share."""
GAUGE_COUNT_SHARE = 0.015
"""Spread of a gauge counted over 10 cm or 4 in: about a third of a stitch in 20."""
STITCH_SHARE = 0.06
"""Spread of one stitch's yarn about the mean: 0.7 stitches over a round of 128."""
RULER_MM = 4.0
"""Spread of one length of crimped yarn laid along a ruler, mm."""
STRAIGHTENING_SHARE = 0.01
"""Spread from how hard the crimp is pulled straight; the same every time."""
UNRAVELLED_ENDS_STITCHES = 0.4
"""Spread of where the counted run begins and ends, stitches."""
SWATCH_SHARE = 0.015
"""Spread between a swatch and the project itself: another mood, flat against round."""
TAG_READING_STITCHES = 0.5
"""Spread of reading where a tag fell, both ends together, stitches."""


def from_gauge(gauge: Gauge) -> Estimate:
    """Yarn per stitch from a gauge alone, mm (Munden 1959)."""
    # s = Kw / (wales per unit length); the relative spreads add as squares
    share = math.hypot(GAUGE_LAW_SHARE, GAUGE_COUNT_SHARE)
    return ratio_estimate(yarn_per_stitch_from_gauge(gauge), share)


def from_unravelling(
    stitches: float,
    lengths_mm: Sequence[float],
) -> Estimate:
    """Yarn per stitch from pulling out ``stitches`` stitches once or more, mm.

    Args:
        stitches: stitches counted and pulled out each time.
        lengths_mm: length of yarn each time, mm.

    Raises:
        PlanError: nothing was measured, or a count or length is not above zero.

    """
    check_positive(stitches, "number of stitches pulled out", "as 40")
    if not lengths_mm:
        raise PlanError("pull out a counted run of stitches and type the length, as 48.2cm")
    for length in lengths_mm:
        check_positive(length, "length of yarn pulled out", "with its unit, as 48.2cm")
    times = len(lengths_mm)
    mean = math.fsum(lengths_mm) / times / stitches
    # of one trial, relative: ruler / length, ends / n, stitch to stitch / root n
    assumed = math.hypot(
        RULER_MM / (mean * stitches),
        UNRAVELLED_ENDS_STITCHES / stitches,
        STITCH_SHARE / math.sqrt(stitches),
    )
    one_trial = max(assumed, _relative_scatter(lengths_mm))
    # what does not average out: the pull of the hand, swatch against project
    share = math.hypot(one_trial / math.sqrt(times), STRAIGHTENING_SHARE, SWATCH_SHARE)
    return ratio_estimate(mean, share)


def from_tags(
    counts: Sequence[float],
    repeat_length_mm: float,
) -> Estimate:
    """Yarn per stitch from stitches counted between two tags on the yarn, mm.

    An error in the repeat's own length cancels when the drift is worked out with the
    same length, since d = counted stitches * k - N.

    Args:
        counts: stitches between the tags, each time; halves allowed.
        repeat_length_mm: length of one repeat, mm.

    Raises:
        PlanError: nothing was counted, or a count or length is not above zero.

    """
    check_positive(repeat_length_mm, "length of the repeat", "with its unit, as 152cm")
    if not counts:
        raise PlanError("count the stitches between the two tags and type them, as 127")
    for count in counts:
        check_positive(count, "number of stitches between the tags", "as 127")
    times = len(counts)
    count = math.fsum(counts) / times
    # of one count, relative: reading / n, stitch to stitch / root n
    assumed = math.hypot(TAG_READING_STITCHES / count, STITCH_SHARE / math.sqrt(count))
    one_count = max(assumed, _relative_scatter(counts))
    share = math.hypot(one_count / math.sqrt(times), SWATCH_SHARE)
    # s = L / n; for 1 / n the mean lies higher by the spread squared
    return ratio_estimate(repeat_length_mm / count * (1 + one_count**2 / times), share)


def _relative_scatter(values: Sequence[float]) -> float:
    """Sample standard deviation over mean; 0 for fewer than three values."""
    if len(values) < 3:
        return 0.0
    mean = math.fsum(values) / len(values)
    variance = math.fsum((v - mean) ** 2 for v in values) / (len(values) - 1)
    return math.sqrt(variance) / mean


@dataclass(frozen=True, slots=True)
class CombinedYarn:
    """Several ways of knowing yarn per stitch, made one."""

    estimate: Estimate
    """Yarn per stitch, mm."""
    shares: tuple[float, ...]
    """How much each way counted, in the order given; they sum to 1."""
    disagreement: float
    """Birge ratio: 1 where the ways differ as their spreads allow, more where they do not."""
    lowest_mm: float
    """The least any way says, mm."""
    highest_mm: float
    """The most any way says, mm."""

    @property
    def disagrees(self) -> bool:
        """Whether the ways disagree badly: one of them should be measured again."""
        return self.disagreement > _BADLY


_BADLY = 2.0


def combine(estimates: Sequence[Estimate]) -> CombinedYarn:
    """Combine estimates of yarn per stitch, weighing each by 1 / sd^2.

    Raises:
        PlanError: nothing to combine, or an estimate without a spread.

    """
    if not estimates:
        raise PlanError("there is nothing to combine: measure yarn per stitch in some way first")
    for estimate in estimates:
        check_positive(estimate.mean, "yarn per stitch", "in mm, as 12mm")
        check_positive(estimate.sd, "spread of yarn per stitch", "in mm, as 0.2mm")
    weights = [1 / e.sd**2 for e in estimates]
    total = math.fsum(weights)
    # x = sum(w x) / sum(w), var = 1 / sum(w)
    mean = math.fsum(w * e.mean for w, e in zip(weights, estimates, strict=True)) / total
    sd = math.sqrt(1 / total)
    ratio = 1.0
    if len(estimates) > 1:
        # Birge: R^2 = sum(w (x - mean)^2) / (n - 1)
        q = math.fsum(w * (e.mean - mean) ** 2 for w, e in zip(weights, estimates, strict=True))
        ratio = max(1.0, math.sqrt(q / (len(estimates) - 1)))
    return CombinedYarn(
        ratio_estimate(mean, sd * ratio / mean),
        tuple(w / total for w in weights),
        ratio,
        min(e.mean for e in estimates),
        max(e.mean for e in estimates),
    )
