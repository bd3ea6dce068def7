"""Lengths, weights, needles, gauge and multiples, read from what was typed.

A bare number is never guessed at.  Four inches taken for ten centimetres is an error of
1.6 %, as large as a drift of two stitches on 128; needle 7 is 7 mm to one knitter, 4.5 mm
(US 7) to a second and 4.5 mm or 2 mm to the next.  What is read is in mm and grams.
"""

import contextlib
import re
from dataclasses import dataclass
from typing import NamedTuple

from knitlog.typed.numbers import (
    format_number,
    parse_list,
    parse_number,
    parse_whole,
    spelled_out,
)
from knitlog.typed.text import TypedError, as_sentence, quoted
from knitlog.yarn import YarnError
from knitlog.yarn.gauge import Gauge, format_gauge
from knitlog.yarn.needle_sizes import (
    DISPUTED_US,
    JAPANESE_SIZES_MM,
    LARGEST_NEEDLE_MM,
    NEEDLE_TABLE,
    SMALLEST_NEEDLE_MM,
    needle_number,
)
from knitlog.yarn.units import (
    GRAMS_PER_OUNCE,
    GRAMS_PER_POUND,
    MM_PER_FOOT,
    MM_PER_INCH,
    MM_PER_YARD,
    System,
    format_length,
)

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
MOST_STITCHES = 10_000
"""Stitches in a round, at most."""
MOST_ROUNDS = 100_000
"""Rounds of a project, at most."""
_IMPERIAL = (MM_PER_INCH, MM_PER_FOOT, MM_PER_YARD)
_LENGTH_UNITS = "mm, cm, m, in or yd"
_WEIGHT_UNITS = "g, kg, oz or lb"
_QUANTITY = re.compile(r"(?P<number>[-+]?\s*[0-9.,/\s]*[0-9.,])\s*(?P<unit>[^\W\d]+\.?|[\"″”])?")
_MOST_MM, _MOST_GRAMS = 1e12, 1e12
"""Twice round the earth and more: a slip of the keys."""


def parse_length(text: str) -> float:
    """Read a length with its unit, in mm.

    >>> parse_length("60in"), parse_length("1,5 m"), parse_length("1/2in")
    (1524.0, 1500.0, 12.7)

    Raises:
        TypedError: no unit, an unknown unit, or not a length above zero.

    """
    return _quantity(text, _MM_PER_UNIT, "length", _LENGTH_UNITS, "152cm or 60in", _MOST_MM)


def parse_lengths(text: str) -> list[float]:
    """Read a list of lengths, each with its unit, in mm.

    >>> parse_lengths("82cm, 81,5cm")
    [820.0, 815.0]

    Raises:
        TypedError: as :func:`parse_length`.

    """
    return [parse_length(item) for item in parse_list(text)]


def parse_weight(text: str) -> float:
    """Read a weight with its unit, in grams.

    >>> parse_weight("100 g")
    100.0

    Raises:
        TypedError: no unit, an unknown unit, or not a weight above zero.

    """
    return _quantity(text, _GRAMS_PER_UNIT, "weight", _WEIGHT_UNITS, "87g or 3.5oz", _MOST_GRAMS)


def _quantity(
    text: str, units: dict[str, float], what: str, unit_names: str, example: str, most: float
) -> float:
    """Number times unit, checked; ``what`` names the quantity in the sentence."""
    typed = text.strip()
    found = _QUANTITY.fullmatch(spelled_out(text))
    if found is None:
        raise TypedError(
            f"{quoted(typed)} is not a {what}: type a number and a unit, as {example}."
        )
    unit = (found["unit"] or "").rstrip(".").lower()
    if not unit:
        raise TypedError(
            f"{quoted(typed)} has no unit: add {unit_names} after the number, as {example}."
        )
    if unit not in units:
        raise TypedError(
            f"{quoted(found['unit'])} in {quoted(typed)} is not a unit of {what}: use {unit_names}."
        )
    value = parse_number(found["number"].strip(), example) * units[unit]
    if not value > 0:
        raise TypedError(f"{quoted(typed)} is not a {what} above zero: type it as {example}.")
    if value > most:
        raise TypedError(f"{quoted(typed)} is too large for a {what}: type it as {example}.")
    return value


def length_system(text: str) -> System:
    """Say whether a length that can be read was typed in metric or imperial units.

    >>> length_system("60in"), length_system("152cm")
    ('imperial', 'metric')
    """
    found = _QUANTITY.fullmatch(spelled_out(text))
    unit = ((found and found["unit"]) or "").rstrip(".").lower()
    return "imperial" if _MM_PER_UNIT.get(unit) in _IMPERIAL else "metric"


_NUMBERED = re.compile(r"(us|uk|jp)\s*(?:no\.?|size|#)?\s*([\d½./ ]+)", re.IGNORECASE)
_METRIC = re.compile(
    r"([^a-z(]*?[0-9.,])\s*(?:mm|millimet(?:re|er)s?)\.?(?:\s*\(.*\))?", re.IGNORECASE
)
_BARE = re.compile(r"[0-9]+(?:[.,/ ][0-9]+)*|[0-9]*\s*½")
_SIZES = "4.5mm, US 7, UK 7 or JP 8"


def parse_needle(text: str, *, bare_mm: bool = False) -> float:
    """Read a needle size, in mm: "4.5mm", "US 7", "UK 7" or "JP 8".

    A bare number is refused, since it may be millimetres or a number of any system;
    ``bare_mm`` takes it for millimetres where the unit stands elsewhere, as in the name
    of a column.

    >>> parse_needle("US 7"), parse_needle("JP 8"), parse_needle("4,5 mm (US 7)")
    (4.5, 4.5, 4.5)

    Raises:
        TypedError: not a size, not in the table, a bare number, or a number makers do
            not agree on.

    """
    typed = text.strip()
    numbered = _NUMBERED.fullmatch(typed)
    if numbered is not None:
        return _from_number(numbered[1].upper(), _plain_number(numbered[2]))
    spelled = spelled_out(text)
    metric = _METRIC.fullmatch(spelled)
    if metric is None and _BARE.fullmatch(typed):
        if not bare_mm:
            raise TypedError(_bare_needle(typed))
        return _needle_mm(parse_number(typed, "4.5"))
    if metric is None:
        raise TypedError(f"{quoted(typed)} is not a needle size: type it as {_SIZES}.")
    return _needle_mm(parse_number(metric[1], "4.5mm"))


def _needle_mm(mm: float) -> float:
    if not SMALLEST_NEEDLE_MM <= mm <= LARGEST_NEEDLE_MM:
        raise TypedError(
            f"A needle of {mm:g} mm is outside {SMALLEST_NEEDLE_MM:g} to {LARGEST_NEEDLE_MM:g} "
            "mm: check the size, in millimetres, or type it as US 7."
        )
    return mm


def _bare_needle(typed: str) -> str:
    """Ask which size a bare number is, of those there are."""
    number = _plain_number(typed.replace(",", "."))
    meant = []
    with contextlib.suppress(TypedError):
        meant.append(f"{_needle_mm(parse_number(typed)):g} mm")
    if any(number == size.us for size in NEEDLE_TABLE) or number in DISPUTED_US:
        meant.append(f"US {number}")
    if any(number == size.uk for size in NEEDLE_TABLE):
        meant.append(f"UK {number}")
    if not meant:
        return f"{quoted(typed)} is not a needle size: type it as {_SIZES}."
    types = " or ".join(m.replace(" mm", "mm") for m in meant[:2])
    if len(meant) == 1:
        return f"{quoted(typed)} has no unit: type {types}."
    is_that = f"{', '.join(meant[:-1])} or {meant[-1]}"
    return f"{quoted(typed)} has no unit: is that {is_that}? Type {types}."


def _plain_number(text: str) -> str:
    """The number as the table writes it: "10½" and "10 1/2" are "10.5"."""
    number = re.sub(r"\s*(?:½|\b1/2)\s*$", ".5", text.strip())
    return number if "." not in number else number.rstrip("0").rstrip(".")


def _from_number(system: str, number: str) -> float:
    if system == "JP":
        if number.isdecimal() and int(number[:3]) < len(JAPANESE_SIZES_MM):
            return JAPANESE_SIZES_MM[int(number)]
        raise TypedError(
            f"There is no Japanese needle {quoted(number)}; the numbers run from JP 0 to JP 15. "
            "Type the millimetres instead, as 4.5mm."
        )
    if system == "US" and number in DISPUTED_US:
        raise TypedError(
            f"US {number} is {DISPUTED_US[number]} depending on the maker: read the millimetres "
            "off the needle and type those."
        )
    for size in NEEDLE_TABLE:
        if number == (size.us if system == "US" else size.uk):
            return size.mm
    raise TypedError(
        f"There is no {system} needle {quoted(number)} in the table: type the millimetres, as "
        "4.5mm."
    )


class GivenNeedle(NamedTuple):
    """A needle as it was given."""

    mm: float
    text: str


def given_needle(text: str) -> GivenNeedle:
    """Read a needle size and keep what was typed for it; raises as :func:`parse_needle`.

    >>> given_needle(" US 8")
    GivenNeedle(mm=5.0, text='US 8')
    """
    return GivenNeedle(parse_needle(text), text.strip())


def needle_system(text: str) -> str:
    """Say in which system a needle that can be read was typed: "mm", "US", "UK" or "JP".

    >>> needle_system("us 7"), needle_system("4.5mm")
    ('US', 'mm')
    """
    numbered = _NUMBERED.fullmatch(text.strip())
    return "mm" if numbered is None else numbered[1].upper()


def parse_needles(text: str, *, bare_mm: bool = False) -> tuple[float, ...]:
    """Read a list of needle sizes, mm, each once, ascending.

    >>> parse_needles("4,5mm, US 6; 5mm")
    (4.0, 4.5, 5.0)

    Raises:
        TypedError: as :func:`parse_needle`.

    """
    if bare_mm and re.fullmatch(r"\s*[0-9]+,[0-9]+\s*", text):  # 3,5: as a list it would be asked
        return (parse_needle(text, bare_mm=True),)
    return tuple(sorted({parse_needle(item, bare_mm=bare_mm) for item in parse_list(text)}))


_COUNT = r"((?:[0-9]+(?:[.,][0-9]+)?)(?:\s+[0-9]{1,3}/[0-9]{1,3})?)"
_GAUGE = re.compile(
    rf"{_COUNT}\s*(?:stitches|stitch|sts|st|s)?\.?"
    rf"(?:\s*(?:,|x|×|&|\+|\band\b|\bby\b)?\s*{_COUNT}\s*(?:rounds?|rows?|rnds?|r)\.?)?"
    r"\s*(?:/|=|\bover\b|\bper\b|\bto\b|\bin\b)\s*(?P<over>.+)",
    re.IGNORECASE,
)


def parse_gauge(text: str) -> Gauge:
    """Read a gauge: "20 st/4in", "20 st/10cm" or "20 st 28 rows/10cm".

    >>> parse_gauge("20 st/10cm").stitches_per_cm
    2.0

    Raises:
        TypedError: not a gauge, no unit, or a count no hand knits.

    """
    found = _GAUGE.fullmatch(spelled_out(text))
    if found is None:
        raise TypedError(
            f"{quoted(text.strip())} is not a gauge: type it as 20 st/4in, 20 st/10cm "
            "or 20 st 28 rows/10cm."
        )
    over = found["over"].strip()
    # "5 st/in" means over one inch
    over_cm = parse_length(over if any(c.isdigit() for c in over) else f"1 {over}") / 10
    stitches = parse_number(found[1], "20")
    rounds = None if found[2] is None else parse_number(found[2], "28") / over_cm
    try:
        return Gauge(stitches / over_cm, rounds)
    except YarnError as error:
        raise TypedError(as_sentence(error)) from None


def gauge_system(text: str) -> System:
    """Say whether a gauge that can be read was typed over centimetres or inches.

    >>> gauge_system("20 st/4in"), gauge_system("5 st/inch")
    ('imperial', 'imperial')
    """
    found = _GAUGE.fullmatch(spelled_out(text))
    over = found["over"].strip() if found else ""
    return length_system(over if any(c.isdigit() for c in over) else f"1 {over}")


def gauge_text(stitches_per_cm: float | None, rounds_per_cm: float | None) -> str:
    """Write a gauge as knitters do if that reads back exactly, else with all its digits."""
    wanted = (stitches_per_cm, rounds_per_cm)
    if stitches_per_cm is None:
        return ""
    text = ""
    for over, over_cm, places in (("10cm", 10.0, 2), ("4in", 10.16, 2), ("1cm", 1.0, 20)):
        stitches, rounds = (
            "" if per_cm is None else format_number(round(per_cm * over_cm, places))
            for per_cm in wanted
        )
        text = f"{stitches} st{rounds and f' {rounds} rows'}/{over}"
        if float(stitches) == 0:  # rounded away
            continue
        read = parse_gauge(text)
        if (read.stitches_per_cm, read.rounds_per_cm) == wanted:
            break
    return text


_MULTIPLE = re.compile(r"(?P<multiple>[^+]*[^+\s])\s*\+\s*(?P<over>[^+]+)")
FIXED = "fixed"
"""Typed for a stitch count that cannot change."""


def parse_multiple(text: str) -> tuple[int, int]:
    """Read a stitch pattern's multiple, and the stitches over; (0, 0) for a fixed count.

    >>> parse_multiple("8"), parse_multiple("8 + 1"), parse_multiple("fixed")
    ((8, 0), (8, 1), (0, 0))

    Raises:
        TypedError: it is none.

    """
    if text.strip().lower() in (FIXED, "0"):
        return 0, 0
    example = "8, as 8+1 with one over, or as fixed where the count cannot change"
    found = _MULTIPLE.fullmatch(text.strip())
    typed, beyond = (found["multiple"], found["over"]) if found else (text, "0")
    multiple = parse_whole(typed, example, least=1, most=MOST_STITCHES, what="multiple")
    over = parse_whole(beyond, example, least=0, most=MOST_STITCHES, what="stitches over")
    return multiple, over


def multiple_text(multiple: int, over: int = 0) -> str:
    """A multiple as :func:`parse_multiple` reads it.

    >>> multiple_text(8, 1), multiple_text(0)
    ('8+1', 'fixed')
    """
    if not multiple:
        return FIXED
    return f"{multiple}+{over}" if over else str(multiple)


def parse_skein(text: str) -> tuple[float, float]:
    """Read a skein's label: length in mm and weight in grams.

    >>> parse_skein("400m/100g")
    (400000.0, 100.0)

    Raises:
        TypedError: it is none.

    """
    length, stroke, weight = text.partition("/")
    if not stroke:
        raise TypedError(
            f"{quoted(text.strip())} is no skein; type its length, a stroke and its weight, as "
            "400m/100g."
        )
    return parse_length(length), parse_weight(weight)


def parse_stitches(text: str, example: str = "3") -> float:
    """Read a number of stitches, with or without the word.

    >>> parse_stitches("2,5 stitches")
    2.5

    Raises:
        TypedError: it is none.

    """
    return parse_number(re.sub(r"\s*(?:sts?|stitch(?:es)?)\.?\s*$", "", text, flags=re.I), example)


def parse_round(text: str, *, least: int = 1, most: int = MOST_ROUNDS, what: str = "round") -> int:
    """Read a round's number, or how many there are, from ``least``.

    >>> parse_round("12")
    12

    Raises:
        TypedError: it is none.

    """
    return parse_whole(text, "12", least=least, most=most, what=what)


@dataclass(frozen=True, slots=True)
class Units:
    """What she measures in; other values are shown to her in the same."""

    lengths: System = "metric"
    needles: str = "mm"
    """The numbers she has for needles: "mm", "US", "UK" or "JP"."""

    def length(self, mm: float) -> str:
        """A length in her units.

        >>> Units("imperial").length(1524)
        '60 in'
        """
        return format_length(mm, self.lengths)

    def gauge(self, gauge: Gauge) -> str:
        """A gauge over 10 cm, or over 4 inches."""
        return format_gauge(gauge, self.lengths)

    def short_needle(self, mm: float) -> str:
        """A needle by the number she has for it and nothing else, as it may be typed.

        >>> Units(needles="US").short_needle(5), Units(needles="US").short_needle(4.3)
        ('US 8', '4.3 mm')
        """
        return needle_number(mm, self.needles) or f"{mm:g} mm"

    def needle(self, mm: float, given: str | None = None) -> str:
        """A needle by the number she has for it, the millimetres beside.

        ``given`` is what she typed for this one, which comes before what she has otherwise.

        >>> Units(needles="US").needle(4.5), Units().needle(4.5), Units(needles="US").needle(4.3)
        ('US 7 (4.5 mm)', '4.5 mm', '4.3 mm')
        """
        system = self.needles if given is None else needle_system(given)
        name = needle_number(mm, system)
        return f"{mm:g} mm" if name is None else f"{name} ({mm:g} mm)"
