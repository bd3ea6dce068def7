"""What the advice is asked, and what it answers."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from knitlog.advice.costs import Costs
from knitlog.advice.limits import Limits
from knitlog.advice.remedy import Remedy
from knitlog.drift.fitted import DriftFit
from knitlog.yarn.gauge import Gauge

Number = float | int | str

USUAL_ROUNDS_LEFT = 40
"""Rounds looked ahead where the knitter has not said how many she plans (common practice)."""


@dataclass(frozen=True, slots=True)
class Situation:
    """A project as it stands, with all that bears on what to do."""

    fit: DriftFit
    """What the log says of the drift."""
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


@dataclass(frozen=True, slots=True)
class Option:
    """One remedy, worked out for this project."""

    remedy: Remedy
    title: str
    """A few words: what to do."""
    details: Mapping[str, Number]
    """The numbers, units in their names; see the room's README."""
    share_in_tolerance: float
    """Expected share of the rounds that remain within tolerance, 0 to 1."""
    expected_fixes: float
    """Expected number of times something is mended or changed, this one included."""
    minutes: float
    """Expected work, minutes."""
    size_change_percent: float
    """Change of the finished width against what was cast on, %."""
    feasible: bool
    reason: str
    """Why it stands where it does, or why it cannot be done; one sentence."""
    expected_cost: float
    """Minutes of work, and of rounds out of tolerance and lines across the fabric at their
    price; infinite if not feasible."""


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do, why, and what would change it."""

    recommended: Option
    options: tuple[Option, ...]
    """All remedies, cheapest first, those that cannot be done last."""
    why: str
    """One sentence."""
    would_change: str
    """What would lead to another answer."""
    look_again_round: int
    """When to look again."""
    steps: tuple[str, ...]
    """What to do, in order."""
    changed: str = ""
    """What changed since the last look, if the remedy did; empty if not."""
