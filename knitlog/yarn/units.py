"""Lengths, weights and yarn counts, with exact conversion factors.

Everything inside is millimetres and grams; units exist only where a knitter
types or reads.  A bare number is never guessed at: four inches taken for ten
centimetres is an error of 1.6 %, as large as a drift of two stitches on 128.

The inch, yard and pound are exact by the international yard and pound
agreement of 1959 (1 yd = 0.9144 m, 1 lb = 0.45359237 kg).  Yarn counts: tex is
grams per kilometre (ISO 1144); denier is grams per 9 km; metric count Nm is
kilometres per kilogram; the cotton and worsted counts are hanks of 840 and
560 yards in a pound.
"""

import math
import re
from enum import StrEnum
from typing import Literal

from knitlog.yarn.errors import YarnError

System = Literal["metric", "imperial"]

MM_PER_INCH = 25.4
"""Exact."""
MM_PER_FOOT = 304.8
"""Exact."""
MM_PER_YARD = 914.4
"""Exact."""
GRAMS_PER_POUND = 453.59237
"""Exact."""
GRAMS_PER_OUNCE = GRAMS_PER_POUND / 16
"""Exact, avoirdupois."""

_MM_PER_UNIT: dict[str, float] = {
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), 1.0),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), 10.0),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), 1000.0),
    **dict.fromkeys(("in", "inch", "inches", '"', "″", "”"), MM_PER_INCH),
    **dict.fromkeys(("ft", "foot", "feet"), MM_PER_FOOT),
    **dict.fromkeys(("yd", "yds", "yard", "yards"), MM_PER_YARD),
}
_GRAMS_PER_UNIT: dict[str, float] = {
    **dict.fromkeys(("g", "gram", "grams", "gramme", "grammes"), 1.0),
    **dict.fromkeys(("kg", "kilo", "kilos", "kilogram", "kilograms"), 1000.0),
    **dict.fromkeys(("oz", "ounce", "ounces"), GRAMS_PER_OUNCE),
    **dict.fromkeys(("lb", "lbs", "pound", "pounds"), GRAMS_PER_POUND),
}

# "60 1/2in", "1/2 in", "1.5 m", "1,5m": a number, perhaps with a fraction, then a unit.
_QUANTITY = re.compile(
    r"""^\s*(?P<sign>[-−+]?)\s*
        (?:(?P<number>\d+(?:[.,]\d*)?|[.,]\d+)(?:\s+(?P<top>\d+)/(?P<bottom>\d+))?
          |(?P<only_top>\d+)/(?P<only_bottom>\d+))
        \s*(?P<unit>[^\W\d]+\.?|["″”])?\s*$""",
    re.VERBOSE,
)
_LENGTH_UNITS = "mm, cm, m, in or yd"
_WEIGHT_UNITS = "g, kg, oz or lb"


def parse_length(text: str) -> float:
    """Read a length with its unit, in mm.

    >>> parse_length("60in")
    1524.0
    >>> parse_length("1.5 m")
    1500.0

    Raises:
        YarnError: no unit, an unknown unit, or not a length above zero.

    """
    return _parse_quantity(text, _MM_PER_UNIT, "length", _LENGTH_UNITS, "152cm or 60in")


def parse_weight(text: str) -> float:
    """Read a weight with its unit, in grams.

    >>> parse_weight("100 g")
    100.0

    Raises:
        YarnError: no unit, an unknown unit, or not a weight above zero.

    """
    return _parse_quantity(text, _GRAMS_PER_UNIT, "weight", _WEIGHT_UNITS, "87g or 3.5oz")


def _parse_quantity(
    text: str, units: dict[str, float], what: str, unit_names: str, example: str
) -> float:
    """Number times unit, checked; ``what`` names the quantity in the error."""
    match = _QUANTITY.match(text)
    if match is None:
        raise YarnError(f"'{text.strip()}' is not a {what}: type a number and a unit, as {example}")
    unit = (match["unit"] or "").rstrip(".").lower()
    if not unit:
        raise YarnError(
            f"'{text.strip()}' has no unit: add {unit_names} after the number, as {example}"
        )
    if unit not in units:
        raise YarnError(
            f"'{match['unit']}' in '{text.strip()}' is not a unit of {what}: use {unit_names}"
        )
    value = _number(match, text) * units[unit]
    if match["sign"] in ("-", "−") or not value > 0:
        raise YarnError(f"'{text.strip()}' is not a {what} above zero: type it as {example}")
    if not math.isfinite(value):
        raise YarnError(f"'{text.strip()}' is too large for a {what}: type it as {example}")
    return value


def _number(match: re.Match[str], text: str) -> float:
    """The number of a matched quantity, fractions included."""
    if match["only_top"] is not None:
        return _fraction(match["only_top"], match["only_bottom"], text)
    number: str = match["number"]
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", number):
        raise YarnError(
            f"the comma in '{number}' can be read two ways: write {number.replace(',', '')} "
            f"or {number.replace(',', '.')}"
        )
    value = float(number.replace(",", "."))
    if match["top"] is not None:
        value += _fraction(match["top"], match["bottom"], text)
    return value


def _fraction(top: str, bottom: str, text: str) -> float:
    if int(bottom) == 0:
        raise YarnError(f"'{text.strip()}' divides by zero: type the fraction as 1/2")
    return int(top) / int(bottom)


def format_length(mm: float, system: System = "metric") -> str:
    """A length in words a knitter reads, in the unit that suits its size.

    Metric: mm below 10 cm, cm below 10 m, then m.  Imperial: inches below
    3 yards, then yards.

    >>> format_length(1524)
    '152.4 cm'
    >>> format_length(1524, "imperial")
    '60 in'
    """
    size = abs(mm)
    if system == "imperial":
        if size < 10 * MM_PER_INCH:
            return f"{_trim(mm / MM_PER_INCH, 2)} in"
        if size < 3 * MM_PER_YARD:
            return f"{_trim(mm / MM_PER_INCH, 1)} in"
        return f"{_trim(mm / MM_PER_YARD, 1)} yd"
    if size < 100:
        return f"{_trim(mm, 1)} mm"
    if size < 10_000:
        return f"{_trim(mm / 10, 1)} cm"
    return f"{_trim(mm / 1000, 1)} m"


def format_weight(grams: float, system: System = "metric") -> str:
    """A weight in grams, or in ounces for the imperial system.

    >>> format_weight(87.25)
    '87.2 g'
    """
    if system == "imperial":
        return f"{_trim(grams / GRAMS_PER_OUNCE, 2)} oz"
    return f"{_trim(grams, 1)} g"


def _trim(value: float, places: int) -> str:
    """Rounded, without trailing zeros and never "-0"."""
    text = f"{value:.{places}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


class YarnCount(StrEnum):
    """Ways of saying how fine a yarn is."""

    TEX = "tex"
    DENIER = "denier"
    METRIC = "Nm"
    COTTON = "cotton count"
    WORSTED = "worsted count"


_COTTON_HANK_KM = 840 * MM_PER_YARD / 1e6
_WORSTED_HANK_KM = 560 * MM_PER_YARD / 1e6


def to_tex(value: float, count: YarnCount) -> float:
    """Grams per kilometre of a yarn of the given count.

    >>> round(to_tex(1, YarnCount.COTTON), 3)
    590.541

    Raises:
        YarnError: the count is not above zero.

    """
    if not (value > 0 and math.isfinite(value)):
        raise YarnError(f"a yarn count must be above zero, not {value:g}")
    match count:
        case YarnCount.TEX:
            return value
        case YarnCount.DENIER:
            # denier = g / 9 km
            return value / 9
        case YarnCount.METRIC:
            # Nm = km / kg
            return 1000 / value
        case YarnCount.COTTON:
            # hanks of 840 yd to the pound
            return GRAMS_PER_POUND / (value * _COTTON_HANK_KM)
        case YarnCount.WORSTED:
            # hanks of 560 yd to the pound
            return GRAMS_PER_POUND / (value * _WORSTED_HANK_KM)


def from_tex(tex: float, count: YarnCount) -> float:
    """The count of a yarn of so many grams per kilometre.

    >>> from_tex(100, YarnCount.METRIC)
    10.0

    Raises:
        YarnError: tex is not above zero.

    """
    if count is YarnCount.DENIER:
        return 9 * to_tex(tex, YarnCount.TEX)
    # tex and the three length-per-weight counts are their own inverses: c = A / tex
    return to_tex(tex, count)


def tex_from_skein(length_mm: float, weight_g: float) -> float:
    """Grams per kilometre of a skein of the given length and weight.

    Raises:
        YarnError: length or weight is not above zero.

    """
    if not (length_mm > 0 and weight_g > 0):
        raise YarnError("a skein has a length and a weight above zero: check both")
    return weight_g / (length_mm / 1e6)
