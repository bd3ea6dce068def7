"""What the fit reads: a plain record of where the colour fell.

Pure data, no journal: a notebook can build one by hand.  Stitch positions are
counted in knitting order from the beginning of the round and wrap at the
stitch count, as a knitter counts them; :mod:`knitlog.drift` unwraps them.
"""

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Reading:
    """One colour change, as read off the needles."""

    round: int
    """Round (or row) it was read in, from 1."""
    stitch: float
    """Position, 0 to the stitch count; halves allowed.  For flat work counted from the
    right edge as seen from the right side."""
    change: int = 1
    """Which colour change of the round, from 1."""
    sitting: int | None = None
    """Which sitting it was knitted in (any whole number), if known."""
    period_shift: int | None = None
    """If the knitter has said which repeat of the colour run she read: how many visible
    repeats to add to ``stitch``.  None lets the fit work it out."""


@dataclass(frozen=True, slots=True)
class Stint:
    """A run of rounds with the same needle, stitch count and way of working."""

    first_round: int
    """First round worked this way."""
    stitches: int
    """Stitches in a round."""
    needle_mm: float | None = None
    """Needle size, mm, if known."""


@dataclass(frozen=True, slots=True)
class Fix:
    """An offset taken out by hand: tapestry needle, or ripped back and re-knit."""

    after_round: int
    """The last round read before the fix; the next one feels it."""
    taken_out: float
    """Stitches of offset taken out; positive pulls a late colour change back."""
    kind: str = "tapestry needle"
    """What was done, in plain words."""


@dataclass(frozen=True, slots=True)
class DriftLog:
    """One project's readings, with what the geometry needs to know."""

    readings: tuple[Reading, ...]
    """All readings, any order; rounds may be missing."""
    stints: tuple[Stint, ...]
    """At least one, ascending by ``first_round``; the first covers all rounds before it."""
    fixes: tuple[Fix, ...] = ()
    """Fixes made, any order."""
    repeats: float = 1
    """Colour repeats meant to go into one round, k (whole; 0.5 may serve flat work)."""
    repeat_length_mm: float | None = None
    """Length of one repeat along the yarn, mm, if known."""
    target_drift: float = 0.0
    """Wanted drift, stitches a round (other than 0 for a deliberate spiral)."""
    homes: dict[int, float] = field(default_factory=dict)
    """Where each colour change should fall, by its number, if the knitter has said so;
    otherwise the first round logged is taken to be in place."""
    change_marks_mm: dict[int, float] = field(default_factory=dict)
    """Where each colour change lies along the yarn, mm from the first, by its number; lets
    the fit say which part of the round takes more yarn."""
    flat: bool = False
    """True for rows worked back and forth."""
    yarn_thickness_mm: float | None = None
    """Yarn thickness, mm, for the needle-step prior; worked out or assumed if None."""
