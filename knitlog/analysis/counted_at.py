"""What the knitter's work is counted at, in minutes: the usual ones and her own.

The journal keeps the few minutes she has told, by short names; the advice wants a
:class:`~knitlog.advice.costs.Costs`.  Here the two meet, so that every screen and command
counts alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from knitlog.journal.minutes import KINDS, WorkKind

if TYPE_CHECKING:
    from knitlog.advice.costs import Costs
    from knitlog.journal.facts import ProjectFacts


@dataclass(frozen=True, slots=True)
class WorkMinutes:
    """One kind of work, and what it is counted at."""

    kind: WorkKind
    """Its name, and what it is."""
    minutes: float
    """What it is counted at."""
    usual: float
    """What it is counted at where she says nothing."""

    @property
    def own(self) -> bool:
        """True where the minutes are hers and not the usual ones."""
        return self.minutes != self.usual


def counted_at(facts: ProjectFacts) -> tuple[WorkMinutes, ...]:
    """Return every kind of work with its minutes, in the order they are shown."""
    from knitlog.advice.costs import Costs

    usual, told = Costs(), facts.minutes or {}
    return tuple(
        WorkMinutes(kind, told.get(kind.name, getattr(usual, kind.cost)), getattr(usual, kind.cost))
        for kind in KINDS
    )


def costs_of(facts: ProjectFacts) -> Costs:
    """Return the costs the advice is to weigh this project by."""
    from knitlog.advice.costs import Costs

    told = facts.minutes or {}
    return Costs(**{kind.cost: told[kind.name] for kind in KINDS if kind.name in told})
