"""What the advice was a step ago: without the last round, or without what was done since.

The advice holds on to a remedy that costs the same as another, and says what changed when it
lets go.  For that it must know what it said before; a command starts afresh each time, so it is
worked out again from the log as it stood then, and comes out alike wherever it is asked.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from knitlog.advice import Remedy, Situation
    from knitlog.drift import DriftLog


def log_last_time(log: DriftLog) -> DriftLog | None:
    """Return the log as it stood a step ago; None where there was no round to go by.

    What was done since the last round is the last step, if anything was; else that round is.
    """
    rounds = sorted({reading.round for reading in log.readings})
    if not rounds:
        return None
    done_since = any(fix.after_round >= rounds[-1] for fix in log.fixes) or any(
        first > rounds[-1]
        for first in (
            *(stint.first_round for stint in log.stints[1:]),
            *(asked.first_round for asked in log.tension),
            *(home.first_round for home in log.new_homes),
        )
    )
    if not done_since:
        rounds.pop()
    if not rounds:
        return None
    last = rounds[-1]
    return replace(
        log,
        readings=tuple(reading for reading in log.readings if reading.round <= last),
        fixes=tuple(fix for fix in log.fixes if fix.after_round < last),
        stints=log.stints[:1] + tuple(s for s in log.stints[1:] if s.first_round <= last),
        tension=tuple(asked for asked in log.tension if asked.first_round <= last),
        new_homes=tuple(home for home in log.new_homes if home.first_round <= last),
    )


STEPS_BACK = 2
"""What was said a step ago hung on what had been said before that; no further back."""


def remedy_last_time(now: Situation, steps: int = STEPS_BACK) -> Remedy | None:
    """Return what was recommended a step ago in the project that now stands like this."""
    if steps == 0:
        return None
    from knitlog.advice.policy import recommend
    from knitlog.drift import fit

    before = log_last_time(now.fit.log)
    if before is None:
        return None
    stint = before.stints[-1]
    then = replace(
        now,
        fit=fit(before, now.fit.prior),
        stitches=stint.stitches,
        needle_mm=stint.needle_mm or now.needle_mm,
    )
    return recommend(then, previous=remedy_last_time(then, steps - 1))
