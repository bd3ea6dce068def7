"""What the posterior mixture says of the rounds to come."""

import numpy as np

from knitlog.drift.fit_result import Draws, FloatArray, Forecast, IntArray
from knitlog.drift.hypothesis import asked, shape
from knitlog.drift.mixture import TAILS, quantiles
from knitlog.drift.path import blended, rounds_of, smoothed
from knitlog.drift.pattern import worked
from knitlog.drift.places import Places
from knitlog.drift.prior import Prior
from knitlog.drift.response import tension_step
from knitlog.drift.timeline import Timeline
from knitlog.drift.weighed import VALUES, Posterior, Weighed


def places_of(best: Weighed, posterior: Posterior, prior: Prior) -> Places:
    """Return the places of the log, those taken anew as fitted by the ``best`` hypothesis."""
    line, log = best.line, best.line.log
    homes = len(line.readings.changes)
    weight = np.exp(best.mixture.log_weight - best.mixture.log_weight.max())
    fitted = (weight / weight.sum()) @ best.mixture.coefficients[:, :homes] + best.rough[:homes]
    if not log.new_homes:
        return Places(line, fitted)
    share, mean, _ = blended(smoothed(best, prior), "position")
    path, rounds = share @ mean, rounds_of(best)
    anew: list[tuple[int, float]] = []
    for taken in sorted(log.new_homes, key=lambda h: h.first_round):
        target = log.target_drift * (taken.first_round - line.first_round)
        number = np.array([taken.first_round])
        here = float(line.apart_at(number)[0])
        if taken.first_round > int(rounds[-1]):
            # still to be knitted: where the change is expected there
            before = Places(line, fitted, tuple(anew))
            place = float(ahead(posterior, best, before, number).mean[0] + before.at(number)[0])
        else:
            place = float(path[max(taken.first_round - line.first_round, 0)])
        if taken.stitch is not None:
            count = float(line.stitches_at(number)[0])
            period = count / max(log.repeats, 1.0)
            turns = round((place - here + target - taken.stitch) / period)
            place = taken.stitch + turns * period - target + here
        anew.append((taken.first_round, place - here))
    return Places(line, fitted, tuple(anew))


def ahead(posterior: Posterior, best: Weighed, places: Places, rounds: IntArray) -> Forecast:
    """Return the offset of ``rounds`` to come (numbers) if nothing is done."""
    line, now = best.line, best.line.first_round + best.line.last
    h = (rounds - now).astype(float)
    rho = posterior.memory[:, None]
    # sum of rho^i, i = 1..h: what is left of the last tension error
    powers = rho ** np.arange(rounds[-1] - now + 1)
    index = rounds - now - 1
    lasting = np.cumsum(powers[:, 1:], axis=1)[:, index]
    moved, moved_variance = _told_later(posterior, line, rounds)
    rows = _rows(line, places, rounds, lasting)
    mean = np.einsum("nhi,ni->nh", rows, posterior.mean) + moved - _fixed_place(places, rounds)
    variance = np.einsum("nhi,nij,nhj->nh", rows, posterior.cov, rows) + moved_variance
    pattern = _pattern_steps(posterior, line, rounds)
    mean += posterior.pattern @ pattern.T
    variance += np.einsum("hp,npq,hq->nh", pattern, posterior.pattern_cov, pattern)
    # fresh noise of round j lasts as 1 + rho + ... up to h: w^2 (1 - rho^2) sum of squares
    fresh = np.cumsum(np.cumsum(powers[:, :-1], axis=1) ** 2, axis=1)[:, index]
    variance += (posterior.tension_sd[:, None] ** 2) * (1.0 - rho**2) * fresh
    # a change of drift in round j lasts h - j + 1 rounds: v^2 times the sum of their squares
    variance += posterior.creep_sd[:, None] ** 2 * (h * (h + 1.0) * (2.0 * h + 1.0) / 6.0)
    # coming sittings differ too: sd * sqrt(rounds of a sitting * rounds ahead)
    sitting = np.minimum(h, _rounds_per_sitting(line)) * h
    variance += posterior.sitting_sd[:, None] ** 2 * sitting
    weight = posterior.weight
    centre = weight @ mean
    sd = np.sqrt(weight @ (variance + (mean - centre) ** 2))
    low, high = quantiles(weight, mean, np.sqrt(variance), TAILS)
    return Forecast(rounds, centre, sd, low, high)


def _rows(line: Timeline, places: Places, rounds: IntArray, lasting: FloatArray) -> FloatArray:
    """Return what of the present values makes the offset of each round, shape (n, h, 6)."""
    now = line.first_round + line.last
    h = rounds - now
    rows = np.zeros((*lasting.shape, VALUES))
    rows[:, :, 0] = h
    rows[:, :, 1] = 1.0
    rows[:, :, 2] = lasting
    rows[:, :, 5] = _growing(line, rounds)
    if line.log.tension:
        # the drift holds what was asked last: take off what is not yet asked
        last = max(line.log.tension, key=lambda t: t.first_round).percent
        here = asked(line, line.spots_at(np.array([now])))[0]
        rows[:, :, 3] = asked(line, line.spots_at(rounds)) - here - h * tension_step(line.log, last)
    own = np.array([not places.anew_at(r) for r in rounds.tolist()])
    rows[:, :, 4] = np.where(own, -line.stitches_at(rounds) / places.base, 0.0)
    return rows


def _growing(line: Timeline, rounds: IntArray) -> FloatArray:
    """Return what a drift that grows by 1 a round now has come to in ``rounds``, stitches.

    Less and less: in all it gains as much again as it has in the log, not without end (the damped
    trend; Gardner & McKenzie 1985, "Forecasting trends in time series"; from memory).
    """
    h = rounds - line.first_round - line.last
    left = 1.0 - 1.0 / (1.0 + line.rounds)
    # sum of left^i, i = 1..j, of the j-th round to come; of the last as far as the spot is into it
    gain = np.append(0.0, np.cumsum(left ** np.arange(1, int(h[-1]) + 1)))
    total: FloatArray = np.cumsum(gain)[h - 1] + line.spots_at(rounds).share * gain[h]
    return total


def _fixed_place(places: Places, rounds: IntArray) -> FloatArray:
    """Return what of the places is a number, where a home is still being found."""
    anew = np.array([places.anew_at(r) for r in rounds.tolist()])
    fixed: FloatArray = np.where(anew, places.at(rounds), places.line.apart_at(rounds))
    return fixed


def _told_later(
    posterior: Posterior, line: Timeline, rounds: IntArray
) -> tuple[FloatArray, FloatArray]:
    """Return mean and variance of what was told of rounds to come, beside the drift it leads to."""
    h = rounds - line.first_round - line.last
    mean, variance = np.zeros(len(rounds)), np.zeros(len(rounds))
    spots = line.spots_at(rounds)
    for move in posterior.later:
        felt = shape(line, move, spots)
        # the drift holds what changes it already
        held = h if move.lasting else np.zeros(len(h))
        mean += move.mean * (felt - held)
        variance += move.sd**2 * (felt**2 - held**2)
    return mean, variance


def _pattern_steps(posterior: Posterior, line: Timeline, rounds: IntArray) -> FloatArray:
    """Return what of the pattern's effects moves the change from now to ``rounds``, (h, p)."""
    p = posterior.pattern.shape[1]
    now = line.spots_at(np.array([line.first_round + line.last]))
    then = line.spots_at(rounds)
    steps: FloatArray = worked(p, then.round, then.share) - worked(p, now.round, now.share)
    return steps


def _rounds_per_sitting(line: Timeline) -> float:
    sitting = line.readings.sitting
    return 1.0 if sitting is None else (line.last + 1) / len(np.unique(sitting))


def as_counted(
    line: Timeline, position: FloatArray, rounds: IntArray, column: int, drift: float
) -> FloatArray:
    """Return unwrapped positions as she would count them in ``rounds``: wrapped, and as seen."""
    mine = np.flatnonzero(line.readings.change == column)[-1]
    counts = line.stitches_at(rounds)
    over = line.unwrapped[mine] - line.readings.stitch[mine]
    period = (counts + drift) / max(line.log.repeats, 1.0)
    stitch = position - over
    # over the edge of the round: the next mark of the yarn comes a visible repeat later
    stitch = stitch - np.ceil(np.maximum(stitch - counts, 0.0) / period) * period
    stitch = stitch + np.ceil(np.maximum(-stitch, 0.0) / period) * period
    stitch = np.clip(stitch, 0.0, counts)
    if line.log.flat:
        stitch = np.where(rounds % 2 == 0, counts - stitch, stitch)
    counted: FloatArray = stitch
    return counted


def draws(posterior: Posterior, best: Weighed, places: Places, size: int, seed: int) -> Draws:
    """Return ``size`` joint draws of what is not known, the same for the same seed."""
    line = best.line
    rng = np.random.default_rng(seed)
    pick = rng.choice(len(posterior.weight), size=size, p=posterior.weight)
    luck = rng.normal(size=(size, VALUES))
    draw = posterior.mean[pick] + np.einsum("nij,nj->ni", _roots(posterior.cov[pick]), luck)
    now = line.first_round + line.last
    offset = draw[:, 1] - places.at(np.array([now]))[0]
    if not places.anew_at(now):
        ratio = float(line.stitches_at(np.array([now]))[0]) / places.base
        offset = draw[:, 1] - draw[:, 4] * ratio - line.apart_at(np.array([now]))[0]
    for move in posterior.later:
        if not move.lasting:
            offset = offset + rng.normal(move.mean, move.sd, size)
    p = posterior.pattern.shape[1]
    rounds = now + np.arange(p + 1)
    spots = line.spots_at(rounds)
    steps = np.diff(worked(p, rounds, spots.share), axis=0)
    luck = rng.normal(size=(size, p))
    effects = posterior.pattern[pick]
    effects = effects + np.einsum("npq,nq->np", _roots(posterior.pattern_cov[pick]), luck)
    return Draws(
        drift=draw[:, 0] + line.log.target_drift,
        offset=offset,
        tension_noise_sd=posterior.tension_sd[pick],
        reading_noise_sd=posterior.reading_sd[pick],
        tension_memory=posterior.memory[pick],
        tension_error=draw[:, 2],
        drift_creep_sd=posterior.creep_sd[pick],
        response=draw[:, 3],
        account=posterior.hypothesis_of[pick],
        pattern=effects @ steps.T,
    )


def _roots(cov: FloatArray) -> FloatArray:
    """Return the symmetric square root of each covariance, shape (n, v, v).

    It is one and the same however eigenvectors are signed and ordered, which differs from one
    processor's linear algebra to another's.
    """
    value, vector = np.linalg.eigh(cov)
    stretched = vector * np.sqrt(np.maximum(value, 0.0))[:, None, :]
    root: FloatArray = stretched @ vector.transpose(0, 2, 1)
    return root
