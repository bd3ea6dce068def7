"""From weighed hypotheses to what is told: named numbers, miscounts, changes, other readings."""

import numpy as np

from knitlog.drift.fit_result import (
    AccountSummary,
    AlternativeReading,
    Break,
    Direction,
    Estimate,
    Happening,
    PatternEffects,
    PatternFound,
    SlowChange,
    Suspect,
)
from knitlog.drift.fitted import IN_LINE_SHARE, DriftFit
from knitlog.drift.future import places_of
from knitlog.drift.hypothesis import Hypothesis, asked_in
from knitlog.drift.log import DriftLog
from knitlog.drift.mixture import estimate, estimates
from knitlog.drift.path import Smoothed, blended, rounds_of, smoothed
from knitlog.drift.pattern import told_pattern
from knitlog.drift.places import Places
from knitlog.drift.prior import Prior
from knitlog.drift.unwrap import Unwrapping
from knitlog.drift.weighed import Posterior, Weighed, posterior_of

NAME_MISCOUNT = 0.5
NAME_BREAK = 0.6
NAME_PATTERN = 0.5
_SAME_DATE = 6
"""Rounds by which a change may be dated otherwise and be the same."""
_CREEPS, _STEADY = 0.5, 0.2
"""A slow change is told where the drift is likelier to change slowly than not, and this unlikely
to have changed neither so nor at once."""
_LEAST_VARIANCE = 1e-20
"""(stitches/round)^2: rounding can leave less than nothing where noise is next to none."""


def tell(
    log: DriftLog, prior: Prior, found: tuple[Weighed, ...], unwrapping: Unwrapping
) -> DriftFit:
    """Put the weighed hypotheses of a log into named numbers."""
    top = _likeliest(found)
    found = (top, *sorted((w for w in found if w is not top), key=lambda w: -w.log_mass))
    b = posterior_of(found, prior)
    places = places_of(top, b, prior)
    drift, response = estimates(b.weight, b.mean[:, [0, 3]], b.cov[:, [0, 3], [0, 3]])
    drift = _moved(drift, log.target_drift)
    count = float(log.stints[-1].stitches)
    others = tuple(
        AlternativeReading(drift=other, probability=chance, taken=drift.mean)
        for _, other, chance in unwrapping.others
    )
    read = top.line.readings
    rounds_logged = 1 + int(np.count_nonzero(np.diff(read.round)))
    target = count + log.target_drift
    offset = _offset(b, places, np.ones(len(b.weight), dtype=bool))
    accounts = _summaries(found, b, places, drift, offset)
    suspects, breaks = _suspects(found, b, prior), _breaks(found, b, prior)
    return DriftFit(
        log=log,
        prior=prior,
        last_round=int(read.round[-1]),
        rounds_logged=rounds_logged,
        drift=drift,
        offset=offset,
        yarn_per_stitch_mm=_yarn(drift, count, log),
        target_yarn_per_stitch_mm=(
            None if log.repeat_length_mm is None else log.repeats * log.repeat_length_mm / target
        ),
        yarn_error_percent=_scaled(drift, count, 100.0 * target, -100.0),
        tension_noise_sd=float(b.weight @ b.tension_sd),
        reading_noise_sd=float(b.weight @ b.reading_sd),
        direction=_direction(b, count, others),
        suspects=suspects,
        breaks=breaks,
        alternatives=others,
        tension_response=response,
        tension_asked_percent=asked_in(log, int(read.round[-1]) + 1),
        pattern=_pattern(found, b, count + drift.mean),
        pattern_found=_pattern_found(log, found, b),
        slow_change=_slow_change(found, b, prior),
        accounts=accounts,
        _found=found,
        _posterior=b,
        _places=places,
    )


def _likeliest(found: tuple[Weighed, ...]) -> Weighed:
    """Return the likeliest of those that say the same, where they have most mass together.

    The same but for a few rounds by which they date a change, and for the spread of sittings.
    """

    def together(w: Weighed) -> float:
        alike = [o.log_mass for o in found if _says_the_same(w.hypothesis, o.hypothesis)]
        return float(np.logaddexp.reduce(alike))

    return max(found, key=lambda w: (together(w), w.log_mass))


def _says_the_same(one: Hypothesis, other: Hypothesis) -> bool:
    if (one.miscounts, one.pattern) != (other.miscounts, other.pattern):
        return False
    pairs = ((one.breaks, other.breaks), (one.jumps, other.jumps))
    return all(
        len(a) == len(b)
        and all(abs(i - j) <= _SAME_DATE for i, j in zip(sorted(a), sorted(b), strict=True))
        for a, b in pairs
    )


def _offset(b: Posterior, places: Places, mine: np.ndarray) -> Estimate:
    """Return the offset at the last logged round, fixes made since included."""
    now = np.array([places.line.first_round + places.line.last])
    row = np.zeros(b.mean.shape[1])
    row[1] = 1.0
    mean = b.mean[mine] @ row
    if places.anew_at(int(now[0])):
        mean = mean - places.at(now)[0]
    else:
        row[4] = -float(places.line.stitches_at(now)[0]) / places.base
        mean = b.mean[mine] @ row - places.line.apart_at(now)[0]
    variance = np.einsum("i,nij,j->n", row, b.cov[mine], row)
    for move in b.later:
        if not move.lasting:
            mean = mean + move.mean
            variance = variance + move.sd**2
    weight = b.weight[mine]
    return estimate(weight / weight.sum(), mean, variance)


def _summaries(
    found: tuple[Weighed, ...], b: Posterior, places: Places, drift: Estimate, offset: Estimate
) -> tuple[AccountSummary, ...]:
    """Return what each hypothesis says; one alone says what all together do."""
    alone, told = len(found) == 1, []
    for i, (own, chance) in enumerate(zip(found, b.hypothesis, strict=True)):
        mine = b.hypothesis_of == i
        if not alone:
            weight = b.weight[mine] / b.weight[mine].sum()
            own_drift = estimate(weight, b.mean[mine, 0], b.cov[mine, 0, 0])
            drift = _moved(own_drift, own.line.log.target_drift)
            offset = _offset(b, places, mine)
        numbers = own.line.readings.round
        supposed = own.hypothesis
        happenings = [
            *(Happening("miscount", int(numbers[j])) for j in supposed.miscounts),
            *(Happening("drift", own.line.first_round + j) for j in supposed.breaks),
            *(Happening("jump", own.line.first_round + j) for j in supposed.jumps),
        ]
        told.append(
            AccountSummary(
                probability=float(chance),
                happenings=tuple(sorted(happenings, key=lambda h: h.round)),
                drift=drift,
                offset=offset,
            )
        )
    return tuple(told)


def _moved(e: Estimate, by: float) -> Estimate:
    return Estimate(e.mean + by, e.sd, e.low95 + by, e.high95 + by)


def _scaled(drift: Estimate, count: float, top: float, plus: float) -> Estimate:
    """Return top / (count + drift) + plus, falling in drift."""
    floor = 0.1 * count

    def value(d: float) -> float:
        return top / max(count + d, floor) + plus

    whole = max(count + drift.mean, floor)
    # E[1/x] to second order
    mean = top / whole * (1.0 + (drift.sd / whole) ** 2) + plus
    sd = abs(top) / whole**2 * drift.sd
    return Estimate(mean, sd, value(drift.high95), value(drift.low95))


def _yarn(drift: Estimate, count: float, log: DriftLog) -> Estimate | None:
    # k L = (N + d) s
    if log.repeat_length_mm is None:
        return None
    return _scaled(drift, count, log.repeats * log.repeat_length_mm, 0.0)


def _direction(b: Posterior, count: float, others: tuple[AlternativeReading, ...]) -> Direction:
    from scipy.special import ndtr

    band = IN_LINE_SHARE * count
    mean, sd = b.mean[:, 0], np.sqrt(np.maximum(b.cov[:, 0, 0], _LEAST_VARIANCE))

    def above(limit: float) -> float:
        return float(b.weight @ ndtr((mean - limit) / sd))

    if any(o.probability > 0.05 for o in others):
        return "unclear"
    if above(-band) - above(band) >= 0.8:
        return "in line"
    if above(0.0) >= 0.95:
        return "too small"
    if above(0.0) <= 0.05:
        return "too large"
    return "unclear"


def _suspects(found: tuple[Weighed, ...], b: Posterior, prior: Prior) -> tuple[Suspect, ...]:
    best = found[0]
    named = {}
    for i in sorted(best.hypothesis.miscounts):
        shares = zip(found, b.hypothesis, strict=True)
        chance = float(sum(p for w, p in shares if i in w.hypothesis.miscounts))
        if chance > NAME_MISCOUNT:
            named[i] = chance
    if not named:
        return ()
    weight, mean, _ = blended(smoothed(best, prior), "position")
    path, line, told = weight @ mean, best.line, []
    homes = best.regression.homes
    share = np.exp(best.mixture.log_weight - best.mixture.log_weight.max())
    home = (share / share.sum()) @ best.mixture.coefficients[:, :homes] + best.rough[:homes]
    for i, chance in named.items():
        column = int(line.readings.change[i])
        expected = path[line.at[i]] + home[column] - home[0]
        logged, count = float(line.readings.stitch[i]), float(line.readings.stitches[i])
        told.append(
            Suspect(
                round=int(line.readings.round[i]),
                change=line.readings.changes[column],
                stitch=logged,
                expected=float((logged - (line.y[i] - expected)) % count),
                probability=chance,
            )
        )
    return tuple(told)


def _breaks(found: tuple[Weighed, ...], b: Posterior, prior: Prior) -> tuple[Break, ...]:
    best = found[0]
    told = []
    supposed = best.hypothesis.breaks | best.hypothesis.jumps
    likely = {start: _chance(found, b, start) for start in supposed}
    if not any(chance >= NAME_BREAK for chance in likely.values()):
        return ()
    paths = smoothed(best, prior)
    for start, chance in sorted(likely.items()):
        if chance < NAME_BREAK:
            continue
        weight, mean, _ = blended(paths, "drift")
        drift = weight @ mean
        number = best.line.first_round + _date(found, b, start)
        if start in best.hypothesis.breaks:
            told.append(Break(number, "drift", float(drift[start] - drift[start - 1]), chance))
        else:
            weight, mean, _ = blended(paths, "position")
            position = weight @ mean
            size = float(position[start] - position[start - 1] - drift[start])
            told.append(Break(number, "jump", size, chance))
    return tuple(told)


def _chance(found: tuple[Weighed, ...], b: Posterior, start: int) -> float:
    """Return the probability of hypotheses with a change within a few rounds of ``start``."""
    near = [
        any(abs(s - start) <= _SAME_DATE for s in w.hypothesis.breaks | w.hypothesis.jumps)
        for w in found
    ]
    return float(b.hypothesis @ np.array(near, dtype=float))


def _date(found: tuple[Weighed, ...], b: Posterior, start: int) -> int:
    """Return when a change near ``start`` happened, as all hypotheses that have it date it."""
    dates, shares = [], []
    for w, share in zip(found, b.hypothesis.tolist(), strict=True):
        near = [s for s in w.hypothesis.breaks | w.hypothesis.jumps if abs(s - start) <= _SAME_DATE]
        dates += near
        shares += [share] * len(near)
    return round(float(np.average(dates, weights=shares)))


def _pattern(found: tuple[Weighed, ...], b: Posterior, whole: float) -> PatternEffects | None:
    """Return the effects of the likeliest hypothesis' pattern, mixed over all that have it."""
    p = found[0].hypothesis.pattern
    if p < 2:
        return None
    alike = [i for i, w in enumerate(found) if w.hypothesis.pattern == p]
    mine = np.isin(b.hypothesis_of, alike)
    weight = b.weight[mine] / b.weight[mine].sum()
    variance = np.einsum("npp->np", b.pattern_cov[mine])[:, :p]
    effects = estimates(weight, b.pattern[mine][:, :p], variance)
    # (N + d + a) s' = (N + d) s
    percent = tuple(
        Estimate(
            -100.0 * e.mean / whole,
            100.0 * e.sd / whole,
            -100.0 * e.high95 / whole,
            -100.0 * e.low95 / whole,
        )
        for e in effects
    )
    return PatternEffects(p, tuple(effects), percent)


def _pattern_found(log: DriftLog, found: tuple[Weighed, ...], b: Posterior) -> PatternFound | None:
    p = found[0].hypothesis.pattern
    if p < 2 or told_pattern(log) is not None:
        return None
    alike = np.array([w.hypothesis.pattern == p for w in found], dtype=float)
    chance = float(b.hypothesis @ alike)
    return PatternFound(p, chance) if chance >= NAME_PATTERN else None


def _slow_change(found: tuple[Weighed, ...], b: Posterior, prior: Prior) -> SlowChange | None:
    """Return how the drift has come to change since it began to, where it clearly has."""
    best = found[0]
    sudden = np.array([bool(w.hypothesis.breaks) for w in found])
    slow = (b.creep_sd > 0.0) | b.trends
    creeps = slow & ~sudden[b.hypothesis_of]
    steady = ~slow & ~sudden[b.hypothesis_of]
    if float(b.weight @ creeps) < _CREEPS or float(b.weight @ steady) > _STEADY:
        return None
    paths = smoothed(best, prior, changing=True)
    rounds = rounds_of(best)
    here = rounds >= best.line.log.stints[int(best.line.readings.stint[-1])].first_round
    if not paths or np.count_nonzero(here) < 3:
        return None
    return _since(paths, rounds, here)


def _since(paths: list[Smoothed], rounds: np.ndarray, here: np.ndarray) -> SlowChange | None:
    weight, mean, variance = blended(paths, "to_now")
    crept = np.where(here, weight @ mean, 0.0)
    most = float(np.abs(crept).max())
    # the latest round from which nearly all of it came
    index = int(np.flatnonzero(np.abs(crept) >= 0.9 * most)[-1])
    change = estimate(weight, mean[:, index], variance[:, index])
    if change.low95 <= 0.0 <= change.high95:
        return None
    return SlowChange(int(rounds[index]), change)
