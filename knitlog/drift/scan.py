"""Looking for what nobody logged: miscounts, changed drift, jumps.

A cheap look at every reading and every round, with the noises held at a few values.
It only proposes; the fit then weighs each proposal by its full evidence.

For a reading the measure is its deletion residual; for a change it is the score of an
added column (de Jong & Penzer 1998, "Diagnosing shocks in time series"), turned into a
Bayes factor against a normal prior on the size.
"""

from dataclasses import dataclass

import numpy as np

from knitlog.drift.assemble import Kind
from knitlog.drift.likelihood import Regression
from knitlog.drift.local_level import LocalLevel, sums_by_round
from knitlog.drift.prior import Prior
from knitlog.drift.result import BoolArray, FloatArray, IntArray

LEAST_ROUNDS_OF_A_BREAK = 4
"""A change of drift shows in at least this many rounds; fewer cannot be told from a miscount."""
LEAST_ROUNDS_OF_A_JUMP = 2
_PLAIN = 6.0
"""Log odds at which a miscount is plain."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """Something that may have happened."""

    kind: Kind
    where: int
    """Reading (in knitting order) or path index."""
    log_odds: float
    """Rough log odds for it, at the noises tried."""


def plain_miscounts(
    reg: Regression, keep: BoolArray, noise: tuple[float, float], prior: Prior
) -> list[int]:
    """Return readings of ``keep`` that look like miscounts at noises (w, m), stitches.

    The likeliest alone, or all that are plain at once.
    """
    look = _Look.at(reg, keep, *noise)
    odds = _miscount_odds(look, prior)
    plain = np.flatnonzero(odds > _PLAIN)
    if len(plain) == 0:
        top = int(np.argmax(odds))
        plain = np.array([top]) if odds[top] > 0.0 else plain
    elif len(plain) > 1:
        # beside a gross miscount its neighbours look odd too: take the worse of any two
        worst = [i for i in plain.tolist() if odds[i] >= max(odds[max(i - 2, 0) : i + 3])]
        plain = np.array(worst)
    return [int(look.readings[i]) for i in plain.tolist()]


def scan(
    reg: Regression,
    keep: BoolArray,
    noises: list[tuple[float, float]],
    prior: Prior,
    stitches: float,
) -> list[Proposal]:
    """Return proposals, likeliest first, for an account that keeps the readings ``keep``.

    ``noises`` holds (w, m) pairs, stitches, to try.
    """
    found: dict[tuple[Kind, int], float] = {}
    for w, m in noises:
        look = _Look.at(reg, keep, w, m)
        for proposal in [*_miscounts(look, prior), *_changes(look, prior, stitches)]:
            key = (proposal.kind, proposal.where)
            found[key] = max(found.get(key, -np.inf), proposal.log_odds)
    return sorted(
        (Proposal(kind, where, odds) for (kind, where), odds in found.items()),
        key=lambda p: -p.log_odds,
    )


@dataclass(frozen=True, slots=True)
class _Look:
    """The account's own fit at one pair of noises, rho = 0; everything in units of m."""

    readings: IntArray
    """Which readings are kept, shape (r,)."""
    path: IntArray
    """Their path index, shape (r,)."""
    level: LocalLevel
    steps: int
    omega_x: FloatArray
    """Omega^-1 X, shape (r, p)."""
    normal_inverse: FloatArray
    """(X'Omega^-1 X + prior)^-1, shape (p, p)."""
    residual: FloatArray
    """M y with M = Omega^-1 - Omega^-1 X (..)^-1 X'Omega^-1, shape (r,)."""
    leverage: FloatArray
    """Diagonal of M, shape (r,)."""
    m: float

    @classmethod
    def at(cls, reg: Regression, keep: BoolArray, w: float, m: float) -> "_Look":
        """Fit the account at noises ``w`` and ``m``, stitches."""
        at = reg.at[keep]
        level = LocalLevel.of(at, reg.steps, (w / m) ** 2)
        design = reg.design[keep]
        both = level.omega(np.column_stack((design, reg.y[keep])))
        omega_x, omega_y = both[:, :-1], both[:, -1]
        ridge = reg.prior_precision * m * m
        inverse = np.linalg.inv(design.T @ omega_x + ridge)
        coefficient = inverse @ (design.T @ omega_y + ridge @ reg.prior_mean)
        leverage = np.ones(len(at))
        leverage[level.moving] -= level.diagonal[level.place]
        leverage -= np.einsum("ip,pq,iq->i", omega_x, inverse, omega_x)
        return cls(
            readings=np.flatnonzero(keep),
            path=at,
            level=level,
            steps=reg.steps,
            omega_x=omega_x,
            normal_inverse=inverse,
            residual=omega_y - omega_x @ coefficient,
            leverage=np.maximum(leverage, 1e-9),
            m=m,
        )


def _miscounts(look: _Look, prior: Prior) -> list[Proposal]:
    odds = _miscount_odds(look, prior)
    best = np.argsort(odds)[::-1][:3]
    return [Proposal("miscount", int(look.readings[i]), float(odds[i])) for i in best.tolist()]


def _miscount_odds(look: _Look, prior: Prior) -> FloatArray:
    """Return the rough log odds that each kept reading is a miscount, shape (r,)."""
    # log odds that reading i is a miscount: -log p(y_i | the rest) against 1 / width
    variance = look.m**2 / look.leverage
    own = 0.5 * (look.residual**2 * variance / look.m**4 + np.log(2.0 * np.pi * variance))
    rate = prior.miscount_rate
    odds: FloatArray = own - np.log(prior.miscount_width) + np.log(rate / (1.0 - rate))
    return odds


def _changes(look: _Look, prior: Prior, stitches: float) -> list[Proposal]:
    chance = prior.break_chance(look.steps)
    kinds: tuple[tuple[Kind, float, float, int], ...] = (
        ("break", prior.break_sd_share * stitches, chance, LEAST_ROUNDS_OF_A_BREAK),
        ("jump", prior.jump_sd, prior.jump_rate, LEAST_ROUNDS_OF_A_JUMP),
    )
    return [
        Proposal(kind, *_likeliest(look, kind, sd, look.steps + 1 - least, np.log(rate)))
        for kind, sd, rate, least in kinds
        if look.steps + 1 - least >= 1
    ]


def _likeliest(look: _Look, kind: Kind, sd: float, last: int, log_rate: float) -> tuple[int, float]:
    """Return the likeliest path index of a change, 1 to ``last``, and its log odds."""
    odds = _change_odds(look, kind, sd)[:last]
    best = int(np.argmax(odds))
    return best + 1, float(odds[best] + log_rate)


def _change_odds(look: _Look, kind: Kind, sd: float) -> FloatArray:
    """Return log Bayes factors of a change at each path index from 1 on, shape (n,)."""
    columns = np.column_stack((look.residual, look.omega_x))
    by_round = sums_by_round(look.path, columns, look.steps + 1).T[1:]
    from_here = np.cumsum(by_round[::-1], axis=0)[::-1]
    told = look.level.steps_told()
    if kind == "break":
        # a ramp is a jump at each of its rounds
        from_here = np.cumsum(from_here[::-1], axis=0)[::-1]
        told = look.level.ramps_told()
    # score z'My and information z'Mz of an added column z, 0 before the change
    score, cross = from_here[:, 0] / look.m**2, from_here[:, 1:]
    told = told - np.einsum("tp,pq,tq->t", cross, look.normal_inverse, cross)
    information = np.maximum(told, 0.0) / look.m**2
    # Bayes factor of size ~ N(0, sd^2) against 0
    odds: FloatArray = -0.5 * np.log1p(sd**2 * information)
    odds += 0.5 * score**2 / (information + 1.0 / sd**2)
    return odds
