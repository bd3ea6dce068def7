"""The running sum at one known pair of noises, without memory (rho = 0).

The same Omega as in :mod:`knitlog.drift.likelihood`, for one node: S is then tridiagonal, its
factor and the diagonal of its inverse come in linear time.  The scan and the chart's
path stand on it.
"""

from dataclasses import dataclass

import numpy as np

from knitlog.drift.result import BoolArray, FloatArray, IntArray


@dataclass(frozen=True, slots=True)
class Places:
    """Z: which unknown of the running sum each of r readings looks at."""

    moving: BoolArray
    """Readings after the first round, shape (r,): the others look at none."""
    place: IntArray
    """Index of their round among the unknowns, 0 for the second round."""
    counts: FloatArray
    """Diagonal of Z'Z: readings of each round but the first, shape (n,)."""

    @classmethod
    def of(cls, at: IntArray, steps: int) -> "Places":
        """Place readings at path indices ``at`` (shape (r,)) on a path of ``steps`` unknowns."""
        moving = at > 0
        place = at[moving] - 1
        return cls(moving, place, np.bincount(place, minlength=steps).astype(float))

    def sums(self, columns: FloatArray) -> FloatArray:
        """Return (Z'C)' for C' of shape (c, r): each column summed by round, shape (c, n)."""
        sums = np.empty((len(columns), len(self.counts)))
        for own, column in zip(sums, columns[:, self.moving], strict=True):
            own[:] = np.bincount(self.place, weights=column, minlength=len(own))
        return sums


@dataclass(frozen=True, slots=True)
class LocalLevel:
    """Omega of a set of readings, in units of the reading variance."""

    places: Places
    q: float
    """(w / m)^2."""
    diagonal: FloatArray
    """Diagonal of S^-1, shape (n,)."""
    factor: tuple[FloatArray, FloatArray]
    """Pivots and multipliers of S, shapes (n,) and (n - 1,)."""

    @classmethod
    def of(cls, places: Places, q: float) -> "LocalLevel":
        """Factor S for readings at ``places``, q = (w / m)^2."""
        from scipy.linalg import lapack

        # S = P / q + Z'Z for rho = 0: P tridiagonal(-1; 2, ..., 2, 1; -1)
        main: FloatArray = places.counts + 2.0 / q
        main[-1] -= 1.0 / q
        side = np.full(len(main) - 1, -1.0 / q)
        if len(main) == 1:
            return cls(places, q, 1.0 / main, (main, side))
        forward, multiplier, _ = lapack.dpttrf(main, side)
        backward = lapack.dpttrf(main[::-1].copy(), side)[0][::-1]
        # diagonal of a tridiagonal inverse: 1 / (forward + backward pivots - diagonal)
        return cls(places, q, 1.0 / (forward + backward - main), (forward, multiplier))

    def lift(self, sums: FloatArray) -> FloatArray:
        """Return (S^-1 Z'C)' for ``sums`` = (Z'C)', both of shape (c, n)."""
        from scipy.linalg import lapack

        pivots, multipliers = self.factor
        if len(pivots) == 1:
            return sums / pivots
        solved: FloatArray = lapack.dpttrs(pivots, multipliers, sums.T)[0].T
        return solved

    def omega(self, columns: FloatArray, lifted: FloatArray) -> FloatArray:
        """Return (Omega^-1 C)' for C' (shape (c, r)), ``lifted`` from :meth:`lift`."""
        out = columns.copy()
        out[:, self.places.moving] -= lifted[:, self.places.place]
        return out

    def steps_told(self) -> FloatArray:
        """Return z'Omega^-1 z of a jump from each round on, z = 1 from there, shape (n,).

        With u the running sum's own steps, Cov(u_s, u_t | y) = q [s = t] - q^2 z_s'Omega^-1 z_t
        (the disturbance smoother; Durbin & Koopman 2012, section 4.5), and u_t is the
        difference of two neighbours on the path.
        """
        d = self.diagonal
        spread = d.copy()
        # S^-1[t - 1, t] = -multiplier[t - 1] S^-1[t, t]
        spread[1:] += d[:-1] + 2.0 * self.factor[1] * d[1:]
        told: FloatArray = (self.q - spread) / self.q**2
        return told

    def ramps_told(self) -> FloatArray:
        """Return z'Omega^-1 z of a change of drift from each round on, shape (n,).

        z counts the rounds, 1 at the first: a ramp is a jump at each of its rounds, and
        their steps add up to the path's last value less that just before.
        """
        n, d = len(self.diagonal), self.diagonal
        # last column of S^-1: S^-1[t, n] = -multiplier[t] S^-1[t + 1, n]
        last = np.empty(n)
        last[-1] = d[-1]
        last[:-1] = d[-1] * np.cumprod(-self.factor[1][::-1])[::-1]
        spread = np.full(n, d[-1])
        spread[1:] += d[:-1] - 2.0 * last[:-1]
        told: FloatArray = (self.q * np.arange(n, 0, -1) - spread) / self.q**2
        return told
