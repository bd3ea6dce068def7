"""Gauge: how wide a stitch is, and what that says of the yarn in it.

For plain knitting Munden found that loop length alone sets the density:

    wales/cm = Kw / l    courses/cm = Kc / l    stitches/cm2 = Ks / l^2    (l in cm)

(D. L. Munden, The geometry and dimensional properties of plain-knit fabrics,
Journal of the Textile Institute 50, 1959, T448), with constants that depend on how
far the fabric has relaxed: here soaked and dried flat without agitation, as knitters wash.
He measured machine-knit wool, so for hand knitting
this is a good first guess, not a measurement.
"""

import math
from dataclasses import dataclass

from knitlog.yarn import YarnError
from knitlog.yarn.units import MM_PER_INCH


@dataclass(frozen=True, slots=True)
class Gauge:
    """Stitches, and perhaps rounds, in a centimetre of fabric."""

    stitches_per_cm: float
    """Stitches across one centimetre."""
    rounds_per_cm: float | None = None
    """Rounds (or rows) up one centimetre, if counted."""

    def __post_init__(self) -> None:
        _check_density(self.stitches_per_cm, "stitches")
        if self.rounds_per_cm is not None:
            _check_density(self.rounds_per_cm, "rounds")


_FEWEST_PER_CM = 0.05
_MOST_PER_CM = 40.0


def _check_density(per_cm: float, what: str) -> None:
    if not _FEWEST_PER_CM <= per_cm <= _MOST_PER_CM:
        raise YarnError(
            f"{per_cm:g} {what} in a centimetre is not a hand-knit gauge: "
            "check the count and the unit, as 20 st/10cm"
        )


def format_gauge(gauge: Gauge, system: str = "metric") -> str:
    """A gauge as knitters write it, over 10 cm or over 4 inches.

    >>> format_gauge(Gauge(2.0, 2.8))
    '20 st 28 rows/10cm'
    """
    over_cm, over = (4 * MM_PER_INCH / 10, "4in") if system == "imperial" else (10.0, "10cm")
    rows = "" if gauge.rounds_per_cm is None else f" {gauge.rounds_per_cm * over_cm:.4g} rows"
    return f"{gauge.stitches_per_cm * over_cm:.4g} st{rows}/{over}"


MUNDEN_WALES = 4.1
"""Kw: loop length (cm) times wales per cm, wet relaxed; from memory."""
MUNDEN_COURSES = 5.3
"""Kc: loop length (cm) times courses per cm, wet relaxed; from memory."""


def yarn_per_stitch_from_gauge(gauge: Gauge) -> float:
    """Yarn in one plain stitch, mm, from the stitch count alone (Munden 1959).

    >>> round(yarn_per_stitch_from_gauge(Gauge(4.1)), 9)
    10.0
    """
    # l = Kw / (wales per cm), cm
    return 10 * MUNDEN_WALES / gauge.stitches_per_cm


def gauge_from_yarn_per_stitch(yarn_per_stitch_mm: float) -> Gauge:
    """The gauge plain knitting settles to with so much yarn a stitch (Munden 1959).

    Raises:
        YarnError: the yarn per stitch is not above zero.

    """
    if not (yarn_per_stitch_mm > 0 and math.isfinite(yarn_per_stitch_mm)):
        raise YarnError("the yarn per stitch must be above zero: type it in mm, as 12mm")
    loop_cm = yarn_per_stitch_mm / 10
    # wales per cm = Kw / l, courses per cm = Kc / l
    return Gauge(MUNDEN_WALES / loop_cm, MUNDEN_COURSES / loop_cm)


def stitch_width_mm(gauge: Gauge) -> float:
    """Width of one stitch, mm."""
    return 10 / gauge.stitches_per_cm


def stitch_height_mm(gauge: Gauge) -> float:
    """Height of one round, mm; from Munden's Kc / Kw where no rounds were counted."""
    if gauge.rounds_per_cm is not None:
        return 10 / gauge.rounds_per_cm
    # (courses per cm) / (wales per cm) = Kc / Kw
    return stitch_width_mm(gauge) * MUNDEN_WALES / MUNDEN_COURSES
