"""Needle sizes: the millimetre is the truth, a US, UK or Japanese number a label.

Source: the needle conversion tables printed on yarn labels and by the Craft Yarn
Council, for US and old UK (imperial gauge) numbers; the Japanese numbers follow
mm = 2.1 + 0.3 n, n = 0 to 15.  US 000 and 00 are from memory.  The tables disagree
at 2.25 mm (US 1 or 0), 2.5, 3.0, and on which millimetres US 17, 19, 35 and 36 are:
those four are refused with the two sizes named, since only the knitter can look.
"""

import math
import re
from dataclasses import dataclass

from knitlog.yarn.errors import YarnError


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

_US_DISPUTED: dict[str, str] = {
    "17": "12 or 12.75 mm",
    "19": "15 or 16 mm",
    "35": "19 or 20 mm",
    "36": "19 or 20 mm",
}
_SMALLEST_MM = 0.5
_LARGEST_MM = 40.0
_NUMBERED = re.compile(r"^(us|uk|jp)\s*(?:no\.?|size|#)?\s*([\d½./ ]+)$", re.IGNORECASE)
_METRIC = re.compile(
    r"^(\d+(?:[.,]\d+)?|[.,]\d+)\s*(?:mm|millimet(?:re|er)s?)?\.?(?:\s*\(.*\))?$", re.IGNORECASE
)


def parse_needle(text: str) -> float:
    """Read a needle size, in mm: "4.5mm", "4.5", "US 7", "UK 7" or "JP 8".

    A bare number is millimetres; what :func:`needle_label` writes is read back too.

    >>> parse_needle("US 7")
    4.5
    >>> parse_needle("JP 8")
    4.5

    Raises:
        YarnError: not a size, not in the table, or a number makers do not agree on.

    """
    cleaned = text.strip()
    numbered = _NUMBERED.match(cleaned)
    if numbered is not None:
        return _from_number(numbered[1].upper(), _plain_number(numbered[2]))
    metric = _METRIC.match(cleaned)
    if metric is None:
        raise YarnError(f"'{cleaned}' is not a needle size: type it as 4.5mm, US 7, UK 7 or JP 8")
    mm = float(metric[1].replace(",", "."))
    if not _SMALLEST_MM <= mm <= _LARGEST_MM:
        raise YarnError(
            f"a needle of {mm:g} mm is outside {_SMALLEST_MM:g} to {_LARGEST_MM:g} mm: "
            "check the size, in millimetres, or type it as US 7"
        )
    return mm


def _plain_number(text: str) -> str:
    """The number as the table writes it: "10½" and "10 1/2" are "10.5"."""
    number = re.sub(r"\s*(?:½|\b1/2)\s*$", ".5", text.strip())
    return number if "." not in number else number.rstrip("0").rstrip(".")


def _from_number(system: str, number: str) -> float:
    if system == "JP":
        if number.isdecimal() and int(number) < len(JAPANESE_SIZES_MM):
            return JAPANESE_SIZES_MM[int(number)]
        raise YarnError(
            f"there is no Japanese needle {number}: the numbers run from JP 0 to JP 15; "
            "type the millimetres instead, as 4.5mm"
        )
    if system == "US" and number in _US_DISPUTED:
        raise YarnError(
            f"US {number} is {_US_DISPUTED[number]} depending on the maker: "
            "read the millimetres off the needle and type those"
        )
    for size in NEEDLE_TABLE:
        if number == (size.us if system == "US" else size.uk):
            return size.mm
    raise YarnError(
        f"there is no {system} needle {number} in the table: type the millimetres, as 4.5mm"
    )


def needle_label(mm: float) -> str:
    """The size with the numbers it goes by.

    >>> needle_label(4.5)
    '4.5 mm (US 7, UK 7, JP 8)'
    >>> needle_label(4.3)
    '4.3 mm'
    """
    names: list[str] = []
    for size in NEEDLE_TABLE:
        if math.isclose(size.mm, mm, abs_tol=0.005):
            if size.us is not None:
                names.append(f"US {size.us}")
            if size.uk is not None:
                names.append(f"UK {size.uk}")
    for number, japanese_mm in enumerate(JAPANESE_SIZES_MM):
        if math.isclose(japanese_mm, mm, abs_tol=0.005):
            names.append(f"JP {number}")
    return f"{mm:g} mm ({', '.join(names)})" if names else f"{mm:g} mm"
