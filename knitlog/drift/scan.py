"""Looking for what nobody logged: miscounts, changed drift, jumps.

A cheap look at every reading and every round, with the noises held at a few values.
It only proposes; the fit then weighs each proposal by its full evidence.

For a reading the measure is its deletion residual; for a change it is the score of an
added column (de Jong & Penzer 1998, "Diagnosing shocks in time series"), turned into a
Bayes factor against a normal prior on the size.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from knitlog.drift.likelihood import BoolArray, FloatArray, IntArray, Regression
from knitlog.drift.prior import Prior

Kind = Literal["miscount", "break", "jump"]
_MOST_STARTS = 96
"""Rounds at which a change is tried; in longer logs every so-many-th, then the neighbours."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """Something that may have happened."""

    kind: Kind
    where: int
    """Reading (in knitting order) or path index."""
    log_odds: float
    """Rough log odds for it, at the noises tried."""


def _push(columns: FloatArray, place: IntArray, n: int) -> FloatArray:
    """Return the sums of ``columns`` (shape (r, c)) by round, shape (n, c)."""
    order = np.argsort(place, kind="stable")
    rounds, starts = np.unique(place[order], return_index=True)
    out = np.zeros((n, columns.shape[1]))
    if len(rounds):
        out[rounds] = np.add.reduceat(columns[order], starts, axis=0)
    return out


def _omega(
    columns: FloatArray,
    place: IntArray,
    moving: BoolArray,
    n: int,
    factor: tuple[FloatArray, FloatArray],
) -> FloatArray:
    from scipy.linalg import lapack  # noqa: PLC0415 - only a fit pays for scipy

    pushed = _push(columns[moving], place, n)
    solved, _ = lapack.dpttrs(*factor, pushed)
    out = columns.copy()
    out[moving] -= solved[place]
    return out


def scan(
    reg: Regression,
    keep: BoolArray,
    noises: list[tuple[float, float]],
    prior: Prior,
    stitches: float,
) -> list[Proposal]:
    """Return proposals, best of each kind first, for an account that keeps ``keep``.

    ``noises`` holds (w, m) pairs, stitches, to try.
    """
    found: dict[tuple[Kind, int], float] = {}
    for w, m in noises:
        for proposal in _scan_at(reg, keep, w, m, prior, stitches):
            key = (proposal.kind, proposal.where)
            found[key] = max(found.get(key, -np.inf), proposal.log_odds)
    return sorted(
        (Proposal(kind, where, odds) for (kind, where), odds in found.items()),
        key=lambda p: -p.log_odds,
    )


def _scan_at(
    reg: Regression, keep: BoolArray, w: float, m: float, prior: Prior, stitches: float
) -> list[Proposal]:
    from scipy.linalg import lapack  # noqa: PLC0415 - only a fit pays for scipy

    n = reg.steps
    q = (w / m) ** 2
    at = reg.at[keep]
    moving = at > 0
    place = at[moving] - 1
    counts = np.bincount(place, minlength=n).astype(float)
    # S = P / q + Z'Z for rho = 0: P tridiagonal(-1; 2, ..., 2, 1; -1)
    main = np.full(n, 2.0 / q) + counts
    main[-1] -= 1.0 / q
    side = np.full(max(n - 1, 0), -1.0 / q)
    forward, multiplier, info = lapack.dpttrf(main, side)
    if info != 0:
        return []
    factor = (forward, multiplier)
    backward = lapack.dpttrf(main[::-1].copy(), side)[0][::-1]
    # diagonal of a tridiagonal inverse: 1 / (forward + backward pivots - diagonal)
    diagonal = 1.0 / (forward + backward - main)

    design = reg.design[keep]
    y = reg.y[keep]
    both = _omega(np.column_stack((design, y)), place, moving, n, factor)
    omega_x, omega_y = both[:, :-1], both[:, -1]
    ridge = reg.prior_precision * m * m
    inverse = np.linalg.inv(design.T @ omega_x + ridge)
    coefficient = inverse @ (design.T @ omega_y + ridge @ reg.prior_mean)
    # (M y) and diag(M), in units of m^2
    residual = omega_y - omega_x @ coefficient
    leverage = np.ones(len(y))
    leverage[moving] -= diagonal[place]
    leverage -= np.einsum("ip,pq,iq->i", omega_x, inverse, omega_x)
    leverage = np.maximum(leverage, 1e-9)

    # log odds that reading i is a miscount: -log p(y_i | the rest) against 1 / width
    own = 0.5 * (residual**2 / (leverage * m * m) + np.log(2.0 * np.pi * m * m / leverage))
    odds = (
        own
        - np.log(prior.miscount_width)
        + np.log(prior.miscount_rate / (1.0 - prior.miscount_rate))
    )
    readings = np.flatnonzero(keep)
    proposals = [
        Proposal("miscount", int(readings[i]), float(odds[i]))
        for i in np.argsort(odds)[::-1][:3].tolist()
    ]

    starts = np.unique(np.linspace(1, n, min(n, _MOST_STARTS)).round().astype(np.int64))
    path = at[:, None].astype(float)
    for kind, sd, rate in (
        ("break", prior.break_sd_share * stitches, prior.break_rate),
        ("jump", prior.jump_sd, prior.jump_rate),
    ):
        for tried in (starts, None):
            if tried is None:
                if n <= _MOST_STARTS:
                    break
                reach = n // _MOST_STARTS + 1
                tried = np.arange(max(best - reach, 1), min(best + reach, n) + 1)  # noqa: F821
            column = (
                np.maximum(path - tried + 1.0, 0.0)
                if kind == "break"
                else (path >= tried).astype(float)
            )
            odds = _change_odds(
                column, residual, omega_x, inverse, place, moving, n, factor, m, sd
            ) + np.log(rate)
            best_at = int(np.argmax(odds))
            best = int(tried[best_at])
        proposals.append(Proposal(kind, best, float(odds[best_at])))  # type: ignore[arg-type]
    return proposals


def _change_odds(
    column: FloatArray,
    residual: FloatArray,
    omega_x: FloatArray,
    inverse: FloatArray,
    place: IntArray,
    moving: BoolArray,
    n: int,
    factor: tuple[FloatArray, FloatArray],
    m: float,
    sd: float,
) -> npt.NDArray[np.float64]:
    # score z'My and information z'Mz of an added column z
    score = column.T @ residual / m**2
    omega_z = _omega(column, place, moving, n, factor)
    cross = omega_x.T @ column
    information = np.einsum("it,it->t", column, omega_z)
    information -= np.einsum("pt,pq,qt->t", cross, inverse, cross)
    information = np.maximum(information, 0.0) / m**2
    # Bayes factor of size ~ N(0, sd^2) against 0
    factor_log: npt.NDArray[np.float64] = -0.5 * np.log1p(sd**2 * information)
    factor_log += 0.5 * score**2 / (information + 1.0 / sd**2)
    return factor_log
