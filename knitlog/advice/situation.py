"""What the advice is asked."""

from dataclasses import dataclass, field
from itertools import pairwise
from math import isfinite

from knitlog.advice.costs import Costs
from knitlog.advice.limits import Limits
from knitlog.drift.fitted import DriftFit
from knitlog.typed.measures import Units
from knitlog.yarn.gauge import Gauge
from knitlog.yarn.geometry import wrap_offset

USUAL_ROUNDS_LEFT = 40
"""Rounds looked ahead where the knitter has not said how many she plans (common practice)."""
ASKED_IN_FULL = 0.8
"""Of the hand's range: asked for so much, it has been asked for what it has."""
ROUNDS_TO_ANSWER = 4
"""Rounds in which a hand asked in full shows what it gives (common practice, no source)."""


class AdviceError(ValueError):
    """A project that cannot be advised on as described."""


@dataclass(frozen=True, slots=True)
class Situation:
    """A project as it stands, with all that bears on what to do."""

    fit: DriftFit
    """What the log says of the drift, and what was asked of the hand."""
    stitches: int
    """Stitches in a round now."""
    repeats: float = 1
    """Colour repeats meant to go into one round."""
    repeat_length_mm: float | None = None
    """Length of one repeat along the yarn, mm."""
    needle_mm: float | None = None
    """Needle in use, mm."""
    needles_owned_mm: tuple[float, ...] = ()
    """Needles at hand, mm; empty if not said."""
    multiple: int = 1
    """Stitch pattern multiple; 0 where the stitch count cannot change."""
    rounds_planned: int | None = None
    """Rounds the whole project is meant to have."""
    tolerance: float = 3.0
    """Offset the knitter puts up with, stitches either way."""
    gauge: Gauge | None = None
    max_size_change_percent: float | None = None
    """The most the finished size may change from what was cast on, %; None for the usual."""
    yarn_thickness_mm: float | None = None
    costs: Costs = field(default_factory=Costs)
    limits: Limits = field(default_factory=Limits)
    units: Units = field(default_factory=Units)
    """What she measures in, for whoever says the advice."""

    def check(self) -> None:
        """Raise :class:`AdviceError` where tolerance, stitch count or multiple cannot be."""
        if not (isfinite(self.tolerance) and self.tolerance > 0):
            raise AdviceError(
                f"A tolerance of {self.tolerance:g} cannot be met: type how many stitches off "
                "still look right, as 3."
            )
        if self.stitches < 2:
            raise AdviceError("A round needs at least 2 stitches: check the stitch count.")
        if self.multiple < 0:
            raise AdviceError(
                "The stitch pattern's multiple must be 1 or more, or 0 for a fixed count."
            )

    @property
    def offset(self) -> float:
        """Return how far the nearest colour change of its kind is from its place, stitches.

        A whole repeat further on the colours are in place again; a place taken anew in a round
        to come is the one that counts.
        """
        moved = self.fit.offset.mean - self.fit.place_moves
        return wrap_offset(moved, self.stitches / self.repeats)

    @property
    def rounds_left(self) -> int:
        """Return the rounds still to knit."""
        if self.rounds_planned is None:
            return USUAL_ROUNDS_LEFT
        return max(self.rounds_planned - self.fit.last_round, 0)

    @property
    def size_limit_percent(self) -> float:
        """Return the most the size may change, %."""
        if self.max_size_change_percent is None:
            return self.limits.size_change_percent
        return self.max_size_change_percent

    @property
    def count_changes_made(self) -> int:
        """Return how often the stitch count has changed so far."""
        counts = [stint.stitches for stint in self.fit.log.stints]
        return sum(a != b for a, b in pairwise(counts))

    @property
    def count_may_change(self) -> bool:
        """Return whether the stitch count may change now."""
        return self.multiple > 0 and self.count_changes_made < self.limits.count_changes

    @property
    def hand_tried(self) -> bool:
        """Return whether the hand has been asked in full, on these needles, and has answered."""
        log, last = self.fit.log, self.fit.last_round
        full = ASKED_IN_FULL * self.limits.hand_range_percent
        asked = sorted(log.tension, key=lambda t: t.first_round)
        ends = [*(t.first_round for t in asked[1:]), last + 1]
        return any(
            abs(t.percent) >= full
            and min(end, last + 1) - max(t.first_round, log.stints[-1].first_round)
            >= ROUNDS_TO_ANSWER
            for t, end in zip(asked, ends, strict=False)
        )

    @property
    def changed_unread(self) -> bool:
        """Return whether needle or count has just changed and no round read tells of it.

        Another count shows first in the round after the one it was made in, another needle
        in part: one full round is waited for.
        """
        stints = self.fit.log.stints
        return len(stints) > 1 and stints[-1].first_round >= self.fit.last_round
