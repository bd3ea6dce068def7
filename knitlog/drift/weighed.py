"""Hypotheses that have been weighed, and their posterior mixture."""

from dataclasses import dataclass, field

import numpy as np

from knitlog.drift.fit_result import BoolArray, FloatArray, IntArray
from knitlog.drift.hypothesis import (
    Hypothesis,
    Move,
    columns,
    found_moves,
    known,
    moves,
    trend_rounds,
)
from knitlog.drift.likelihood import Kept, Mixture, Regression, values_at_end
from knitlog.drift.mixture import weights
from knitlog.drift.pattern import contrasts
from knitlog.drift.prior import Prior
from knitlog.drift.response import tension_step
from knitlog.drift.timeline import Timeline

VALUES = 6
"""What is told of the present: drift, position, last tension error, answer, home, growth."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """One hypothesis with its answer."""

    hypothesis: Hypothesis
    line: Timeline
    log_mass: float
    """Log evidence plus log prior of the hypothesis."""
    mixture: Mixture
    kept: Kept
    """The readings that count, in the regression about ``rough``."""
    rough: FloatArray
    """What was taken out before fitting, shape (p,)."""
    sitting_sd: float = 0.0
    """Spread of the drift between sittings in this hypothesis, stitches/round."""

    @property
    def regression(self) -> Regression:
        """Return the regression as fitted."""
        return self.kept.regression


@dataclass(frozen=True)
class Posterior:
    """All hypotheses' nodes side by side; n nodes in all."""

    weight: FloatArray
    """Shape (n,), sums to 1."""
    mean: FloatArray
    """(drift, position, last tension error, answer to a tension asked, home, growth), shape (n, 6).

    The drift of a round to come, less target, all that was told included.  Position, unwrapped
    and less the target's own drift, and home are of the first colour change, at the last round;
    growth is by how much the drift grows evenly, stitches/round a round.
    """
    cov: FloatArray
    """Shape (n, 6, 6)."""
    tension_sd: FloatArray
    reading_sd: FloatArray
    memory: FloatArray
    creep_sd: FloatArray
    """Spread by which the drift changes from one round to the next, stitches/round."""
    trends: BoolArray
    """Whether the drift may change evenly."""
    sitting_sd: FloatArray
    """Spread of the drift between sittings, stitches/round."""
    pattern: FloatArray
    """Means of the effects of the pattern's p rounds, stitches, shape (n, p)."""
    pattern_cov: FloatArray
    """Shape (n, p, p)."""
    hypothesis: FloatArray
    """Posterior probability of each hypothesis, in the order given."""
    hypothesis_of: IntArray
    """Index of each node's hypothesis, shape (n,)."""
    later: tuple[Move, ...] = field(default=())
    """What was told of rounds not yet read."""


def posterior_of(found: tuple[Weighed, ...], prior: Prior) -> Posterior:
    """Return the nodes of the hypotheses ``found``, weighted by their own masses."""
    line = found[0].line
    told = moves(line, prior)
    now = line.first_round + line.last
    later = tuple(m for m in told if m.first_round > now)
    p = max(w.hypothesis.pattern for w in found)
    mean, cov, effect, effect_cov = [], [], [], []
    for w in found:
        rows, end, const = _present(w, told, prior)
        own_mean, own_cov = values_at_end(w.mixture, rows, end)
        own_mean += rows @ w.rough + const
        n = len(own_mean)
        # needles and counts told but not yet read: what they should do, give or take
        if w.regression.response_column is None:
            own_mean[:, 3], own_cov[:, 3, 3] = (
                prior.tension_response_mean,
                prior.tension_response_sd**2,
            )
        own_cov[:, 0, 0] += sum(m.sd**2 for m in later if m.lasting)
        mean.append(own_mean)
        cov.append(own_cov)
        effects, effects_cov = _effects(w, p)
        effect.append(np.broadcast_to(effects, (n, p)))
        effect_cov.append(np.broadcast_to(effects_cov, (n, p, p)))
    per = [len(w.mixture.log_weight) for w in found]

    def joined(name: str) -> FloatArray:
        return np.concatenate([getattr(w.mixture, name) for w in found])

    def noted(name: str) -> FloatArray:
        return np.concatenate([w.mixture.of_node(getattr(w.mixture.noise, name)) for w in found])

    log_weight = [w.mixture.log_weight + (w.log_mass - w.mixture.log_evidence) for w in found]
    return Posterior(
        weight=weights(np.concatenate(log_weight)),
        mean=np.concatenate(mean),
        cov=np.concatenate(cov),
        tension_sd=joined("tension_sd"),
        reading_sd=joined("reading_sd"),
        memory=noted("memory"),
        creep_sd=noted("creep") * joined("tension_sd"),
        trends=joined("trend_sd") > 0.0,
        sitting_sd=np.repeat([w.sitting_sd for w in found], per),
        pattern=np.concatenate(effect),
        pattern_cov=np.concatenate(effect_cov),
        hypothesis=weights(np.array([w.log_mass for w in found])),
        hypothesis_of=np.repeat(np.arange(len(found)), per).astype(np.int64),
        later=later,
    )


def _present(
    w: Weighed, told: tuple[Move, ...], prior: Prior
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return what the present values are of b (6, p), of the path's end (6, 3) and of neither."""
    line, reg = w.line, w.regression
    now = line.first_round + line.last
    rows, end, const = (
        np.zeros((VALUES, reg.design.shape[1])),
        np.zeros((VALUES, 3)),
        np.zeros(VALUES),
    )
    spot = line.spots_at(np.array([now]))
    rows[0, reg.drift_column] = 1.0
    rows[0, reg.trend_columns] = line.last / trend_rounds(line, prior)
    rows[5, reg.trend_columns] = 1.0 / trend_rounds(line, prior)
    lasting = [m.lasting for m in found_moves(line, w.hypothesis, prior)]
    rows[0, reg.move_columns] = lasting
    rows[1] = columns(line, w.hypothesis, prior, spot, sittings=w.sitting_sd > 0.0)[0]
    rows[4, 0] = 1.0
    if reg.response_column is not None:
        asked_last = max(line.log.tension, key=lambda t: t.first_round).percent
        rows[0, reg.response_column] = tension_step(line.log, asked_last)
        rows[3, reg.response_column] = 1.0
    end[0, 0] = end[1, 1] = end[2, 2] = 1.0
    const[0] = sum(m.mean for m in told if m.lasting)
    const[1] = known(line, told, spot)[0]
    return rows, end, const


def _effects(w: Weighed, p: int) -> tuple[FloatArray, FloatArray]:
    """Return means and covariance of the pattern's effects, one normal for all nodes."""
    own = w.hypothesis.pattern
    if own < 2:
        return np.zeros(p), np.zeros((p, p))
    at, mix = w.regression.pattern_columns, w.mixture
    weight, basis = weights(mix.log_weight), contrasts(own)
    each = mix.coefficients[:, at]
    mean = weight @ each
    cov = np.einsum("n,npq->pq", weight, mix.coefficient_cov[:, at, at])
    cov += np.einsum("n,np,nq->pq", weight, each - mean, each - mean)
    effects = basis @ (mean + w.rough[at])
    # another hypothesis may have the longer pattern: this one's, over and over
    turn = np.arange(p) % own
    return effects[turn], (basis @ cov @ basis.T)[np.ix_(turn, turn)]
