"""The banded solver: the path's own precision, for many nodes of the noise grid at once.

The path has two unknowns a round, what the drift has changed by (mu) and how far the colours
have come beyond their drift at the first round (x):

    x[t] = x[t - 1] + mu[t] + e[t],     Var e[t] = w^2 a[t]
    mu[t] = mu[t - 1] + u[t],           Var u[t] = w^2 b[t],   x[0] = mu[0] = 0

which is the local linear trend (Harvey 1989, section 2.3; Durbin & Koopman 2012, section 3.2),
a[t] = 1 and b[t] = creep^2 but where something is known to have happened.  Where the drift
cannot change mu drops out, and e may then remember the round before (an AR(1) of correlation
rho).  In units of the reading variance, with q = (w / m)^2 and Z which round a reading is of,

    S = P / q + Z'Z,      Var(y) / m^2 = Omega,   Omega^-1 = I - Z S^-1 Z',   |Omega| = |S| |q P^-1|

S has at most two bands below its diagonal in either case, so one banded factor does a whole log
in linear time, and the systems of many nodes stack into one.
"""

from dataclasses import dataclass

import numpy as np

from knitlog.drift.fit_result import FloatArray, IntArray

_LEAST_WANDER = 0.02
"""A drift taken not to creep creeps by this share of w over the whole log, over the number of
rounds: a fiftieth of what the rounds can tell."""


@dataclass(frozen=True, slots=True)
class Looks:
    """Z: where on the path each of r readings looks.

    At its own round, or where it lies part of a round beyond, at that round and the next.
    """

    readings: int
    """r."""
    reading: IntArray
    """Reading of each entry of Z, those of own rounds first, shape (e,)."""
    place: IntArray
    """Index of its round among the unknowns, 0 for the second round, shape (e,)."""
    value: FloatArray
    """The entry, shape (e,)."""
    own: int
    """Entries of own rounds."""
    counts: FloatArray
    """Diagonal of Z'Z, shape (n,)."""
    links: FloatArray
    """Below its diagonal, shape (n - 1,)."""

    @classmethod
    def of(cls, at: IntArray, steps: int, trust: FloatArray, ahead: FloatArray) -> "Looks":
        """Place readings at path indices ``at`` (shape (r,)) on a path of ``steps`` rounds.

        ``ahead`` is the part of a round by which they lie beyond, ``trust`` what they count.
        """
        own, beyond = np.flatnonzero(at > 0), np.flatnonzero(ahead)
        reading = np.concatenate((own, beyond))
        place = np.concatenate((at[own] - 1, at[beyond]))
        value = np.concatenate(((trust * (1.0 - ahead))[own], (trust * ahead)[beyond]))
        both = beyond[at[beyond] > 0]
        across = trust[both] ** 2 * ahead[both] * (1.0 - ahead[both])
        return cls(
            len(at),
            reading,
            place,
            value,
            len(own),
            _summed(place, value**2, steps),
            _summed(at[both] - 1, across, steps - 1),
        )

    def sums(self, columns: FloatArray) -> FloatArray:
        """Return (Z'C)' for C' of shape (c, r): each column summed by round, shape (c, n)."""
        sums = np.empty((len(columns), len(self.counts)))
        for own, column in zip(sums, columns[:, self.reading], strict=True):
            own[:] = _summed(self.place, self.value * column, len(own))
        return sums

    def looked(self, path: FloatArray) -> FloatArray:
        """Return (Z C)' of the entries for C' of shape (c, n), shape (c, e)."""
        looked: FloatArray = self.value * path[:, self.place]
        return looked


def _summed(place: IntArray, values: FloatArray, places: int) -> FloatArray:
    summed: FloatArray = np.bincount(place, weights=values, minlength=places).astype(float)
    return summed


@dataclass(frozen=True, slots=True)
class Steps:
    """What may have happened at each of n rounds beside knitting, as shares of w^2."""

    level: FloatArray
    """Added to the variance of the round's own step, shape (n,)."""
    drift: FloatArray
    """Variance of a change of drift at its beginning, shape (n,)."""

    @property
    def turns(self) -> bool:
        """Tell whether the drift may change anywhere."""
        return bool(self.drift.any())

    @classmethod
    def none(cls, rounds: int) -> "Steps":
        """Return the steps of ``rounds`` rounds of plain knitting."""
        return cls(np.zeros(rounds), np.zeros(rounds))


def _level_bands(q: FloatArray, memory: FloatArray, steps: Steps) -> tuple[FloatArray, FloatArray]:
    """Return P / q without mu, shape (k, n, 2 or 3), and log |P / q|, shape (k,).

    The quadratic form is the sum of u[t] (e[t] - r[t] e[t - 1])^2 with e[t] = x[t] - x[t - 1]:
    r = rho and 1 / u = q (1 - rho^2) but at the first round and about one at which something
    happened, where the memory is cut: r = 0 and 1 / u = q a[t].
    """
    n = len(steps.level)
    if not memory.any():
        u: FloatArray = 1.0 / (q[:, None] * (1.0 + steps.level))
        bands: FloatArray = np.zeros((len(q), n, 2))
        bands[:, :, 0] = u
        bands[:, :-1, 0] += u[:, 1:]
        bands[:, :-1, 1] = -u[:, 1:]
        return bands, -_summed_logs(q, steps.level)
    cut = steps.level > 0.0
    cut[1:] |= cut[:-1].copy()
    cut[0] = True
    rho = memory[:, None]
    r = np.where(cut, 0.0, rho)
    u = 1.0 / (q[:, None] * np.where(cut, 1.0 + steps.level, 1.0 - rho**2))
    bands = np.zeros((len(q), n, 3))
    bands[:, :, 0] = u
    bands[:, :-1, 0] += u[:, 1:] * (1.0 + r[:, 1:]) ** 2
    bands[:, :-1, 1] = -u[:, 1:] * (1.0 + r[:, 1:])
    bands[:, :-2, 0] += u[:, 2:] * r[:, 2:] ** 2
    bands[:, :-2, 1] -= u[:, 2:] * r[:, 2:] * (1.0 + r[:, 2:])
    bands[:, :-2, 2] = u[:, 2:] * r[:, 2:]
    return bands, np.log(u).sum(axis=1)


def _trend_bands(q: FloatArray, creep: FloatArray, steps: Steps) -> tuple[FloatArray, FloatArray]:
    """Return P / q with mu, shape (k, 2 n, 3), and log |P / q|; unknowns mu[1], x[1], mu[2] ..."""
    n = len(steps.level)
    least = _LEAST_WANDER / n
    step = np.broadcast_to(1.0 / (1.0 + steps.level), (len(q), n)) / q[:, None]
    own = np.where(creep > 0.0, creep, least)
    turn = 1.0 / (q[:, None] * (own[:, None] ** 2 + steps.drift))
    bands = np.zeros((len(q), 2 * n, 3))
    bands[:, 0::2, 0] = step + turn
    bands[:, 1::2, 0] = step
    bands[:, 0::2, 1] = -step
    bands[:, 0:-2:2, 0] += turn[:, 1:]
    bands[:, 1:-2:2, 0] += step[:, 1:]
    bands[:, 1:-2:2, 1] = step[:, 1:]
    bands[:, 0:-2:2, 2] = -turn[:, 1:]
    bands[:, 1:-2:2, 2] = -step[:, 1:]
    turned = 2.0 * n * np.log(own)
    if steps.turns:
        turned = np.log(own[:, None] ** 2 + steps.drift).sum(axis=1)
    return bands, -_summed_logs(q, steps.level) - n * np.log(q) - turned


def _summed_logs(q: FloatArray, level: FloatArray) -> FloatArray:
    """Return the sum over rounds of log(q a[t]), shape (k,)."""
    summed: FloatArray = len(level) * np.log(q) + np.log1p(level).sum()
    return summed


def _factor(bands: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the bands of L in S = L D L', shape (b, k n), and 1 / sqrt(D), shape (k, n).

    The first band is L's diagonal of ones in name only: nothing reads it.
    """
    from scipy.linalg import lapack

    k, n, width = bands.shape
    # one long system, each node a block of it
    lower = bands.reshape(k * n, width).T
    plain = width == 2
    if plain:
        pivots, lower[1, :-1], info = lapack.dpttrf(lower[0], lower[1, :-1])
    else:
        lower, info = lapack.dpbtrf(lower, lower=1, overwrite_ab=1)
    if info != 0:
        raise np.linalg.LinAlgError("the path's system is not positive definite")
    if plain:
        scale = 1.0 / np.sqrt(pivots)
    else:
        # from a Cholesky factor to one with a diagonal of ones
        scale = 1.0 / lower[0]
        lower[1] *= scale
        lower[2] *= scale
    return lower, scale.reshape(k, n)


def _half_solved(lower: FloatArray, columns: FloatArray, k: int) -> FloatArray:
    """Return (L^-1 C)' at each of k nodes for C' of shape (c, n), shape (c, k, n).

    What began late is nothing before: those columns are solved from where the first begins.
    """
    from scipy.linalg import lapack

    width, n = columns.shape
    begins = np.where(columns.any(axis=1), (columns != 0.0).argmax(axis=1), n - 1)
    late = begins > n // 2
    half = np.zeros((width, k, n))
    for own in (late, ~late):
        if not own.any():
            continue
        start = int(begins[own].min()) if own is late else 0
        stacked = np.repeat(columns[own, None, start:], k, axis=1).reshape(-1, k * (n - start))
        factor = lower
        if start:
            # the end of one node's block is not tied to the next one's either
            factor = lower.reshape(-1, k, n)[:, :, start:].reshape(len(lower), -1)
        solved = lapack.dtbtrs(factor, stacked.T, uplo="L", diag="U", overwrite_b=1)[0]
        half[own, :, start:] = solved.T.reshape(-1, k, n - start)
    return half


@dataclass(frozen=True, slots=True)
class Solved:
    """What the likelihood needs of S^-1, one entry a node."""

    inner: FloatArray
    """C'S^-1 C for the columns C, shape (k, c, c)."""
    log_det: FloatArray
    """log |Omega|, shape (k,)."""
    end: FloatArray
    """The last rows of S^-1 C, shape (k, 3, c): those of mu, x and e of the last round."""
    end_cov: FloatArray
    """The same rows and columns of S^-1, shape (k, 3, 3)."""


def solve(
    q: FloatArray,
    memory: FloatArray,
    creep: FloatArray,
    looks: Looks,
    pushed: FloatArray,
    steps: Steps,
) -> Solved:
    """Solve S for the columns ``pushed`` (C', shape (c, n)) at k nodes.

    ``q``, ``memory`` and ``creep`` (a share of w) have shape (k,); a node that creeps has no
    memory, and none has where ``steps.turns``.
    """
    trend = (creep > 0.0) | steps.turns
    kinds = (trend, ~trend & (memory > 0.0), ~trend & (memory == 0.0))
    parts = [
        (np.flatnonzero(own), _solve_alike(q[own], memory[own], creep[own], looks, pushed, steps))
        for own in kinds
        if own.any()
    ]
    if len(parts) == 1:
        return parts[0][1]
    order = np.argsort(np.concatenate([where for where, _ in parts]))
    return Solved(
        *(
            np.concatenate([getattr(own, name) for _, own in parts])[order]
            for name in ("inner", "log_det", "end", "end_cov")
        )
    )


def _solve_alike(
    q: FloatArray,
    memory: FloatArray,
    creep: FloatArray,
    looks: Looks,
    pushed: FloatArray,
    steps: Steps,
) -> Solved:
    k, (width, n) = len(q), pushed.shape
    trend = bool(creep.any()) or steps.turns
    if trend:
        bands, log_det_p = _trend_bands(q, creep, steps)
        bands[:, 1::2, 0] += looks.counts
        bands[:, 1:-2:2, 2] += looks.links
        wide = np.zeros((width, 2 * n))
        wide[:, 1::2] = pushed
        n, pushed = 2 * n, wide
    else:
        bands, log_det_p = _level_bands(q, memory, steps)
        bands[:, :, 0] += looks.counts
        bands[:, :-1, 1] += looks.links
    lower, scale = _factor(bands)
    half = _half_solved(lower, pushed, k)
    half *= scale
    below = lower[1].reshape(k, n)[:, -2].copy() if n > 1 else np.zeros(k)
    end, end_cov = _end(half[:, :, -2:] * scale[:, -2:], scale[:, -2:] ** 2, below, trend=trend)
    return Solved(
        # C'S^-1 C = (D^-1/2 L^-1 C)' (D^-1/2 L^-1 C)
        inner=half.transpose(1, 0, 2) @ half.transpose(1, 2, 0),
        log_det=-2.0 * np.log(scale).sum(axis=1) - log_det_p,
        end=end,
        end_cov=end_cov,
    )


def _end(
    half: FloatArray, inverse: FloatArray, below: FloatArray, *, trend: bool
) -> tuple[FloatArray, FloatArray]:
    """Return the rows of mu, x and e of the last round, and their covariance in units of m^2.

    ``half`` holds the last two columns (or the only one) of (D^-1 L^-1 C)', shape (c, k, 2),
    ``inverse`` of 1 / D, ``below`` the last entry below the diagonal of L.
    """
    # S^-1 = L^-T D^-1 L^-1, whose end needs no more than the end of L
    k, ends = inverse.shape
    back = np.zeros((k, 2, ends))
    back[:, 1, -1] = 1.0
    back[:, 0, -1] = -below
    if ends > 1:
        back[:, 0, 0] = 1.0
    # with mu the last two unknowns are mu, x; without, x of the last two rounds
    pick = np.array([[1.0, 0.0], [0.0, 1.0], [0.0, 0.0]] if trend else [[0, 0], [0, 1.0], [-1, 1]])
    back = pick @ back
    return back @ half.transpose(1, 2, 0), (back * inverse[:, None]) @ back.transpose(0, 2, 1)


@dataclass(frozen=True, slots=True)
class Smoother:
    """S at one node, with mu and without memory: the whole path, not its end alone."""

    looks: Looks
    q: float
    step: FloatArray
    """q a[t], shape (n,)."""
    turn: FloatArray
    """q b[t], shape (n,)."""
    cov: FloatArray
    """Blocks (mu, x) of S^-1 on its diagonal, shape (n, 2, 2)."""
    across: FloatArray
    """Blocks of S^-1 of each round but the first with the one before it, shape (n - 1, 2, 2)."""
    factor: FloatArray
    """Cholesky factor of S, shape (3, 2 n)."""

    @classmethod
    def of(cls, looks: Looks, q: float, creep: float, steps: Steps) -> "Smoother":
        """Factor S for readings at ``looks``, q = (w / m)^2, ``creep`` as a share of w."""
        from scipy.linalg import lapack

        n = len(looks.counts)
        bands = _trend_bands(np.array([q]), np.array([creep]), steps)[0][0]
        bands[1::2, 0] += looks.counts
        bands[1:-2:2, 2] += looks.links
        lower, info = lapack.dpbtrf(bands.T, lower=1)
        # the same system, last round first, mu and x changing places
        back = np.zeros_like(bands)
        for band in range(3):
            back[: 2 * n - band, band] = bands[: 2 * n - band, band][::-1]
        backward, info_back = lapack.dpbtrf(back.T, lower=1)
        if info or info_back:
            raise np.linalg.LinAlgError("the path's system is not positive definite")
        # what is left of each block once those before it, or after it, are eliminated
        ahead, behind = _blocks(lower), _blocks(backward)[::-1, ::-1, ::-1]
        own = np.empty((n, 2, 2))
        own[:, 0, 0], own[:, 1, 1] = bands[0::2, 0], bands[1::2, 0]
        own[:, 0, 1] = own[:, 1, 0] = bands[0::2, 1]
        cov = _inverse(ahead + behind - own)
        # block of S of round t with t + 1: mu mu, x mu, x x
        link = np.zeros((n - 1, 2, 2))
        link[:, 0, 0], link[:, 1, 0] = bands[0:-2:2, 2], bands[1:-2:2, 1]
        link[:, 1, 1] = bands[1:-2:2, 2]
        across = -(_inverse(ahead[:-1]) @ link) @ cov[1:]
        step = q * (1.0 + steps.level)
        turn = q * ((creep or _LEAST_WANDER / n) ** 2 + steps.drift)
        return cls(looks, q, step, turn, cov, across, lower)

    def lift(self, sums: FloatArray) -> FloatArray:
        """Return (S^-1 Z'C)' for ``sums`` = (Z'C)' of shape (c, n), shape (c, 2, n): mu and x."""
        wide = np.zeros((len(sums), 2 * sums.shape[1]))
        wide[:, 1::2] = sums
        return self._solved(wide)

    def _solved(self, wide: FloatArray) -> FloatArray:
        from scipy.linalg import lapack

        solved: FloatArray = lapack.dpbtrs(self.factor, wide.T, lower=1)[0].T
        return solved.reshape(len(wide), -1, 2).transpose(0, 2, 1)

    def of_end(self) -> FloatArray:
        """Return the columns of S^-1 of the last mu and x: shape (2, 2, n)."""
        wide = np.zeros((2, self.factor.shape[1]))
        wide[0, -2] = wide[1, -1] = 1.0
        return self._solved(wide)

    def omega(self, columns: FloatArray, lifted: FloatArray) -> FloatArray:
        """Return (Omega^-1 C)' for C' (shape (c, r)), ``lifted`` from :meth:`lift`."""
        out, own = columns.copy(), self.looks.own
        looked = self.looks.looked(lifted[:, 1])
        out[:, self.looks.reading[:own]] -= looked[:, :own]
        out[:, self.looks.reading[own:]] -= looked[:, own:]
        return out

    def told(self) -> FloatArray:
        """Return the diagonal of Z S^-1 Z', for each reading, shape (r,)."""
        of = self.looks
        spread = of.value**2 * self.cov[of.place, 1, 1]
        told = _summed(of.reading, spread, of.readings)
        both = np.isin(of.reading[: of.own], of.reading[of.own :])
        if both.any():
            first = of.place[: of.own][both]
            times = of.value[: of.own][both] * of.value[of.own :][of.place[of.own :] > 0]
            told[of.reading[: of.own][both]] += 2.0 * times * self.across[first, 1, 1]
        return told

    def jumps_told(self) -> FloatArray:
        """Return z'Omega^-1 z of a jump from each round on, z = 1 from there, shape (n,).

        A jump moves e[t], and Cov(e[t], e[t] | y) = q a[t] - (q a[t])^2 z'Omega^-1 z (the
        disturbance smoother; Durbin & Koopman 2012, section 4.5).
        """
        pick = np.array([-1.0, 1.0])
        spread = np.einsum("i,tij,j->t", pick, self.cov, pick)
        spread[1:] += self.cov[:-1, 1, 1] - 2.0 * (self.across @ pick)[:, 1]
        told: FloatArray = (self.step - spread) / self.step**2
        return np.maximum(told, 0.0)

    def turns_told(self) -> FloatArray:
        """Return z'Omega^-1 z of a change of drift from each round on, shape (n,).

        z counts the rounds, 1 at the first; the same of u[t] = mu[t] - mu[t - 1].
        """
        spread = self.cov[:, 0, 0].copy()
        spread[1:] += self.cov[:-1, 0, 0] - 2.0 * self.across[:, 0, 0]
        told: FloatArray = (self.turn - spread) / self.turn**2
        return np.maximum(told, 0.0)


def _inverse(blocks: FloatArray) -> FloatArray:
    """Return the inverses of symmetric 2 x 2 blocks, shape (n, 2, 2)."""
    first, side, second = blocks[:, 0, 0], blocks[:, 0, 1], blocks[:, 1, 1]
    inverse = np.empty_like(blocks)
    inverse[:, 0, 0], inverse[:, 1, 1] = second, first
    inverse[:, 0, 1] = inverse[:, 1, 0] = -side
    inverse /= (first * second - side**2)[:, None, None]
    return inverse


def _blocks(lower: FloatArray) -> FloatArray:
    """Return L_tt L_tt' of the 2 x 2 blocks on the diagonal of a banded factor, (n, 2, 2)."""
    first, side, second = lower[0, 0::2], lower[1, 0::2], lower[0, 1::2]
    blocks = np.empty((len(first), 2, 2))
    blocks[:, 0, 0] = first**2
    blocks[:, 0, 1] = blocks[:, 1, 0] = first * side
    blocks[:, 1, 1] = side**2 + second**2
    return blocks
