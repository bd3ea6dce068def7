"""The needles and stitch counts open to the knitter.

Limits are kept here: needles she owns, the stitch pattern's multiple, and how far the
finished size may change from what was cast on.
"""

from dataclasses import dataclass

from knitlog.advice.belief import Belief
from knitlog.advice.situation import Situation
from knitlog.advice.turns import Turn, turns_on
from knitlog.drift.response import yarn_thickness_mm

LIKELY_ACCOUNT = 0.1
"""An account of the log this likely is reckoned with."""
_NEEDLES = 3
"""Most other needles weighed."""


@dataclass(frozen=True, slots=True)
class Way:
    """A needle and a stitch count."""

    needle_mm: float | None
    stitches: int
    turn: Turn
    """Stitches one turn of the colours makes on this needle, no tension asked."""
    size_change_percent: float
    """Finished width against what was cast on, %."""

    def drift(self, target: float) -> float:
        """Return the expected drift less the target, stitches/round."""
        return self.turn.mean - self.stitches - target


@dataclass(frozen=True, slots=True)
class Ways:
    """Other ways of working."""

    present: Way
    counts: tuple[Way, ...]
    """Other counts on this needle, the one nearest to no drift first."""
    needles: tuple[Way, ...]
    """Other needles at this count, the one nearest to no drift first."""
    both: tuple[Way, ...]
    """Other needles with the count that suits them."""
    too_big: tuple[Way, ...]
    """What the size limit forbids."""


def size_change_percent(situation: Situation, needle_mm: float | None, stitches: int) -> float:
    """Return how much wider than cast on the work becomes, %.

    Width is stitches times stitch width, and a stitch is as much wider as its loop is
    longer (Munden: wales per length = K / loop length).
    """
    log = situation.fit.log
    first = log.stints[0]
    wider = 1.0
    if first.needle_mm and needle_mm:
        y = yarn_thickness_mm(log)
        wider = (needle_mm + y) / (first.needle_mm + y)
    return 100 * (stitches / first.stitches * wider - 1)


def open_ways(situation: Situation, belief: Belief) -> Ways:
    """Return the ways of working worth weighing."""
    here, now = situation.needle_mm, situation.stitches
    target = situation.fit.log.target_drift
    turns = {}
    if here is not None:
        others = tuple(sorted({n for n in situation.needles_owned_mm if n != here}))
        turns = turns_on(situation.fit, belief.now, here, others)

    def way(needle: float | None, stitches: int, turn: Turn) -> Way:
        return Way(needle, stitches, turn, size_change_percent(situation, needle, stitches))

    present = way(here, now, belief.now)
    wanted = [belief.turn_mean - target]
    accounts = [a for a in situation.fit.accounts if a.probability > LIKELY_ACCOUNT]
    if len(accounts) > 1:
        wanted += [situation.stitches + account.drift.mean - target for account in accounts]
    counts = [
        way(here, n, belief.now)
        for n in dict.fromkeys(n for count in wanted for n in _counts(situation, count))
    ]
    needles = [way(size, now, turn) for size, turn in turns.items()]
    both = [
        way(size, n, turn)
        for size, turn in turns.items()
        for n in _counts(situation, turn.mean - target)[:1]
    ]
    # what is no worse than now is not forbidden for being too big already
    most = max(situation.size_limit_percent, abs(present.size_change_percent)) + 1e-9

    def fitting(ways: list[Way]) -> tuple[Way, ...]:
        fit = [w for w in ways if abs(w.size_change_percent) <= most]
        return tuple(sorted(fit, key=lambda w: abs(w.drift(target))))

    too_big = tuple(w for w in (*counts, *needles, *both) if abs(w.size_change_percent) > most)
    return Ways(
        present, fitting(counts), fitting(needles)[:_NEEDLES], fitting(both)[:_NEEDLES], too_big
    )


def _counts(situation: Situation, wanted: float) -> list[int]:
    """Return other counts the pattern allows about the one that would stop the drift."""
    now, multiple = situation.stitches, situation.multiple
    if not situation.count_may_change:
        return []
    nearest = round((wanted - now) / multiple)
    counts = [now + multiple * k for k in (nearest, nearest - 1, nearest + 1) if k]
    return [n for n in counts if n >= 2]
