"""The outlier search: miscounts, changed drift, jumps, patterns that nobody told.

A cheap look at every reading and every round, with the noises held at a few values.
It only proposes; the fit then weighs each proposal by its full evidence.

For a reading the measure is its deletion residual; for a change it is the score of an
added column (de Jong & Penzer 1998, "Diagnosing shocks in time series"), turned into a
Bayes factor against a normal prior on the size.
"""

from dataclasses import dataclass

import numpy as np

from knitlog.drift.banded import Smoother
from knitlog.drift.fit_result import FloatArray
from knitlog.drift.hypothesis import Kind
from knitlog.drift.likelihood import Kept, Spread
from knitlog.drift.pattern import SEARCHED, phase_columns
from knitlog.drift.prior import REFERENCE_STITCHES, Prior
from knitlog.drift.timeline import Timeline

LEAST_ROUNDS_OF_A_BREAK = 4
"""A change of drift shows in at least this many rounds; fewer cannot be told from a miscount."""
LEAST_ROUNDS_OF_A_JUMP = 2
_LEAST_CREEP = 0.3
"""Share of w, over the number of rounds, that the drift is let creep in a look: what a change of
drift is told by is found from a creep's smoothed steps, lost in rounding where there are none."""
_PLAIN = 6.0
"""Log odds at which a miscount is plain."""


@dataclass(frozen=True, slots=True)
class Noises:
    """Noises held at known values for a look."""

    w: float
    """A round's own tension error, stitches."""
    m: float
    """A reading's, stitches."""
    creep: float = 0.0
    """By which the drift changes a round, as a share of w."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """Something that may have happened."""

    kind: Kind
    where: int
    """Reading (in knitting order) or path index."""
    log_odds: float
    """Rough log odds for it, at the noises tried."""


def plain_miscounts(kept: Kept, noises: Noises, prior: Prior) -> list[int]:
    """Return readings of ``kept`` that look like miscounts at known ``noises``.

    The likeliest alone, or all that are plain at once.
    """
    look = _Look.at(kept, noises)
    odds = _miscount_odds(look, prior)
    plain = np.flatnonzero(odds > _PLAIN)
    if len(plain) == 0:
        top = int(np.argmax(odds))
        plain = np.array([top]) if odds[top] > 0.0 else plain
    elif len(plain) > 1:
        # beside a gross miscount its neighbours look odd too: take the worse of any two
        worst = [i for i in plain.tolist() if odds[i] >= max(odds[max(i - 2, 0) : i + 3])]
        plain = np.array(worst)
    return [int(kept.readings[i]) for i in plain.tolist()]


def scan(
    kept: Kept, noises: list[Noises], prior: Prior, stitches: float, line: Timeline | None = None
) -> list[Proposal]:
    """Return proposals, likeliest first, for a hypothesis that keeps the readings ``kept``.

    Looked at with each of ``noises``; with the first of them for a pattern too, along ``line``.
    """
    found: dict[tuple[Kind, int], float] = {}
    for i, own in enumerate(noises):
        look = _Look.at(kept, own)
        proposals = [*_miscounts(look, prior), *_changes(look, prior, stitches)]
        if line is not None and i == 0:
            proposals += _patterns(line, look, prior, stitches)
        for proposal in proposals:
            key = (proposal.kind, proposal.where)
            found[key] = max(found.get(key, -np.inf), proposal.log_odds)
    return sorted(
        (Proposal(kind, where, odds) for (kind, where), odds in found.items()),
        key=lambda p: -p.log_odds,
    )


@dataclass(frozen=True, slots=True)
class _Look:
    """The hypothesis' own fit at known noises; everything in units of m."""

    kept: Kept
    path: Smoother
    omega_x: FloatArray
    """(Omega^-1 X)', shape (p, r)."""
    normal_inverse: FloatArray
    """(X'Omega^-1 X + prior)^-1, shape (p, p)."""
    residual: FloatArray
    """M y with M = Omega^-1 - Omega^-1 X (..)^-1 X'Omega^-1, shape (r,)."""
    leverage: FloatArray
    """Diagonal of M, shape (r,)."""
    m: float

    @classmethod
    def at(cls, kept: Kept, noises: Noises) -> "_Look":
        """Fit the hypothesis at ``noises``."""
        reg, looks, m = kept.regression, kept.looks, noises.m
        creep = max(noises.creep, _LEAST_CREEP / reg.rounds)
        path = Smoother.of(looks, (noises.w / m) ** 2, creep, reg.steps)
        lifted = path.lift(kept.pushed)
        omega = path.omega(kept.columns, lifted)
        omega_x, omega_y = omega[:-1], omega[-1]
        # [X y]'Omega^-1 [X y]
        inner = kept.own - kept.pushed @ lifted[:, 1].T
        ridge = np.diag(reg.precision(Spread(pattern=reg.spreads[-1].pattern))) * m * m
        inverse = np.linalg.inv(inner[:-1, :-1] + ridge)
        coefficient = inverse @ (inner[:-1, -1] + ridge @ reg.prior_mean)
        leverage = 1.0 - path.told() - _quadratic(omega_x, inverse)
        return cls(
            kept=kept,
            path=path,
            omega_x=omega_x,
            normal_inverse=inverse,
            residual=omega_y - coefficient @ omega_x,
            leverage=np.maximum(leverage, 1e-9),
            m=m,
        )


def _quadratic(columns: FloatArray, matrix: FloatArray) -> FloatArray:
    """Return c'Mc for each column c of ``columns`` (shape (p, r)), shape (r,)."""
    told: FloatArray = np.einsum("pr,pr->r", matrix @ columns, columns)
    return told


def _miscounts(look: _Look, prior: Prior) -> list[Proposal]:
    odds = _miscount_odds(look, prior)
    best = np.argsort(odds)[::-1][:3]
    return [Proposal("miscount", int(look.kept.readings[i]), float(odds[i])) for i in best.tolist()]


def _miscount_odds(look: _Look, prior: Prior) -> FloatArray:
    """Return the rough log odds that each kept reading is a miscount, shape (r,)."""
    # log odds that reading i is a miscount: -log p(y_i | the rest) against 1 / width
    variance = look.m**2 / look.leverage
    own = 0.5 * (look.residual**2 * variance / look.m**4 + np.log(2.0 * np.pi * variance))
    rate = prior.miscount_rate
    odds: FloatArray = own - np.log(prior.miscount_width) + np.log(rate / (1.0 - rate))
    return odds


def _changes(look: _Look, prior: Prior, stitches: float) -> list[Proposal]:
    """Return the likeliest change of drift and the likeliest jump."""
    steps = look.kept.regression.rounds
    # score of a jump from each round on, and its products with X: shape (p + 1, n)
    by_round = look.kept.looks.sums(np.vstack((look.residual, look.omega_x)))
    jump = np.cumsum(by_round[:, ::-1], axis=1)[:, ::-1]
    # a change of drift is a ramp, and a ramp a jump at each of its rounds
    ramp = np.cumsum(jump[:, ::-1], axis=1)[:, ::-1]
    rate = prior.break_chance(steps)
    sd = prior.break_sd_share * stitches
    found = []
    if (last := steps + 1 - LEAST_ROUNDS_OF_A_BREAK) >= 1:
        odds = _change_odds(look, ramp, look.path.turns_told(), sd)[:last] + np.log(rate)
        found.append(_likeliest("break", odds))
    if (last := steps + 1 - LEAST_ROUNDS_OF_A_JUMP) >= 1:
        told = look.path.jumps_told()
        odds = _change_odds(look, jump, told, prior.jump_sd)[:last] + np.log(prior.jump_rate)
        found.append(_likeliest("jump", odds))
    return found


def _likeliest(kind: Kind, odds: FloatArray) -> Proposal:
    """Return the likeliest of changes at the path indices from 1 on."""
    best = int(np.argmax(odds))
    return Proposal(kind, best + 1, float(odds[best]))


def _change_odds(look: _Look, sums: FloatArray, told: FloatArray, sd: float) -> FloatArray:
    """Return log Bayes factors of a change at each path index from 1 on, shape (n,).

    For the change's column z, 0 before it: ``sums`` holds z'My (shape (n,)) and z'Omega^-1 X
    below it, ``told`` z'Omega^-1 z; ``sd`` is the spread of its size, stitches.
    """
    # score z'My / m^2 and information z'Mz / m^2
    score = sums[0] / look.m**2
    information = np.maximum(told - _quadratic(sums[1:], look.normal_inverse), 0.0) / look.m**2
    # Bayes factor of size ~ N(0, sd^2) against 0
    odds: FloatArray = -0.5 * np.log1p(sd**2 * information)
    odds += 0.5 * score**2 / (information + 1.0 / sd**2)
    return odds


def _patterns(line: Timeline, look: _Look, prior: Prior, stitches: float) -> list[Proposal]:
    """Return the pattern that nobody told which the log shows best, if any can be told."""
    kept = look.kept
    searched = [p for p in SEARCHED if line.last >= 2 * p]
    if not searched:
        return []
    each = [phase_columns(line, p, line.spots)[kept.readings].T for p in searched]
    columns = kept.regression.trust[kept.readings] * np.concatenate(each)
    omega = look.path.omega(columns, look.path.lift(kept.looks.sums(columns)))
    # score Z'My / m^2 and information Z'MZ / m^2 of the effects Z
    across = look.omega_x @ columns.T
    sd = max(s for s, _ in prior.pattern_nodes) * stitches / REFERENCE_STITCHES / 2.0
    told = omega @ columns.T - across.T @ look.normal_inverse @ across
    score, told = columns @ look.residual * sd / look.m**2, told * (sd / look.m) ** 2
    found, end = [], 0
    for p in searched:
        own = slice(end, end + p - 1)
        end = own.stop
        information = told[own, own] + np.eye(p - 1)
        odds = 0.5 * float(score[own] @ np.linalg.solve(information, score[own]))
        odds -= 0.5 * float(np.linalg.slogdet(information)[1])
        found.append(Proposal("pattern", p, odds + float(np.log(pattern_chance(p, prior)))))
    return [max(found, key=lambda own: own.log_odds)]


def pattern_chance(p: int, prior: Prior) -> float:
    """Return the chance of a pattern of ``p`` rounds that nobody told: the short ones likelier."""
    return prior.pattern_rate * (1.0 / p) / sum(1.0 / other for other in SEARCHED)
