"""The unwrapped readings on their path, and what was told of the rounds between them.

Counted along the strand: between one reading and the next lie the rest of the one's round and
the beginning of the other's, so what begins with a round shows in that round's reading only as
far as the reading lies into the round, and in the next wholly.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from knitlog.drift.fit_result import FloatArray, IntArray
from knitlog.drift.log import DriftLog
from knitlog.drift.readings import Sorted

_MOST_APART = 0.45
"""Drift, as a share of the stitches, up to which marks over the edge are told along the strand."""
_ABOUT = 8
"""Readings either side from which the drift at a wrap is taken."""


@dataclass(frozen=True, eq=False)
class Timeline:
    """The unwrapped readings on their path."""

    log: DriftLog
    readings: Sorted
    unwrapped: FloatArray
    """Positions over the edges of the rounds, stitches, shape (m,)."""
    at: IntArray
    """Rounds since the first logged one, shape (m,): the path index."""
    apart: FloatArray
    """Of what they lie over the edge, stitches that are no whole visible repeats of their round,
    shape (m,)."""

    @property
    def first_round(self) -> int:
        """Return the number of the first round logged."""
        return int(self.readings.round[0])

    @property
    def last(self) -> int:
        """Return the path index of the last logged round."""
        return int(self.at[-1])

    @property
    def rounds(self) -> int:
        """Return the unknown rounds of the path: all but the first, at least one."""
        return max(self.last, 1)

    @cached_property
    def y(self) -> FloatArray:
        """Return the positions less the target's own drift, stitches, shape (m,)."""
        return self.unwrapped - self.log.target_drift * self.at

    @cached_property
    def counts(self) -> FloatArray:
        """Return the stitches of each stint."""
        return np.array([float(s.stitches) for s in self.log.stints])

    def stint_at(self, rounds: IntArray) -> IntArray:
        """Return the stint of each of ``rounds`` (numbers)."""
        firsts = np.array([s.first_round for s in self.log.stints])
        stints: IntArray = np.maximum(np.searchsorted(firsts, rounds, side="right") - 1, 0)
        return stints

    def stitches_at(self, rounds: IntArray) -> FloatArray:
        """Return the stitches of each of ``rounds`` (numbers)."""
        return self.counts[self.stint_at(rounds)]

    @cached_property
    def share(self) -> FloatArray:
        """Return how far into its round each reading lies, 0 to 1, shape (m,)."""
        return self.readings.stitch / self.readings.stitches

    @cached_property
    def _of_columns(self) -> list[tuple[IntArray, IntArray]]:
        """Return the readings of each colour change, and their rounds."""
        each = (self.readings.change == c for c in range(len(self.readings.changes)))
        return [(np.flatnonzero(mine), self.readings.round[mine]) for mine in each]

    def share_in(self, rounds: IntArray, column: int) -> FloatArray:
        """Return how far into each of ``rounds`` a colour change lies: as its nearest reading."""
        mine, read = self._of_columns[column]
        after = np.minimum(np.searchsorted(read, rounds), len(mine) - 1)
        before = np.maximum(after - 1, 0)
        near = np.where(rounds - read[before] < read[after] - rounds, before, after)
        return self.share[mine[near]]

    def since(self, number: int, spots: "Spots") -> FloatArray:
        """Return the rounds worked from the beginning of round ``number`` to each of ``spots``.

        Shape (m,); 0 for those before it.
        """
        begun = spots.round >= number
        worked = np.where(begun, spots.round - number, 0.0)
        into = [self._share_in(number, c) for c in range(len(self.readings.changes))]
        worked[begun] += np.array(into)[spots.column[begun]]
        return worked

    def _share_in(self, number: int, column: int) -> float:
        """Return :meth:`share_in` of one round."""
        return float(self.share_in(np.array([number]), column)[0])

    def apart_at(self, rounds: IntArray, column: IntArray | int = 0) -> FloatArray:
        """Return ``apart`` of a colour change in ``rounds``: as its last reading before."""
        column = np.broadcast_to(column, rounds.shape)
        found = np.zeros(len(rounds))
        if not self.apart.any():
            return found
        for c in range(len(self.readings.changes)):
            (mine, read), own = self._of_columns[c], column == c
            last = np.searchsorted(read, rounds[own], side="right") - 1
            found[own] = self.apart[mine[np.maximum(last, 0)]]
        return found

    @cached_property
    def spots(self) -> "Spots":
        """Return where the readings are."""
        return Spots(self.readings.round, self.readings.change, self.share)

    def spots_at(self, rounds: IntArray, column: int = 0) -> "Spots":
        """Return where a colour change is in each of ``rounds`` (numbers)."""
        return Spots(rounds, np.full(len(rounds), column), self.share_in(rounds, column))


@dataclass(frozen=True, slots=True, eq=False)
class Spots:
    """Colour changes on the path, arrays of shape (m,)."""

    round: IntArray
    """Numbers of their rounds."""
    column: IntArray
    """Which colour changes they are, from 0."""
    share: FloatArray
    """How far into its round each lies, 0 to 1."""


def timeline(log: DriftLog, readings: Sorted, shifts: IntArray, *, by_strand: bool) -> Timeline:
    """Lay the readings out along the path, ``shifts`` visible repeats over the edge.

    A wrap can be counted two ways.  Along the strand (``by_strand``): she writes what she finds
    in each round.  The marks lie N + d stitches apart, so one that has left the round behind
    leaves a whole N + d between what she wrote before and after.  By the round: she follows one
    turn of the colours a round and writes its position modulo N.
    """
    at = readings.round - readings.round[0]
    over, apart = np.zeros(len(at)), np.zeros(len(at))
    for column in range(len(readings.changes)):
        mine = np.flatnonzero(readings.change == column)
        moved = np.diff(shifts[mine], prepend=0)
        # what was passed is the round before, whatever its successor has
        passed = readings.period[mine[np.maximum(np.arange(len(mine)) - 1, 0)]]
        whole = passed * max(log.repeats, 1.0)
        turned = np.cumsum(moved * passed)
        if by_strand:
            y = readings.stitch[mine] + turned
            for i in (np.flatnonzero(moved[1:]) + 1).tolist():
                drift = _drift_about(i, y, at[mine] - turned / whole[i], readings.stint[mine])
                passed[i] *= 1.0 + min(max(drift / whole[i], -_MOST_APART), _MOST_APART)
        over[mine] = np.cumsum(moved * passed)
        apart[mine] = over[mine] - shifts[mine] * readings.period[mine]
    return Timeline(log, readings, readings.stitch + over, at, apart)


def _drift_about(i: int, y: FloatArray, turn: FloatArray, stint: IntArray) -> float:
    """Return the drift at a wrap before reading ``i``, from the turns of the colours near it."""
    near = slice(max(i - _ABOUT, 0), i + _ABOUT)
    # as far as the same needle and count go
    own = stint[near] == stint[i - 1]
    if np.count_nonzero(own) < 2:
        own[:] = True
    y, t = y[near][own], turn[near][own]
    t = t - t.mean()
    wide = float(t @ t)
    return float(t @ (y - y.mean())) / wide if wide > 0.0 else 0.0
