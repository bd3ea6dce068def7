"""The running sum at one known pair of noises, without memory (rho = 0).

The same Omega as in :mod:`knitlog.drift.likelihood`, for one node: S is then tridiagonal, its
factor and the diagonal of its inverse come in linear time.  The scan and the chart's
path stand on it.
"""

from dataclasses import dataclass

import numpy as np

from knitlog.drift.result import BoolArray, FloatArray, IntArray


@dataclass(frozen=True, slots=True)
class LocalLevel:
    """Omega of a set of readings, in units of the reading variance."""

    moving: BoolArray
    """Readings after the first round, shape (r,)."""
    place: IntArray
    """Index of their round among the unknowns, 0 for the second round."""
    diagonal: FloatArray
    """Diagonal of S^-1, shape (n,)."""
    factor: tuple[FloatArray, FloatArray]
    """Pivots and multipliers of S, shapes (n,) and (n - 1,)."""

    @classmethod
    def of(cls, at: IntArray, steps: int, q: float) -> "LocalLevel":
        """Factor S for readings at path indices ``at`` (shape (r,)), q = (w / m)^2."""
        from scipy.linalg import lapack

        moving = at > 0
        place = at[moving] - 1
        # S = P / q + Z'Z for rho = 0: P tridiagonal(-1; 2, ..., 2, 1; -1)
        main: FloatArray = np.full(steps, 2.0 / q) + np.bincount(place, minlength=steps)
        main[-1] -= 1.0 / q
        side = np.full(steps - 1, -1.0 / q)
        if steps == 1:
            return cls(moving, place, 1.0 / main, (main, side))
        forward, multiplier, _ = lapack.dpttrf(main, side)
        backward = lapack.dpttrf(main[::-1].copy(), side)[0][::-1]
        # diagonal of a tridiagonal inverse: 1 / (forward + backward pivots - diagonal)
        return cls(moving, place, 1.0 / (forward + backward - main), (forward, multiplier))

    def lift(self, columns: FloatArray) -> FloatArray:
        """Return S^-1 Z' ``columns`` (shape (r, c)), shape (n, c)."""
        from scipy.linalg import lapack

        pushed = self._sums_by_round(columns[self.moving])
        pivots, multipliers = self.factor
        if len(pivots) == 1:
            return pushed / pivots[:, None]
        solved: FloatArray = lapack.dpttrs(pivots, multipliers, pushed)[0]
        return solved

    def omega(self, columns: FloatArray, lifted: FloatArray | None = None) -> FloatArray:
        """Return Omega^-1 ``columns`` (shape (r, c)), the same shape; ``lifted`` if known."""
        lifted = self.lift(columns) if lifted is None else lifted
        out = columns.copy()
        out[self.moving] -= lifted[self.place]
        return out

    def _sums_by_round(self, columns: FloatArray) -> FloatArray:
        order = np.argsort(self.place, kind="stable")
        rounds, starts = np.unique(self.place[order], return_index=True)
        out = np.zeros((len(self.diagonal), columns.shape[1]))
        if len(rounds):
            out[rounds] = np.add.reduceat(columns[order], starts, axis=0)
        return out
