"""The running sum's banded system, for many pairs of noises at once.

With one unknown of g a round, S = P / q + Z'Z (see :mod:`knitlog.drift.likelihood`), where P
is the precision of a running sum of AR(1) steps.  S has two bands below its diagonal, so the
systems of many (q, rho) stack into one banded system, and one factor does a whole log in
linear time.  With S = L D L' all that the likelihood needs is half a solve, L^-1 Z'[X, y].
"""

from dataclasses import dataclass

import numpy as np

from knitlog.drift.result import FloatArray


def path_precision(steps: int, q: FloatArray, memory: FloatArray) -> FloatArray:
    """Return P / q for each of k nodes: shape (k, steps, b), the diagonal and the bands below.

    P = D'TD with D the first difference and T the precision of AR(1) steps of unit
    spread, T = 1/(1 - rho^2) * tridiagonal(-rho; 1, 1 + rho^2, ..., 1 + rho^2, 1; -rho).
    There are two bands below, or one where no node has memory.
    """
    rho, unit = memory[:, None], 1.0 / (q * (1.0 - memory**2))[:, None]
    bands = np.empty((len(q), steps, 3 if memory.any() else 2))
    bands[:, :, 0] = 2.0 * (1.0 + rho + rho**2) * unit
    bands[:, :, 1] = -((1.0 + rho) ** 2) * unit
    bands[:, :, 2:] = (rho * unit)[:, :, None]
    # the corners of T, and after the last step no other
    bands[:, :1, 0] -= rho**2 * unit
    bands[:, -2:-1, 0] -= rho**2 * unit
    bands[:, -1:, 0] = unit if steps > 1 else (1.0 - rho**2) * unit
    bands[:, -2:, 1] = -(1.0 + rho) * unit
    bands[:, -1, 1] = 0.0
    bands[:, -2:, 2:] = 0.0
    return bands


def _factor(q: FloatArray, memory: FloatArray, counts: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the bands of L, shape (b, k n), and 1 / sqrt(D), shape (k, n).

    The first band is L's diagonal of ones in name only: nothing reads it.
    """
    from scipy.linalg import lapack

    k, n = len(q), len(counts)
    bands = path_precision(n, q, memory)
    bands[:, :, 0] += counts
    # one long system, each node a block of it
    lower = bands.reshape(k * n, -1).T
    plain = len(lower) == 2
    if plain:
        pivots, lower[1, :-1], info = lapack.dpttrf(lower[0], lower[1, :-1])
    else:
        lower, info = lapack.dpbtrf(lower, lower=1, overwrite_ab=1)
    if info != 0:
        raise np.linalg.LinAlgError("the running sum's system is not positive definite")
    if plain:
        scale = 1.0 / np.sqrt(pivots)
    else:
        # from a Cholesky factor to one with a diagonal of ones
        scale = 1.0 / lower[0]
        lower[1] *= scale
        lower[2] *= scale
    return lower, scale.reshape(k, n)


@dataclass(frozen=True, slots=True)
class Solved:
    """What the likelihood needs of S^-1, one entry a node."""

    inner: FloatArray
    """C'S^-1 C for the columns C, shape (k, c, c)."""
    log_det: FloatArray
    """log |S|, shape (k,)."""
    half_end: FloatArray
    """The last two columns of (D^-1 L^-1 C)', or the only one, shape (c, k, e)."""
    inverse_end: FloatArray
    """The same of 1 / D, shape (k, e)."""
    lower_end: FloatArray
    """The last entry below the diagonal of L, shape (k,); 0 where L is 1."""

    def end(self) -> tuple[FloatArray, FloatArray]:
        """Return the last two rows of S^-1 C and the last two rows and columns of S^-1.

        Shapes (k, 2, c) and (k, 2, 2); zeros before the first round.
        """
        k, ends = self.inverse_end.shape
        # S^-1 = L^-T D^-1 L^-1, whose end needs no more than the end of L
        back = np.zeros((k, 2, ends))
        back[:, 1, -1] = 1.0
        back[:, 0, -1] = -self.lower_end
        if ends > 1:
            back[:, 0, 0] = 1.0
        rows = back @ self.half_end.transpose(1, 2, 0)
        return rows, (back * self.inverse_end[:, None]) @ back.transpose(0, 2, 1)


def solve(q: FloatArray, memory: FloatArray, counts: FloatArray, pushed: FloatArray) -> Solved:
    """Solve S for the columns ``pushed`` (C', shape (c, n)) at k nodes.

    ``q`` and ``memory`` have shape (k,); ``counts`` (n,) is the diagonal of Z'Z.
    """
    from scipy.linalg import lapack

    k, (width, n) = len(q), pushed.shape
    lower, scale = _factor(q, memory, counts)
    stacked = np.tile(pushed, k).T
    half = lapack.dtbtrs(lower, stacked, uplo="L", diag="U", overwrite_b=1)[0]
    half = half.T.reshape(width, k, n)
    half *= scale
    return Solved(
        # C'S^-1 C = (D^-1/2 L^-1 C)' (D^-1/2 L^-1 C)
        inner=half.transpose(1, 0, 2) @ half.transpose(1, 2, 0),
        log_det=-2.0 * np.log(scale).sum(axis=1),
        half_end=half[:, :, -2:] * scale[:, -2:],
        inverse_end=scale[:, -2:] ** 2,
        lower_end=lower[1].reshape(k, n)[:, -2].copy() if n > 1 else np.zeros(k),
    )
