"""Lengths and weights, with exact conversion factors, and how a length is shown.

Everything inside is millimetres and grams; units exist only where a knitter types or reads.
The inch, yard and pound are exact by the international yard and pound agreement of 1959
(1 yd = 0.9144 m, 1 lb = 0.45359237 kg).
"""

from typing import Literal

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


def _trim(value: float, places: int) -> str:
    """Rounded, without trailing zeros and never "-0"."""
    text = f"{value:.{places}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
