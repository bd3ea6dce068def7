"""Numbers and states in plain words, for every screen alike."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from typing import TYPE_CHECKING, Protocol

from knitlog.yarn.units import MM_PER_INCH, MM_PER_YARD, format_length

if TYPE_CHECKING:
    from knitlog.drift import Estimate
    from knitlog.journal.facts import ProjectFacts
    from knitlog.yarn.units import System


class HasStitch(Protocol):
    """Anything with a stitch position."""

    @property
    def stitch(self) -> float:
        """Position in the round."""


_ORDINALS = {
    2: "second",
    3: "third",
    4: "fourth",
    5: "fifth",
    6: "sixth",
    7: "seventh",
    8: "eighth",
}


def signed(number: float) -> str:
    """A number with its sign, as a knitter would write it.

    >>> signed(2.6), signed(-3.0), signed(0.04)
    ('+2.6', '-3', '0')
    """
    rounded = round(number, 1)
    return "0" if rounded == 0 else f"{rounded:+g}"


def plain(number: float) -> str:
    """A number to one decimal, without a needless ``.0``.

    >>> plain(41.5), plain(37.0)
    ('41.5', '37')
    """
    return f"{round(number, 1):g}"


def counted(number: int, one: str, many: str | None = None) -> str:
    """A count with its noun.

    >>> counted(1, "round"), counted(12, "round"), counted(2, "stitch", "stitches")
    ('1 round', '12 rounds', '2 stitches')
    """
    return f"{number} {one}" if number == 1 else f"{number} {many or one + 's'}"


def ordinal(number: int) -> str:
    """A small number as it is counted off.

    >>> ordinal(2), ordinal(4), ordinal(12)
    ('second', 'fourth', '12th')
    """
    return _ORDINALS.get(number, f"{number}th")


def places(positions: Iterable[HasStitch]) -> str:
    """Where the colour changes of a round fell.

    >>> from types import SimpleNamespace as At
    >>> places([At(stitch=37.0), At(stitch=101.5)])
    'stitch 37 and 101.5'
    """
    return "stitch " + " and ".join(plain(position.stitch) for position in positions)


def one_round(facts: ProjectFacts) -> str:
    """What a round is called: a row where the work is flat."""
    return "row" if facts.flat else "round"


def in_rows(words: str, flat: bool) -> str:
    """Our own words as they are said of flat work: row for round, but not in what she typed.

    >>> in_rows("Round 6 is one of 14 rounds around here", flat=True)
    'Row 6 is one of 14 rows around here'
    >>> in_rows("each round out: round-out=2", flat=True)
    'each row out: round-out=2'
    >>> in_rows("'all round' is no round: type the knitter's round", flat=True)
    "'all round' is no row: type the knitter's row"
    >>> in_rows("Round 6", flat=False)
    'Round 6'
    """
    return _QUOTED_OR_ROUND.sub(_row, words) if flat else words


_QUOTED_OR_ROUND = re.compile(r"(?<!\w)'[^']*'(?!\w)|(?<![\w-])([Rr])ound(s?)(?![\w-])")


def _row(found: re.Match[str]) -> str:
    return f"{found[1]}ow{found[2]}" if found[1] else found[0]


def as_known(value: float, sd: float, sign: str = "") -> str:
    """A number with no more digits than its spread leaves known; ``sign`` "+" shows it always.

    The place of the spread's first digit is the last one that says anything (J. R. Taylor, An
    Introduction to Error Analysis, rules 2.5 and 2.9; from memory).

    >>> as_known(20.3871, 0.62), as_known(20.3871, 0.031), as_known(1487.2, 40.0)
    ('20.4', '20.39', '1490')
    """
    if not (sd > 0 and math.isfinite(sd)):
        return f"{value:{sign}g}"
    place = -math.floor(math.log10(sd))
    return f"{round(value, place) + 0.0:{sign}.{max(place, 0)}f}"


def between(e: Estimate, sign: str = "", *, unit: str = "", least: float = 0.0) -> str:
    """A number with its 95 % interval, to the digits that are known, none finer than ``least``.

    >>> from knitlog.drift import Estimate
    >>> between(Estimate(18.568, 0.8, 17.11, 20.29))
    '18.6 (17.1 to 20.3)'
    """
    sd = max(e.sd, least)
    mean, low, high = (as_known(value, sd, sign) for value in (e.mean, e.low95, e.high95))
    return f"{mean}{unit} ({low} to {high})"


def spread(e: Estimate) -> str:
    """The same of what has a direction, its sign shown.

    >>> from knitlog.drift import Estimate
    >>> spread(Estimate(1.2036, 0.21, 0.79, 1.62))
    '+1.2 (+0.8 to +1.6)'
    """
    return between(e, "+")


def about_length(mm: float, system: System) -> str:
    """A length of yarn to what anyone knows of it: whole metres or yards, below that cm or inches.

    >>> about_length(33140, "metric"), about_length(33140, "imperial")
    ('33 m', '36 yd')
    >>> about_length(1402.2, "metric"), about_length(1402.2, "imperial")
    ('140 cm', '55 in')
    """
    if system == "metric":
        step = 1000.0 if abs(mm) >= 10_000 else 10.0
    else:
        step = MM_PER_YARD if abs(mm) >= 3 * MM_PER_YARD else MM_PER_INCH
    return format_length(round(mm / step) * step, system)


def hours(minutes: float) -> str:
    """Minutes as hours and minutes.

    >>> hours(135.2)
    '2 h 15 min'
    """
    whole = round(minutes)
    if whole < 60:
        return f"{whole} min"
    return f"{whole // 60} h {whole % 60:02d} min"
