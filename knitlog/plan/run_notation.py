"""The colour run as a knitter writes it down.

Typed, one repeat along the yarn reads

    rose 30cm, moss 45cm #117733, snow 20cm

with ``and back`` at the end for a run that comes back the way it went.  Behind the length
may stand what the colour looks like, as a value or as a plainer name.  A colour without
takes that of its own name where it stands for one (:mod:`knitlog.yarn.colour_names`), or
the next of a palette told apart by colour-blind eyes too (M. Okabe and K. Ito, Color
Universal Design, 2008).  Measured along a tape, the same run is a list of marks.
"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from knitlog.plan.checks import PlanError
from knitlog.typed.measures import parse_length
from knitlog.yarn.colour_names import colour_named
from knitlog.yarn.colours import ColourRun, ColourSegment, parse_colour
from knitlog.yarn.units import format_length

PALETTE = (
    "#e69f00",
    "#56b4e9",
    "#009e73",
    "#f0e442",
    "#0072b2",
    "#d55e00",
    "#cc79a7",
    "#999999",
)
"""Okabe and Ito's colours, grey in place of black."""

_SPLIT = re.compile(r"[;\n]|,(?!\d)")
_BACK = re.compile(r"^and\s+back$", re.IGNORECASE)
_SEGMENT = re.compile(
    r"^(?P<name>.*?)\s*(?<![\w.,/])"
    r"(?P<length>(?:\d+/\d+|(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:\s+\d+/\d+)?)\s*(?:[a-z]+\.?|[\"″”]))"
    r"(?:\s*(?P<value>\#\w+)|\s+(?P<looks>[^\W\d_][^\d#]*))?$",
    re.IGNORECASE,
)


def parse_colour_run(text: str) -> ColourRun:
    """Read a colour run: "rose 30cm, moss 45cm #117733, snow 20cm, and back".

    >>> run = parse_colour_run("rose 30cm, teal 45cm, ember 20cm brick")
    >>> run.repeat_length_mm, run.segments[1].colour, run.segments[2].colour
    (950.0, '#008080', '#a03623')

    Raises:
        PlanError: an entry is not a name and a length, or there is none.
        YarnError: a length has no unit, or a colour value is not one.

    """
    entries = [entry.strip() for entry in _SPLIT.split(text)]
    entries = [entry for entry in entries if entry]
    palindrome = bool(entries) and _BACK.match(entries[-1]) is not None
    if palindrome:
        entries.pop()
    if not entries:
        raise PlanError("a colour run needs at least one colour: type it as rose 30cm, moss 45cm")
    colours = _ColourBox()
    segments: list[ColourSegment] = []
    for entry in entries:
        match = _SEGMENT.match(entry)
        if match is None or not match["name"]:
            raise PlanError(
                f"'{entry}' is not a colour with its length: type the name, then the length "
                "with its unit, as rose 30cm"
            )
        name = match["name"].strip()
        length = parse_length(match["length"])
        segments.append(
            ColourSegment(name, length, colours.of(name, match["value"] or match["looks"]))
        )
    return ColourRun(tuple(segments), palindrome)


@dataclass(frozen=True, slots=True)
class TapeMark:
    """Where one colour ends, read off a tape laid along the yarn."""

    name: str
    """What the knitter calls the colour."""
    end_mm: float
    """Reading of the tape where it ends, mm."""
    colour: str | None = None
    """Colour value, if she gave one."""


def run_from_marks(marks: Sequence[TapeMark], palindrome: bool = False) -> ColourRun:
    """The colour run of a tape read once along the yarn, from its 0.

    Raises:
        PlanError: no mark, or a mark that does not lie past the one before it.
        YarnError: a colour value is not one.

    """
    if not marks:
        raise PlanError("a colour run needs at least one colour: read off where the first one ends")
    colours = _ColourBox()
    segments: list[ColourSegment] = []
    begin = 0.0
    for mark in marks:
        if not begin < mark.end_mm < math.inf:
            raise PlanError(
                f"'{mark.name}' ends at {format_length(mark.end_mm)}, not past where it begins "
                f"at {format_length(begin)}: read the tape again"
            )
        colour = colours.of(mark.name, mark.colour)
        segments.append(ColourSegment(mark.name, mark.end_mm - begin, colour))
        begin = mark.end_mm
    return ColourRun(tuple(segments), palindrome)


def format_colour_run(run: ColourRun) -> str:
    """A colour run as :func:`parse_colour_run` reads it, lengths rounded for the eye."""
    entries = [f"{s.name} {format_length(s.length_mm)} {s.colour}" for s in run.segments]
    if run.palindrome:
        entries.append("and back")
    return ", ".join(entries)


_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789abcdefghijklmnopqrstuvwxyz"


def lettered(names: Sequence[str]) -> tuple[str, ...]:
    """A letter for each name: one of its own where that is still free; the same for the same.

    >>> lettered(["rose", "moss", "rust", "moss"])
    ('R', 'M', 'U', 'M')
    """
    given: dict[str, str] = {}
    for name in names:
        key = name.casefold()
        if key not in given:
            own = [letter for letter in name.upper() if letter in _LETTERS]
            taken = set(given.values())
            given[key] = next((c for c in (*own, *_LETTERS) if c not in taken), "*")
    return tuple(given[name.casefold()] for name in names)


def unnamed_colours(run: ColourRun) -> tuple[str, ...]:
    """Names for which a colour of the palette stands in: nobody has said what they look like."""
    return tuple(
        dict.fromkeys(
            segment.name
            for segment in run.segments
            if segment.colour in PALETTE and colour_named(segment.name) is None
        )
    )


class _ColourBox:
    """Gives every name one colour, and every new name a new one."""

    def __init__(self) -> None:
        self._known: dict[str, str] = {}

    def of(self, name: str, given: str | None) -> str:
        key = name.casefold()
        if given is not None:
            self._known[key] = parse_colour(given)
        elif key not in self._known:
            self._known[key] = colour_named(name) or self._next()
        return self._known[key]

    def _next(self) -> str:
        """The palette's first colour not yet used, or a used one when all are."""
        taken = set(self._known.values())
        unused = (colour for colour in PALETTE if colour not in taken)
        return next(unused, PALETTE[len(self._known) % len(PALETTE)])
