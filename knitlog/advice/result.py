"""What the advice answers: numbers and names; the sentences are the presentation's."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Literal

from knitlog.advice.plans import Plan
from knitlog.advice.remedy import Remedy
from knitlog.advice.situation import Situation

Number = float | int | str | bool


class Refusal(StrEnum):
    """Why a remedy cannot be done here."""

    NO_NEEDLE_TOLD = "needle in use not told"
    NO_NEEDLES_TOLD = "needles at hand not told"
    NO_OTHER_NEEDLE = "no other needle at hand"
    COUNT_FIXED = "stitch count fixed"
    COUNT_CHANGED_BEFORE = "stitch count changed before"
    TOO_BIG = "size would change too much"
    NO_BETTER = "nothing to gain"
    HAND_ENOUGH = "the hand is enough"
    SLIDE_NOT_KNOWN = "slide not known well enough for a line"
    NEEDLE_SUITS = "a needle at hand suits"
    NOT_WORTH_BEGINNING = "slide too small to begin again"
    IN_PLACE = "in place already"
    NEAR_PLACE = "near its place"
    SOON_UNDONE = "slide would soon undo it"
    TOO_SMALL = "less than a stitch"
    TOO_SOON = "too few rounds read"
    JUST_CHANGED = "changed a moment ago"
    NO_ROUNDS_LEFT = "all but knitted"
    WORSE_IN_ONE_ACCOUNT = "worse if what is asked is so"
    AGAINST_THE_SLIDE = "would add to the slide"
    ENOUGH_KNOWN = "enough is known"


@dataclass(frozen=True, slots=True)
class Option:
    """One remedy, worked out for this project."""

    remedy: Remedy
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
    expected_cost: float
    """Minutes of work, and of rounds out of tolerance, lines, jogs at their price; infinite if
    not feasible."""
    plan: Plan | None = None
    """What was weighed; None if not feasible."""
    refusal: Refusal | None = None
    """Why it cannot be done; None if it can."""
    as_good: bool = False
    """It costs about what the recommended one does."""


@dataclass(frozen=True, slots=True)
class AccountQuestion:
    """Two accounts of the log that would have her do different things: only she can tell."""

    kind: Literal["repeat", "miscount", "drift", "jump"]
    """What is asked: which way round a change moved, or whether something happened."""
    round: int | None
    """The round it is about."""
    drifts: tuple[float, float]
    """Drift if it happened, and if it did not, stitches/round."""
    if_so: Option | None = None
    """What to do if it happened; None where that is not known before she has answered."""
    if_not: Option | None = None


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do, and what would change it."""

    situation: Situation = field(repr=False, compare=False)
    """What was asked."""
    recommended: Option
    options: tuple[Option, ...]
    """The recommended one, the others cheapest first, those that cannot be done last."""
    look_again_round: int
    """When to look again."""
    drift: float
    """Drift less the target, as she knits now, stitches/round."""
    drift_sd: float
    offset: float
    """Stitches from their place at the last logged round."""
    question: AccountQuestion | None = None
    """To be asked first."""
    previous: Remedy | None = None
    """What was recommended at the look before, where it was another remedy."""
    foretold: frozenset[Remedy] = frozenset()
    """What may well follow as she goes on so, and is said beforehand."""
    place_in_doubt: bool = False
    """The reading that gave the place is likely a miscount."""
