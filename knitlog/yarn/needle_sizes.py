"""Needle sizes: the millimetre is the truth, a US, UK or Japanese number a label.

Source: the needle conversion tables printed on yarn labels and by the Craft Yarn
Council, for US and old UK (imperial gauge) numbers; the Japanese numbers follow
mm = 2.1 + 0.3 n, n = 0 to 15.  US 000 and 00 are from memory.  The tables disagree
at 2.25 mm (US 1 or 0), 2.5, 3.0, and on which millimetres US 17, 19, 35 and 36 are:
those four are refused with the two sizes named, since only the knitter can look.
"""

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class NeedleSize:
    """One line of the conversion table."""

    mm: float
    """Diameter, mm."""
    us: str | None
    """US number, None where there is none or makers differ."""
    uk: str | None
    """Old UK (imperial) number, None where there is none."""


NEEDLE_TABLE: tuple[NeedleSize, ...] = (
    NeedleSize(1.5, "000", None),
    NeedleSize(1.75, "00", None),
    NeedleSize(2.0, "0", "14"),
    NeedleSize(2.25, "1", "13"),
    NeedleSize(2.5, "1.5", None),
    NeedleSize(2.75, "2", "12"),
    NeedleSize(3.0, "2.5", "11"),
    NeedleSize(3.25, "3", "10"),
    NeedleSize(3.5, "4", None),
    NeedleSize(3.75, "5", "9"),
    NeedleSize(4.0, "6", "8"),
    NeedleSize(4.5, "7", "7"),
    NeedleSize(5.0, "8", "6"),
    NeedleSize(5.5, "9", "5"),
    NeedleSize(6.0, "10", "4"),
    NeedleSize(6.5, "10.5", "3"),
    NeedleSize(7.0, None, "2"),
    NeedleSize(7.5, None, "1"),
    NeedleSize(8.0, "11", "0"),
    NeedleSize(9.0, "13", "00"),
    NeedleSize(10.0, "15", "000"),
    NeedleSize(12.0, None, None),
    NeedleSize(12.75, None, None),
    NeedleSize(15.0, None, None),
    NeedleSize(16.0, None, None),
    NeedleSize(19.0, None, None),
    NeedleSize(20.0, None, None),
    NeedleSize(25.0, "50", None),
)
"""Ascending by diameter."""

NEEDLE_SIZES_MM: tuple[float, ...] = tuple(size.mm for size in NEEDLE_TABLE)
"""Diameters commonly sold, mm, ascending."""

JAPANESE_SIZES_MM: tuple[float, ...] = tuple(round(2.1 + 0.3 * n, 1) for n in range(16))
"""Diameter of Japanese needle n, mm, at index n."""

DISPUTED_US: dict[str, str] = {
    "17": "12 or 12.75 mm",
    "19": "15 or 16 mm",
    "35": "19 or 20 mm",
    "36": "19 or 20 mm",
}
"""US numbers that are different sizes by maker, and which."""
SMALLEST_NEEDLE_MM = 0.5
LARGEST_NEEDLE_MM = 40.0
"""No needle is let in beyond these."""


def needle_number(mm: float, system: str) -> str | None:
    """The number of a size in one system, "US", "UK" or "JP"; None where it has none.

    >>> needle_number(4.5, "US"), needle_number(7.5, "US")
    ('US 7', None)
    """
    number: str | None = None
    if system == "JP":
        for japanese, japanese_mm in enumerate(JAPANESE_SIZES_MM):
            if math.isclose(japanese_mm, mm, abs_tol=0.005):
                number = str(japanese)
    elif system in ("US", "UK"):
        for size in NEEDLE_TABLE:
            if math.isclose(size.mm, mm, abs_tol=0.005):
                number = size.us if system == "US" else size.uk
    return None if number is None else f"{system} {number}"


def needle_label(mm: float) -> str:
    """The size with the numbers it goes by.

    >>> needle_label(4.5)
    '4.5 mm (US 7, UK 7, JP 8)'
    >>> needle_label(4.3)
    '4.3 mm'
    """
    names = [name for system in ("US", "UK", "JP") if (name := needle_number(mm, system))]
    return f"{mm:g} mm ({', '.join(names)})" if names else f"{mm:g} mm"
