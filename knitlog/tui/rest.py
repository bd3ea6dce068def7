"""Hands that rest: how long she has knitted without a pause.

Why a line and no more: some forty minutes are long enough for hands and wrists (common practice,
no source), and whoever knows that does not want to be told twice.  ``KNITLOG_REST=off`` keeps
it quiet.
"""

from __future__ import annotations

import os
from datetime import datetime, timedelta

PAUSE = timedelta(minutes=10)
"""So long between two entries is a pause, where a round takes less (common practice)."""
LONG_ENOUGH = timedelta(minutes=40)
WORDS = "Some {minutes} minutes without a pause: shake out your hands. (KNITLOG_REST=off is quiet.)"


class Rest:
    """Follows the rounds as they are logged, and speaks once a sitting."""

    def __init__(self) -> None:
        self._begun: datetime | None = None
        self._last: datetime | None = None
        self._told = os.environ.get("KNITLOG_REST", "").lower() in ("off", "0", "no")
        self._never = self._told

    def logged(self, at: datetime) -> str:
        """Note a round logged at ``at``; a line if it is time to rest, else nothing."""
        if self._last is None or self._begun is None or at - self._last > PAUSE:
            self._begun, self._told = at, self._never
        self._last = at
        knitted = at - self._begun
        if self._told or knitted < LONG_ENOUGH:
            return ""
        self._told = True
        return WORDS.format(minutes=round(knitted.total_seconds() / 300) * 5)
