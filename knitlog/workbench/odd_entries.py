"""Whether an entry looks odd enough to ask about before it is taken."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from knitlog.yarn.geometry import to_knitting_order, wrap, wrap_offset

if TYPE_CHECKING:
    from collections.abc import Sequence

    from knitlog.journal.events import Position
    from knitlog.journal.project import ProjectState
    from knitlog.workbench.one_look import Look

_ROUNDS_TO_JUDGE = 3
"""Below so many rounds nothing is odd."""
_ODD_JUMP_SDS = 4.0
_LEAST_ODD_JUMP = 6.0
"""Stitches; a smaller step is never asked about (common practice, no source)."""


def doubt(view: Look, positions: Sequence[Position], round_number: int | None = None) -> str | None:
    """A question to put before an entry is taken, or None when it looks ordinary.

    ``positions``: what is about to be logged, in ``round_number`` or the next round.
    A position far outside what the forecast and this knitter's readings allow is asked
    about, never refused.  Only rounds above the last logged one are held against the
    forecast; a corrected round is her own business.
    """
    fit, state = view.fit, view.state
    number = round_number or state.next_round
    if fit is None or fit.rounds_logged < _ROUNDS_TO_JUDGE or number <= fit.last_round:
        return None
    ahead = number - fit.last_round
    forecast = fit.forecast(ahead)
    stitches = state.stint_of(number).stitches
    homes = _homes(view)
    spread = math.hypot(float(forecast.sd[-1]), fit.reading_noise_sd)
    limit = max(_ODD_JUMP_SDS * spread, _LEAST_ODD_JUMP)
    for position in positions:
        home = homes.get(position.change)
        if home is None:
            continue
        expected = home + float(forecast.mean[-1])
        # positions wrap at the stitch count: the nearest way round counts
        miss = wrap_offset(_along(state, number, position.stitch) - expected, stitches)
        if abs(miss) > limit:
            seen = _along(state, number, wrap(expected, stitches))
            return (
                f"{position.stitch:g} is {abs(miss):.0f} stitches from where the colour should "
                f"fall (about {seen:.0f}): is it right?"
            )
    return None


def _homes(view: Look) -> dict[int, float]:
    """Where each colour change falls at offset 0, in knitting order, by its number."""
    fit, log, state = view.fit, view.log, view.state
    if fit is None or log is None:
        return {}
    path = fit.path
    latest: dict[int, float] = {}
    for reading, offset in zip(log.readings, path.reading_offsets, strict=True):
        stitches = state.stint_of(reading.round).stitches
        latest[reading.change] = wrap(
            _along(state, reading.round, reading.stitch) - float(offset), stitches
        )
    return latest


def _along(state: ProjectState, number: int, seen: float) -> float:
    """A position in knitting order; its own inverse, for flat work mirrors back."""
    if not state.facts.flat:
        return seen
    return to_knitting_order(number, seen, state.stint_of(number).stitches)
