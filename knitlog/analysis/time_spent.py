"""Where the time went, as far as the entries tell.

Within a sitting the time between two rounds logged is the knitting of the later one, with
whatever else was done in between.  Where a fix or a change was logged in the gap, what the
gap has over a usual round is its work; where she noted a fix's minutes, hers count.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime

    from knitlog.journal.events import FixMade
    from knitlog.journal.project import ProjectState

_LONGEST_ROUND = 120.0
"""A longer gap between two rounds of one sitting is a rest, minutes (own judgement)."""


@dataclass(frozen=True, slots=True)
class TimeSpent:
    """Minutes, from the times of the entries."""

    days: int
    """From the first entry to the last, both counted."""
    sittings: int
    in_sittings: float
    """Minutes from the first to the last entry of each sitting, together."""
    knitting: float
    """Minutes of rounds, at her usual pace."""
    fixing: float
    """Minutes of fixes by hand."""
    changing: float
    """Minutes of needle and stitch-count changes."""
    elsewhere: float
    """Minutes the entries do not account for."""
    round_minutes: float | None
    """Usual minutes a round (median); None where no two rounds follow in one sitting."""


def time_spent(state: ProjectState) -> TimeSpent | None:
    """Return where the time went; None where the rounds came without times."""
    timed = [e for e in state.entries if e.sitting and not e.corrected]
    if not timed:
        return None
    gaps = [
        (a.round, b.round, _minutes(a.at, b.at))
        for a, b in pairwise(timed)
        if a.sitting == b.sitting and b.at >= a.at
    ]
    gaps = [gap for gap in gaps if gap[2] <= _LONGEST_ROUND]
    changes = {s.first_round for s in state.stints[1:]}
    plain = [
        minutes / (b - a)
        for a, b, minutes in gaps
        if not _fixes_between(state, a, b) and not changes & set(range(a + 1, b + 1))
    ]
    pace = median(plain) if plain else None
    knitting = fixing = changing = 0.0
    for a, b, minutes in gaps:
        usual = min(minutes, (b - a) * (pace or minutes))
        over = minutes - usual
        here = _fixes_between(state, a, b)
        noted = sum(f.minutes for f in here if f.minutes is not None)
        if here:
            spent = noted if noted else over
            fixing += spent
            over = max(over - spent, 0.0)
        if changes & set(range(a + 1, b + 1)):
            changing += over
            over = 0.0
        knitting += usual + over
    # fixes noted with minutes at the end of a sitting lie in no gap
    between = {f.id for a, b, _ in gaps for f in _fixes_between(state, a, b)}
    fixing += sum(f.minutes or 0.0 for f in state.fixes if f.id not in between)
    whole = sum(s.length.total_seconds() / 60.0 for s in state.sittings)
    first, last = timed[0].at, timed[-1].at
    # the first round of each sitting was begun before its entry
    if pace is not None:
        knitting += pace * len({e.sitting for e in timed})
    return TimeSpent(
        days=(last.date() - first.date()).days + 1,
        sittings=len(state.sittings),
        in_sittings=whole,
        knitting=knitting,
        fixing=fixing,
        changing=changing,
        elsewhere=max(whole - knitting - fixing - changing, 0.0),
        round_minutes=pace,
    )


def _fixes_between(state: ProjectState, a: int, b: int) -> list[FixMade]:
    return [f for f in state.fixes if a <= f.after_round < b]


def _minutes(a: datetime, b: datetime) -> float:
    return (b - a).total_seconds() / 60.0
