"""What the knitter's work is counted at, in minutes: the usual ones and her own.

The journal keeps the few minutes she has told, by short names; the advice wants a
:class:`~knitlog.advice.costs.Costs`.  Here the two meet, each with the words to show it by,
so that every screen and command counts alike and says so in the same words.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from knitlog.journal.factkeys import format_number

if TYPE_CHECKING:
    from knitlog.advice.costs import Costs
    from knitlog.journal.facts import ProjectFacts

_COSTS = {
    "tapestry": ("tapestry_fix_minutes", "A fix with the tapestry needle"),
    "rip": ("rip_start_minutes", "Ripping back, however little"),
    "ripped-stitch": ("ripped_stitch_minutes", "Each stitch ripped and knit again"),
    "needle": ("needle_change_minutes", "Changing to another needle"),
    "gauge-line": ("gauge_line_minutes", "The line another needle leaves"),
    "count": ("count_change_minutes", "Changing the stitch count"),
    "count-stitch": ("count_change_minutes_per_stitch", "Each stitch added or taken away"),
    "round-out": ("round_out_of_tolerance_minutes", "Each round out of tolerance"),
}
"""Name as typed -> field of the advice's costs, what it is in a knitter's words."""
HEADING = "What work is counted at, in minutes"
"""What is put above them."""
WORTH = (
    "The line and the round are counted at the work you would give to be without them. The "
    "usual minutes are common practice, without a source."
)
"""What else to know of them."""


@dataclass(frozen=True, slots=True)
class WorkMinutes:
    """One kind of work, and what it is counted at."""

    name: str
    """As typed to set it."""
    words: str
    """What it is."""
    minutes: float
    """What it is counted at."""
    usual: float
    """What it is counted at where she says nothing."""

    @property
    def own(self) -> bool:
        """True where the minutes are hers and not the usual ones."""
        return self.minutes != self.usual

    @property
    def whose(self) -> str:
        """The same in words.

        >>> WorkMinutes("needle", "Changing to another needle", 6.0, 4.0).whose
        'yours; usually 4'
        """
        return f"yours; usually {format_number(self.usual)}" if self.own else "usual"


def counted_at(facts: ProjectFacts) -> tuple[WorkMinutes, ...]:
    """Every kind of work with its minutes, in the order they are shown."""
    from knitlog.advice.costs import Costs

    usual, told = Costs(), facts.minutes or {}
    return tuple(
        WorkMinutes(name, words, told.get(name, getattr(usual, field)), getattr(usual, field))
        for name, (field, words) in _COSTS.items()
    )


def costs_of(facts: ProjectFacts) -> Costs:
    """The costs the advice is to weigh this project by."""
    from knitlog.advice.costs import Costs

    return Costs(**{_COSTS[name][0]: minutes for name, minutes in (facts.minutes or {}).items()})
