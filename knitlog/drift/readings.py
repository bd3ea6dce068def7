"""The log's readings as arrays: checked, and in knitting order."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from knitlog.drift.fit_result import FloatArray, IntArray
from knitlog.drift.log import DriftLog, LogError

_LONGEST = 20_000
_MOST_ASKED = 50.0
"""Of a tension asked, %."""


@dataclass(frozen=True, slots=True)
class Sorted:
    """The readings in knitting order, as arrays of shape (m,)."""

    order: IntArray
    """Index into the log's readings."""
    round: IntArray
    change: IntArray
    """Column of each reading, from 0, in order of the changes' numbers."""
    stitch: FloatArray
    """Position in knitting order, stitches."""
    stitches: FloatArray
    """Stitches in that round."""
    period: FloatArray
    """Visible repeat, stitches."""
    stint: IntArray
    """Index of the stint."""
    sitting: IntArray | None
    """Sitting of each reading; None unless all are known."""
    changes: tuple[int, ...]
    """The changes' numbers, a column each."""


def sort_readings(log: DriftLog) -> Sorted:
    """Return the log's readings in knitting order; flat work is turned the knitting way.

    Raises:
        LogError: the log cannot be read.

    """
    _check_setting(log)
    numbers = [r.round for r in log.readings]
    if min(numbers) < 1 or max(numbers) > _LONGEST:
        wrong = next(n for n in numbers if not 1 <= n <= _LONGEST)
        raise LogError(
            f"Round {wrong:,} is beyond what can be fitted: rounds from 1 to {_LONGEST:,}."
        )
    rounds = np.array(numbers, dtype=np.int64)
    firsts = np.array([s.first_round for s in log.stints])
    stint = np.maximum(np.searchsorted(firsts, rounds, side="right") - 1, 0)
    counts = np.array([float(s.stitches) for s in log.stints])[stint]
    seen = np.array([r.stitch for r in log.readings], dtype=float)
    inside = (seen >= 0.0) & (seen <= counts)
    if not inside.all():
        i = int(np.argmin(inside))
        raise LogError(
            f"Round {numbers[i]}: stitch {seen[i]:g} is outside the round; "
            f"count from 0 to {counts[i]:.0f}."
        )
    if log.flat:
        # wrong-side rows are worked the other way, as seen from the right side
        seen = np.where(rounds % 2 == 0, counts - seen, seen)
    told = [r.change for r in log.readings]
    changes = tuple(sorted(set(told)))
    column = {change: i for i, change in enumerate(changes)}
    columns = np.array([column[change] for change in told], dtype=np.int64)
    order = np.lexsort((columns, rounds))
    rounds, columns = rounds[order], columns[order]
    twice = (rounds[1:] == rounds[:-1]) & (columns[1:] == columns[:-1])
    if twice.any():
        i = int(np.argmax(twice))
        raise LogError(
            f"Round {rounds[i]} has colour change {changes[columns[i]]} twice: "
            "keep one, or number them."
        )
    sittings = [r.sitting for r in log.readings]
    known = [s for s in sittings if s is not None]
    return Sorted(
        order=order,
        round=rounds,
        change=columns,
        stitch=seen[order],
        stitches=counts[order],
        period=(counts / max(log.repeats, 1.0))[order],
        stint=stint[order],
        sitting=np.array(known, dtype=np.int64)[order] if len(known) == len(sittings) else None,
        changes=changes,
    )


def _check_setting(log: DriftLog) -> None:
    if not log.readings:
        raise LogError("There is no reading yet: log where the colour change fell in one round.")
    if not log.stints:
        raise LogError("The stitch count is missing: say how many stitches a round has.")
    if any(s.stitches < 1 for s in log.stints):
        raise LogError("A round needs at least 1 stitch: check the stitch count.")
    if not log.repeats > 0:
        raise LogError("Repeats a round must be above 0, often 1 or 2.")
    if any(b.first_round <= a.first_round for a, b in pairwise(log.stints)):
        raise LogError("Changes of needle or stitch count must be in the order of their rounds.")
    if any(not abs(t.percent) <= _MOST_ASKED for t in log.tension):
        raise LogError(f"A tension asked must lie within {_MOST_ASKED:.0f} %, as 2 or -1.5.")
    if log.pattern_rounds is not None and log.pattern_rounds < 1:
        raise LogError("A pattern has at least 1 round: 1 where every round is alike.")
