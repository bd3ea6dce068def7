"""The fitted offset at every round, for the chart.

Smoothed at the noises' posterior mean (rho = 0), with the homes' and drifts'
own spread included.
"""

import numpy as np

from knitlog.drift.accounts import Weighed
from knitlog.drift.assemble import Timeline, regression
from knitlog.drift.local_level import LocalLevel
from knitlog.drift.log import DriftLog
from knitlog.drift.prior import Prior
from knitlog.drift.readings import Sorted
from knitlog.drift.result import FloatArray, OffsetPath


def _with_every_round(line: Timeline, rounds: int) -> Timeline:
    """Return the timeline with one empty reading of the first change added a round."""
    r = line.readings
    index = np.arange(rounds)
    near = np.clip(np.searchsorted(line.at, index), 0, len(line.at) - 1)
    column = int(r.change[0])

    def joined(own: FloatArray, extra: FloatArray) -> FloatArray:
        return np.concatenate([own, extra])

    readings = Sorted(
        order=np.concatenate([r.order, np.full(rounds, -1)]),
        round=np.concatenate([r.round, line.first_round + index]),
        change=np.concatenate([r.change, np.full(rounds, column)]),
        stitch=joined(r.stitch, np.zeros(rounds)),
        stitches=joined(r.stitches, r.stitches[near]),
        period=joined(r.period, r.period[near]),
        stint=np.concatenate([r.stint, r.stint[near]]),
        sitting=None if r.sitting is None else np.concatenate([r.sitting, r.sitting[near]]),
        changes=r.changes,
    )
    return Timeline(
        readings=readings,
        y=joined(line.y, np.zeros(rounds)),
        time=joined(line.time, index.astype(float)),
        at=np.concatenate([line.at, index]),
        first_round=line.first_round,
        last=line.last,
    )


def offset_path(log: DriftLog, best: Weighed, prior: Prior, w: float, m: float) -> OffsetPath:
    """Return readings and fitted path of the best account, noises ``w`` and ``m`` in stitches."""
    line = best.line
    own, rounds = len(line.y), line.last + 1
    kept, full, rough = best.kept, best.regression, best.rough
    every = _with_every_round(line, rounds)
    wide = regression(log, every, best.account, prior, best.sitting_sd)
    homes = len(line.readings.changes)
    rows = wide.design[own:].copy()
    rows[:, :homes] = 0.0

    level = LocalLevel.of(kept.places, (w / m) ** 2)
    lifted = level.lift(kept.pushed)
    # [X y]'Omega^-1 [X y]
    inner = kept.own - kept.pushed @ lifted.T
    normal = inner[:-1, :-1] / m**2 + full.prior_precision
    cov = np.linalg.inv(normal)
    coefficient = cov @ (inner[:-1, -1] / m**2 + full.prior_precision @ full.prior_mean)

    # offset[t] = c_t'b + g[t];  E g = S^-1 Z'(y - X b)
    lift = np.zeros((rounds, len(lifted)))
    lift[1:] = lifted.T[: rounds - 1]
    step = np.zeros(rounds)
    step[1:] = level.diagonal[: rounds - 1]
    sway = rows - lift[:, :-1]
    mean = rows @ rough + sway @ coefficient + lift[:, -1]
    variance = m**2 * step + np.einsum("tp,pq,tq->t", sway, cov, sway)

    whole = rough + coefficient
    offsets = line.y - full.design[:, :homes] @ whole[:homes]
    back = np.argsort(line.readings.order)
    numbers = np.array(line.readings.changes)[line.readings.change]
    return OffsetPath(
        rounds=line.first_round + np.arange(rounds),
        mean=mean,
        sd=np.sqrt(np.maximum(variance, 0.0)),
        reading_rounds=line.readings.round[back],
        reading_changes=numbers[back],
        reading_offsets=offsets[back],
    )
