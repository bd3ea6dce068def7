"""Rounds that differ by pattern: what each of its p rounds adds to the offset.

The effects a[1] ... a[p] of whole rounds sum to zero and are shrunk to none: normal, of one
spread that is itself integrated out, none at all included (a seasonal of fixed pattern; Harvey
1989, section 2.3; the shrinkage as any hierarchical normal).  Along the strand a reading has
behind it whole rounds, and its own as far as it lies into it.
"""

from functools import cache

import numpy as np

from knitlog.drift.fit_result import FloatArray, IntArray
from knitlog.drift.log import DriftLog
from knitlog.drift.timeline import Spots, Timeline

SEARCHED = (2, 3, 4, 5, 6, 7, 8)
"""Rounds of a pattern nobody told that are looked for."""


_LONGEST = 24
"""Rounds of a pattern beyond which no round is told apart from another."""


def told_pattern(log: DriftLog) -> int | None:
    """Return the rounds of the pattern as told, or as flat work has them; None where unknown."""
    if log.pattern_rounds is not None:
        return log.pattern_rounds if 1 < log.pattern_rounds <= _LONGEST else 1
    return 2 if log.flat else None


@cache
def contrasts(p: int) -> FloatArray:
    """Return an orthonormal basis of effects that sum to zero (Helmert's), shape (p, p - 1).

    Times a normal of unit spread in each column, every effect has a spread of
    sqrt(1 - 1 / p); the basis is scaled so that it is 1.
    """
    from scipy.linalg import helmert

    basis: FloatArray = helmert(p).T / np.sqrt(1.0 - 1.0 / p)
    return basis


def worked(p: int, rounds: IntArray, share: FloatArray) -> FloatArray:
    """Return how often each round of the pattern was worked by a place in ``rounds``.

    ``rounds`` are numbers (round 1 is the first of the pattern), ``share`` how far into them,
    both of shape (m,); the result has shape (m, p), counted from round 1.
    """
    phase = np.arange(p)
    turns, own = np.divmod(rounds - 1, p)
    done = (turns[:, None] + (phase < own[:, None])).astype(float)
    done[np.arange(len(own)), own] += share
    even: FloatArray = done - ((rounds - 1 + share) / p)[:, None]
    return even


def phase_columns(line: Timeline, p: int, spots: Spots) -> FloatArray:
    """Return the pattern's contrasts at ``spots``, shape (m, p - 1), 0 at each first reading."""
    if p < 2:
        return np.zeros((len(spots.round), 0))
    own, first = line.spots, np.unique(line.readings.change, return_index=True)[1]
    begin = worked(p, own.round[first], own.share[first])
    columns: FloatArray = (worked(p, spots.round, spots.share) - begin[spots.column]) @ contrasts(p)
    return columns
