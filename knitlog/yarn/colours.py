"""The colour run: what the yarn shows along one repeat, and what falls where.

A run is a list of segments in the order they come off the ball, repeated for as long
as the yarn lasts.  A palindromic run goes out and comes back: A B C D is then followed
by C B before A comes again, each end met once, so only the way out is written down.
Positions are looked up exactly: each boundary is the correctly rounded sum of the
lengths before it, and taking out whole repeats (a floating remainder) loses nothing.
"""

import math
import re
from bisect import bisect_right
from dataclasses import dataclass

from knitlog.yarn import YarnError
from knitlog.yarn.colour_names import colour_named

_HEX = re.compile(r"#[0-9a-f]{6}")


def parse_colour(text: str) -> str:
    """Read a colour as "#rrggbb": from that, from "#rgb", or from a name.

    >>> parse_colour("#0AF"), parse_colour("Teal")
    ('#00aaff', '#008080')

    Raises:
        YarnError: neither a colour value nor a known name.

    """
    cleaned = text.strip().lower()
    if re.fullmatch(r"#[0-9a-f]{3}", cleaned):
        return "#" + "".join(2 * digit for digit in cleaned[1:])
    if _HEX.fullmatch(cleaned):
        return cleaned
    named = None if cleaned.startswith("#") else colour_named(cleaned)
    if named is not None:
        return named
    raise YarnError(
        f"'{text.strip()}' is not a colour: type it as #cc6677 or as a plain name such as teal"
    )


@dataclass(frozen=True, slots=True)
class ColourSegment:
    """One stretch of a single colour along the yarn."""

    name: str
    """What the knitter calls it."""
    length_mm: float
    """Length along the yarn, mm."""
    colour: str
    """"#rrggbb", small letters, for the screen."""

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise YarnError("a colour needs a name: type one, as rose")
        if not (self.length_mm > 0 and math.isfinite(self.length_mm)):
            raise YarnError(
                f"the length of '{self.name}' must be above zero: type it with its unit, as 30cm"
            )
        if not _HEX.fullmatch(self.colour):
            raise YarnError(
                f"'{self.colour}' is not a colour for '{self.name}': write it as #cc6677"
            )


@dataclass(frozen=True, slots=True)
class ColourRun:
    """One repeat of the yarn's colours."""

    segments: tuple[ColourSegment, ...]
    """In the order they are knitted; for a palindrome, the way out only."""
    palindrome: bool = False
    """True if the run comes back through the same colours before it starts again."""

    def __post_init__(self) -> None:
        if not self.segments:
            raise YarnError("a colour run needs at least one colour: type one, as rose 30cm")

    @property
    def unfolded(self) -> tuple[ColourSegment, ...]:
        """Every segment of one whole repeat, the way back included."""
        if not self.palindrome:
            return self.segments
        # A B C D -> A B C D C B: each end is met once
        return self.segments + self.segments[-2:0:-1]

    @property
    def boundaries_mm(self) -> tuple[float, ...]:
        """Where each segment of :attr:`unfolded` ends, mm from the start of the repeat."""
        lengths = [segment.length_mm for segment in self.unfolded]
        return tuple(math.fsum(lengths[: i + 1]) for i in range(len(lengths)))

    @property
    def repeat_length_mm(self) -> float:
        """Length of one whole repeat, mm."""
        return math.fsum(segment.length_mm for segment in self.unfolded)


def segment_index_at(run: ColourRun, along_mm: float) -> int:
    """Which segment of ``run.unfolded`` lies ``along_mm`` from the start of a repeat.

    A boundary belongs to the segment that begins there.  Any length along the yarn may be
    given, before the start too.

    Raises:
        YarnError: the length is not a finite number.

    """
    if not math.isfinite(along_mm):
        raise YarnError("the length along the yarn must be a plain number of millimetres")
    length = run.repeat_length_mm
    within = along_mm % length
    if within == length:  # a hair before the start rounds up to the whole repeat
        return len(run.unfolded) - 1
    return bisect_right(run.boundaries_mm, within)
