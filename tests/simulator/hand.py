"""Whose hands these are, and what is on the needles.

A hand here knows nothing of rounds that sum to a path or of noises with names: it lays yarn
into stitches.  Everything it does to the tension is said in percent of yarn per stitch,
+ is looser; on a round of N stitches one percent is about N / 100 stitches of drift the other
way (:func:`percent` turns stitches a round into it).
"""

from dataclasses import dataclass, replace
from typing import Any


@dataclass(frozen=True, slots=True)
class Hand:
    """A knitter's hand; plain and steady by default."""

    yarn_mm: float = 11.90625
    """Yarn she lays into a stitch on ``needle_mm``, mm (128 stitches of 1524 mm)."""
    needle_mm: float = 4.5
    """The needle ``yarn_mm`` was measured on, mm."""
    stitch_percent: float = 6.2
    """Spread of one stitch about its round (6.2 on 128 stitches: 0.7 stitches a round)."""
    round_percent: float = 0.0
    """Spread of a whole round about her usual tension."""
    memory: float = 0.0
    """Correlation of one round's tension with the next round's (AR(1)), 0 to 1."""
    tightening_percent: float = 0.0
    """She knits tighter by this much each round, evenly; below zero looser."""
    creep_percent: float = 0.0
    """Her usual tension wanders: spread of one round's step of a random walk."""
    sitting_percent: float = 0.0
    """Spread of a sitting about her usual tension."""
    rounds_a_sitting: int = 6
    sudden: tuple[tuple[int, float], ...] = ()
    """(first round, percent) by which her tension changes at once; nobody logs it."""
    purl_percent: float = 0.0
    """How much more yarn the wrong-side rows of flat work take than the right-side rows."""
    pattern_percent: tuple[float, ...] = ()
    """What each round of the stitch pattern takes beside the others; the mean is left out."""
    answer: float = 0.6
    """Share she gives of a tension she is asked for."""
    answer_sd: float = 0.1
    """Spread of that share from one asking to the next."""
    needle_answer: float = 1.0
    """Her answer to a needle step, as a share of the loop law's."""
    needle_percent: tuple[tuple[float, float], ...] = ()
    """(needle mm, percent) that one needle does beside its size."""
    fix_shares: tuple[tuple[str, float], ...] = ()
    """(kind of fix, share of what was meant that hers do)."""
    miss_stitches: float = 0.3
    """How far a fix misses however small, stitches."""
    miss_share: float = 0.15
    """How far it misses as a share of it."""
    reading_sd: float = 0.5
    """Spread of a reading, stitches."""
    miscount_rate: float = 0.0
    """Share of readings that are grossly wrong."""
    miscount_range: tuple[float, float] = (5.0, 20.0)
    """Smallest and largest miscount, stitches, either way."""
    rounding: float = 0.0
    """Readings are rounded to multiples of this, stitches; 0 for none."""
    missing_rate: float = 0.0
    """Share of rounds she does not log (never the first)."""
    notes_sittings: bool = False
    """Whether the log says which sitting a reading belongs to."""
    reads_any: bool = False
    """Whether she reads any of the marks in a round, not the one nearest her last reading."""


@dataclass(frozen=True, slots=True)
class Work:
    """What is on the needles."""

    stitches: int = 128
    repeats: float = 1
    """Colour repeats meant for a round, k."""
    repeat_length_mm: float = 1524.0
    repeat_variation: float = 0.0
    """Spread of one dyed repeat's length, as a share of it."""
    needle_mm: float = 4.5
    yarn_thickness_mm: float = 2.2
    rounds: int = 60
    flat: bool = False
    """Rows worked back and forth, read from the right edge."""
    places: tuple[float, ...] = (40.0,)
    """Where each tagged colour change comes up in round 1 and should fall, stitches."""
    places_stated: bool = False
    """Whether the log says so; otherwise the first reading is taken to be in place."""
    begins_off: float = 0.0
    """How far from their places the marks come up in round 1, stitches."""
    target_drift: float = 0.0
    """Wanted drift, stitches a round: the place moves by it."""
    tolerance: float = 3.0
    """Stitches either way that look in line."""
    pattern_rounds: int | None = None
    """Rounds of the stitch pattern, where the log says so."""

    @property
    def target_yarn_mm(self) -> float:
        """Yarn per stitch at which the colours neither gain nor lose, mm."""
        # s* = k L / N
        return self.repeats * self.repeat_length_mm / self.stitches


def percent(stitches_a_round: float, stitches: float = 128.0) -> float:
    """Return a tension error that makes or unmakes this many stitches a round, percent."""
    return 100.0 * stitches_a_round / stitches


def hand_for(work: Work, drift: float = 0.0, tension_noise_sd: float = 0.7, **more: Any) -> Hand:
    """Return a hand that makes ``drift`` on ``work``, each stitch with a slip of its own.

    ``tension_noise_sd`` is what the slips of N stitches come to, stitches a round; ``more``
    are fields of :class:`Hand`.
    """
    hand = Hand(
        # k L = (N + d) s
        yarn_mm=work.repeats * work.repeat_length_mm / (work.stitches + drift),
        needle_mm=work.needle_mm,
        stitch_percent=100.0 * tension_noise_sd / work.stitches**0.5,
    )
    return replace(hand, **more)
