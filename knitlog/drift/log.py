"""What the fit reads: a plain record of where the colour fell.

Pure data, no journal: a notebook can build one by hand.  Stitch positions are
counted in knitting order from the beginning of the round and wrap at the
stitch count, as a knitter counts them; :mod:`knitlog.drift` unwraps them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt


class LogError(ValueError):
    """A log the fit cannot read; the message says what is wrong and what to put instead."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One colour change, as read off the needles."""

    round: int
    """Round (or row) it was read in, from 1."""
    stitch: float
    """Position, 0 to the stitch count; halves allowed.  For flat work counted from the
    right edge as seen from the right side."""
    change: int = 1
    """Which colour change of the round, from 1."""
    sitting: int | None = None
    """Which sitting it was knitted in (any whole number), if known."""
    period_shift: int | None = None
    """If the knitter has said which repeat of the colour run she read: how many visible
    repeats to add to ``stitch``.  None lets the fit work it out."""


@dataclass(frozen=True, slots=True)
class Stint:
    """A run of rounds with the same needle, stitch count and way of working."""

    first_round: int
    """First round worked this way."""
    stitches: int
    """Stitches in a round."""
    needle_mm: float | None = None
    """Needle size, mm, if known."""


@dataclass(frozen=True, slots=True)
class Fix:
    """An offset taken out by hand: tapestry needle, or ripped back and re-knit."""

    after_round: int
    """The last round read before the fix; the next one feels it."""
    taken_out: float
    """Stitches of offset taken out; positive pulls a late colour change back."""
    kind: str = "tapestry needle"
    """What was done, in plain words."""


@dataclass(frozen=True, slots=True)
class TensionAsked:
    """What is asked of the hand from a round on, until the next is asked."""

    first_round: int
    """First round knitted so, from its beginning."""
    percent: float
    """Yarn per stitch asked for against her usual, %; + is looser, 0 as usual."""


@dataclass(frozen=True, slots=True)
class NewHome:
    """The place taken anew: what was an offset is home from a round on."""

    first_round: int
    """First round measured against the new place."""
    stitch: float | None = None
    """The new place of the first colour change, stitches; None where it is the place the
    change has in ``first_round``, as fitted."""


@dataclass(frozen=True, slots=True)
class DriftLog:
    """One project's readings, with what the geometry needs to know."""

    readings: tuple[Reading, ...]
    """All readings, any order; rounds may be missing."""
    stints: tuple[Stint, ...]
    """At least one, ascending by ``first_round``; the first covers all rounds before it."""
    fixes: tuple[Fix, ...] = ()
    """Fixes made, any order."""
    repeats: float = 1
    """Colour repeats meant to go into one round, k (whole; 0.5 may serve flat work)."""
    repeat_length_mm: float | None = None
    """Length of one repeat along the yarn, mm, if known."""
    target_drift: float = 0.0
    """Wanted drift, stitches a round (other than 0 for a deliberate spiral)."""
    homes: dict[int, float] = field(default_factory=dict)
    """Where each colour change should fall, by its number, if the knitter has said so;
    otherwise the first round logged is taken to be in place."""
    change_marks_mm: dict[int, float] = field(default_factory=dict)
    """Where each colour change lies along the yarn, mm from the first, by its number; lets
    the fit say which part of the round takes more yarn."""
    flat: bool = False
    """True for rows worked back and forth."""
    yarn_thickness_mm: float | None = None
    """Yarn thickness, mm, for the needle-step prior; worked out or assumed if None."""
    pattern_rounds: int | None = None
    """Rounds after which the stitch pattern begins anew; 1 where each is like the others,
    None where nobody said (2 is taken for flat work, none for work in the round)."""
    tension: tuple[TensionAsked, ...] = ()
    """What was asked of the hand, any order."""
    new_homes: tuple[NewHome, ...] = ()
    """Places taken anew, any order; offsets of earlier rounds keep the old home."""

    @classmethod
    def from_arrays(
        cls,
        rounds: npt.ArrayLike,
        positions: npt.ArrayLike,
        stitches: npt.ArrayLike,
        *,
        changes: npt.ArrayLike = 1,
        needle_mm: npt.ArrayLike | None = None,
        sittings: npt.ArrayLike | None = None,
        fixes: npt.ArrayLike = (),
        **known: Any,
    ) -> DriftLog:
        """Return a log of n readings held in arrays.

        Args:
            rounds: round of each reading, shape (n,), whole numbers from 1, any order.
            positions: where the colour change fell, shape (n,), stitches in knitting order.
            stitches: stitch count of a round, one number or shape (n,), as it was in the round
                of each reading; a new stint begins where it changes.
            changes: which colour change of the round, one number or shape (n,), from 1.
            needle_mm: needle, mm, one number or shape (n,); not a number where not known.
            sittings: which sitting each round was knitted in, shape (n,), whole numbers.
            fixes: shape (f, 2): the last round read before each fix, and the stitches of offset
                it took out.
            **known: any other field of a log by its name, such as ``repeat_length_mm``.

        Raises:
            LogError: the arrays do not go together, or hold what cannot be.

        >>> DriftLog.from_arrays([1, 2, 3], [31.0, 33.5, 36.0], 96).stints
        (Stint(first_round=1, stitches=96, needle_mm=None),)

        """
        import numpy as np

        at = _whole("rounds", rounds)
        n = len(at)
        where = _column("positions", positions, n)
        counts = _whole("stitches", _column("stitches", stitches, n))
        which = _whole("changes", _column("changes", changes, n))
        needles = _column("needle_mm", np.nan if needle_mm is None else needle_mm, n, gaps=True)
        sat = None if sittings is None else _whole("sittings", _column("sittings", sittings, n))
        made = np.asarray(fixes, dtype=float).reshape(-1, 2)
        stints: list[Stint] = []
        for i in np.argsort(at, kind="stable").tolist():
            needle = None if np.isnan(needles[i]) else float(needles[i])
            if not stints or (counts[i], needle) != (stints[-1].stitches, stints[-1].needle_mm):
                stints.append(Stint(int(at[i]) if stints else 1, int(counts[i]), needle))
        return cls(
            readings=tuple(
                Reading(
                    int(at[i]), float(where[i]), int(which[i]), None if sat is None else int(sat[i])
                )
                for i in range(n)
            ),
            stints=tuple(stints),
            fixes=tuple(Fix(int(after), float(out)) for after, out in made),
            **known,
        )


def _column(
    name: str, values: npt.ArrayLike, n: int, *, gaps: bool = False
) -> npt.NDArray[np.float64]:
    """Give one number a reading, shape (n,); one number stands for all."""
    import numpy as np

    found = np.asarray(values, dtype=float)
    if found.ndim > 1 or found.size not in (1, n):
        raise LogError(f"{name} has the shape {found.shape}: give one number, or {n}.")
    if not gaps and not np.all(np.isfinite(found)):
        raise LogError(f"{name} holds what is not a number: leave that reading out.")
    return np.broadcast_to(found.ravel() if found.ndim else found, (n,))


def _whole(name: str, values: npt.ArrayLike) -> npt.NDArray[np.int64]:
    """Give whole numbers, shape (n,)."""
    import numpy as np

    found = np.atleast_1d(np.asarray(values, dtype=float))
    if found.ndim > 1 or not found.size:
        raise LogError(f"{name} has the shape {found.shape}: give one number a reading.")
    if not np.all(np.isfinite(found) & (found == np.round(found))):
        raise LogError(f"{name} must be whole numbers.")
    return found.astype(np.int64)
