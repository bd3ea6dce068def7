"""Trying the fit on knitters whose truth is known, and counting how often it lay inside."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import nan

import numpy as np
import numpy.typing as npt

from knitlog.drift import DriftFit, DriftLog, Expected, Stint, fit
from knitlog.yarn.geometry import wrap_offset
from tests.benchmarks.drift_worlds import WORLDS, World, some_knitting
from tests.simulator import Knitting, Work, hand_for, knit, percent

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
Fitting = Callable[[DriftLog], DriftFit]

AHEAD = 10
"""Rounds on at which a forecast is held against what came."""


@dataclass(frozen=True, slots=True)
class Calibration:
    """How the 95 % intervals held, shares of logs; widths and errors in stitches."""

    logs: int
    drift: float
    offset: float
    forecast: float
    """Ten rounds on."""
    next_reading: float
    """The reading of the round to come."""
    width: float
    """Mean width of the interval of the drift, stitches/round."""
    forecast_width: float
    error: float
    """Root mean square error of the drift, stitches/round."""
    oracle: float
    """The same of one who knows both noises and her creep; nan where none is set up."""
    breaks: float
    """Share of logs in which an unlogged change or jump was found."""
    suspects: float
    """Share of good readings named as miscounts."""


def calibrate(
    world: str, rounds: int, logs: int, seed: int = 1, fitting: Fitting = fit
) -> Calibration:
    """Fit ``logs`` logs of ``rounds`` rounds of a world and count.

    Offsets are those she sees: of the mark in the round.  Which turn of the colours it belongs
    to is counted by :func:`unwrap_trial`.
    """
    about = WORLDS[world]
    held, told, seen_next, asked = np.zeros(3), np.zeros(3), 0, 0
    errors, best, widths, wide = [], [], [], []
    breaks = suspects = good = 0
    for knitting, _ in some_knitting(about, rounds, logs, seed):
        log, drift = knitting.to_drift_log(), knitting.drift
        answer = fitting(log)
        period = (knitting.stitches + drift) / about.work.repeats
        late = _knitted_since(knitting, log)
        said = answer.expected(late + AHEAD)
        ahead = answer.forecast(late + AHEAD)
        offset = _offset_seen(answer, knitting)
        missed = set(knitting.miscounts)
        oracle = _oracle(knitting, about)
        readings = knitting.knit_round(logged=True)
        if readings:
            asked += 1
            seen_next += _next_held(said, late, readings[0].stitch, period)
        for _ in range(AHEAD - 1):
            knitting.knit_round()
        mark = knitting.mark_seen
        held[0] += answer.drift.low95 <= drift <= answer.drift.high95
        if offset is not None:
            told[1] += 1
            held[1] += abs(offset) <= 0.5 * (answer.offset.high95 - answer.offset.low95)
        if mark is not None:
            told[2] += 1
            told_at = knitting.in_knitting_order(float(said.stitch[-1]))
            off = wrap_offset(mark - told_at, period)
            held[2] += abs(off) <= 0.5 * (ahead.high95[-1] - ahead.low95[-1])
        errors.append(answer.drift.mean - drift)
        best.append(oracle - drift)
        widths.append(answer.drift.high95 - answer.drift.low95)
        wide.append(ahead.high95[-1] - ahead.low95[-1])
        breaks += bool(answer.breaks)
        suspects += len({(s.round, s.change) for s in answer.suspects} - missed)
        good += len(log.readings) - len(missed)
    return Calibration(
        logs=logs,
        drift=float(held[0] / logs),
        offset=float(held[1] / told[1]),
        forecast=float(held[2] / told[2]),
        next_reading=seen_next / asked,
        width=float(np.mean(widths)),
        forecast_width=float(np.mean(wide)),
        error=_rms(errors),
        oracle=_rms(best),
        breaks=breaks / logs,
        suspects=suspects / good,
    )


def _rms(values: list[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


def _offset_seen(answer: DriftFit, knitting: Knitting) -> float | None:
    """Return how far from its true offset the fit has the mark of the last round, stitches.

    None where the last round holds no mark.
    """
    mark, rows = knitting.mark_seen, answer.log.readings
    last = max(i for i, r in enumerate(rows) if r.change == 1)
    if mark is None or rows[last].round != knitting.round:
        return None
    # what the fit added to the reading to bring it over the edges of the rounds
    read = knitting.in_knitting_order(rows[last].stitch)
    over = answer.path.homes[-1] + answer.path.reading_offsets[last] - read
    return float(answer.offset.mean - over - (mark - knitting.places[0]))


def _knitted_since(knitting: Knitting, log: DriftLog) -> int:
    """Return the rounds knitted after the last one read: no mark came up in them."""
    return knitting.round - max(r.round for r in log.readings)


def _next_held(said: Expected, i: int, stitch: float, period: float) -> bool:
    """Whether the reading of round ``i`` to come fell where it was said to, as she counts it."""
    half = 0.5 * float(said.high95[i] - said.low95[i])
    return abs(wrap_offset(stitch - float(said.stitch[i]), period)) <= half


def _oracle(knitting: Knitting, about: World) -> float:
    """Return the drift by GLS with the noises, the creep and every wrap known.

    y = home + d t + g + e; Var(g) of a running sum of w^2 and of a drift that walks by v^2 a
    round; Var(e) = m^2.  Best linear unbiased (Harvey 1989, section 3.2; from memory).
    """
    plain = about in (WORLDS["constant"], WORLDS["creeps by 0.08"], WORLDS["two marks"])
    if not plain:
        return nan
    hand, rows = knitting.hand, knitting.to_drift_log().readings
    t = np.array([r.round - 1 for r in rows])
    column = np.array([r.change - 1 for r in rows])
    place = np.array(knitting.places)[column] + np.array(knitting.offsets)[t]
    away = np.array([r.stitch for r in rows]) - place
    # a round after a wrap shows another mark: one repeat on along the strand
    period = knitting.stitches + knitting.drift
    y = np.array([wrap_offset(a, period) for a in away]) + place
    rounds = knitting.round
    sums = np.tri(rounds, k=-1)  # offset[t] = the drifts of the steps before it
    w2 = hand.stitch_percent**2 / 1e4 * knitting.stitches
    walk = about.creep_sd**2 * np.tri(rounds) @ np.tri(rounds).T
    path = w2 * sums @ sums.T + sums @ walk @ sums.T
    variance = path[np.ix_(t, t)] + hand.reading_sd**2 * np.eye(len(t))
    design = np.column_stack([column == c for c in range(len(knitting.places))] + [t]).astype(float)
    pushed = np.linalg.solve(variance, np.column_stack([design, y]))
    b = np.linalg.solve(design.T @ pushed[:, :-1], design.T @ pushed[:, -1])
    now = (walk @ sums.T)[-1, t]
    return float(b[-1] + now @ np.linalg.solve(variance, y - design @ b))


@dataclass(frozen=True, slots=True)
class Robustness:
    """One or two miscounts of 5 to 20 stitches put into otherwise good logs."""

    logs: int
    moved_little: float
    """Share of logs whose drift moved by less than half its own sd."""
    named: float
    """Share of the miscounts named."""
    wrongly_named: float
    """Share of the good readings named."""


def miscount_trial(rounds: int, logs: int, seed: int = 2) -> Robustness:
    """Fit logs with and without one or two miscounts."""
    little = right = wrong = put = 0
    for i, (knitting, rng) in enumerate(some_knitting(WORLDS["constant"], rounds, logs, seed)):
        log = knitting.to_drift_log()
        readings = list(log.readings)
        where = rng.choice(len(readings), 1 + i % 2, replace=False)
        for j in where:
            size = rng.choice((-1.0, 1.0)) * rng.uniform(5.0, 20.0)
            readings[j] = replace(readings[j], stitch=float((readings[j].stitch + size) % 128))
        before = fit(log)
        after = fit(replace(log, readings=tuple(readings)))
        little += abs(after.drift.mean - before.drift.mean) < 0.5 * before.drift.sd
        named = {s.round for s in after.suspects}
        true = {readings[j].round for j in where}
        right += len(named & true)
        wrong += len(named - true)
        put += len(true)
    return Robustness(logs, little / logs, right / put, wrong / (logs * rounds - put))


@dataclass(frozen=True, slots=True)
class BreakTrial:
    """An unlogged change of tension, by this fit and by a textbook chart."""

    logs: int
    false_alarms: float
    """Share of 60-round logs without a change in which any look raised one."""
    found: float
    """Share of changes found within six rounds."""
    chart_false_alarms: float
    chart_found: float


def break_trial(change: float, logs: int, seed: int = 3) -> BreakTrial:
    """Look at every round of 60 without a change, and for six rounds after one.

    The chart is a two-sided CUSUM on the differences of the unwrapped readings (NIST/SEMATECH
    e-Handbook of Statistical Methods, section 6.3.2.3), mean and sd from the first 12
    rounds, allowance half the change, its limit set for the fit's own share of false alarms.
    """
    alarms, peaks = 0, []
    for knitting, _ in some_knitting(WORLDS["constant"], 60, logs, seed):
        log = knitting.to_drift_log()
        alarms += any(fit(_until(log, r)).breaks for r in range(_PHASE_ONE + 1, 61))
        peaks.append(_cusum(*_unwrapped(knitting), change)[_PHASE_ONE:].max())
    false = alarms / logs
    limit = float(np.quantile(peaks, 1.0 - max(false, 1.0 / logs)))
    found = charted = 0
    for i in range(logs):
        rng = np.random.default_rng((seed, i, 1))
        start = int(rng.integers(15, 46))
        at_once = ((start, percent(change) * float(rng.choice((-1.0, 1.0)))),)
        world = replace(WORLDS["constant"], hand={"sudden": at_once})
        ((knitting, _),) = some_knitting(world, start + 5, 1, int(rng.integers(1 << 30)))
        log = knitting.to_drift_log()
        found += any(
            any(abs(b.round - start) <= 6 for b in fit(_until(log, r)).breaks)
            for r in range(start + 2, start + 6)
        )
        rounds, readings = _unwrapped(knitting)
        path = _cusum(rounds, readings, change)
        charted += bool((path[rounds >= start] > limit).any())
    chart_false = float(np.mean(np.array(peaks) > limit))
    return BreakTrial(logs, false, found / logs, chart_false, charted / logs)


_PHASE_ONE = 12


def _until(log: DriftLog, last: int) -> DriftLog:
    return replace(log, readings=tuple(r for r in log.readings if r.round <= last))


def _unwrapped(knitting: Knitting) -> tuple[IntArray, FloatArray]:
    """Return the rounds read and each reading followed along the strand, stitches."""
    rows = knitting.to_drift_log().readings
    rounds = np.array([r.round for r in rows])
    place = knitting.places[0] + np.array(knitting.offsets)[rounds - 1]
    period = knitting.stitches + knitting.drift
    away = [wrap_offset(r.stitch - p, period) for r, p in zip(rows, place, strict=True)]
    return rounds, place + away


def _cusum(rounds: IntArray, readings: FloatArray, change: float) -> FloatArray:
    """Return the larger of both one-sided sums at each reading, in sds."""
    step = np.diff(readings) / np.diff(rounds)
    mean, sd = step[: _PHASE_ONE - 1].mean(), step[: _PHASE_ONE - 1].std(ddof=1)
    allowance = 0.5 * abs(change) / sd
    high = low = 0.0
    path = np.zeros(len(readings))
    for i, z in enumerate((step - mean) / sd, start=1):
        high = max(0.0, high + z - allowance)
        low = max(0.0, low - z - allowance)
        path[i] = max(high, low)
    return path


@dataclass(frozen=True, slots=True)
class StintTrial:
    """The drift after a logged change, with the old stint and without it."""

    logs: int
    rounds_after: int
    error: float
    """Root mean square error, stitches/round."""
    error_afresh: float
    """The same, from the new stint's readings alone; nan before there are any."""
    covered: float
    bias: float
    """Mean of what the next reading missed its forecast by, counted the way the change would
    have it off, stitches."""
    next_held: float
    """Share of next readings inside their 95 % interval."""
    asked: float
    """Share of logs in which something unlogged was found or a reading doubted."""


def stint_trial(kind: str, rounds_after: int, logs: int, seed: int = 4) -> StintTrial:
    """Change the needle (``kind`` "needle") or the stitch count after 12 rounds, and log it.

    Her answer to a needle step varies by a quarter about the loop law, and the needle does
    0.3 stitches a round of its own.
    """
    before = 12
    errors, afresh, missed, held, held_next, asked = [], [], [], 0, 0, 0
    for i, (knitting, rng) in enumerate(
        some_knitting(WORLDS["constant"], before, logs, seed + rounds_after)
    ):
        sign = (-1, 1)[i % 2]
        needle, count = (4.5 + 0.5 * sign, 128) if kind == "needle" else (4.5, 128 + 7 * sign)
        if kind == "needle":
            own = percent(float(rng.normal(0.0, 0.3)))
            knitting.hand = replace(knitting.hand, needle_percent=((needle, own),))
            knitting.change_needle(needle)
        else:
            knitting.change_stitches(count)
        for _ in range(rounds_after):
            knitting.knit_round()
        log, truth = knitting.to_drift_log(), knitting.drift
        answer = fit(log)
        errors.append(answer.drift.mean - truth)
        held += answer.drift.low95 <= truth <= answer.drift.high95
        asked += bool(answer.breaks or answer.suspects)
        late = tuple(r for r in log.readings if r.round > before)
        if late:
            alone = fit(DriftLog(late, (Stint(1, count, needle),)))
            afresh.append(alone.drift.mean - truth)
        late = _knitted_since(knitting, log)
        said, period = answer.expected(late + 1), knitting.stitches + truth
        reading = knitting.knit_round(logged=True)
        if reading:
            stitch = reading[0].stitch
            missed.append(sign * wrap_offset(stitch - float(said.stitch[late]), period))
            held_next += _next_held(said, late, stitch, period)
    return StintTrial(
        logs=logs,
        rounds_after=rounds_after,
        error=_rms(errors),
        error_afresh=_rms(afresh) if afresh else nan,
        covered=held / logs,
        bias=float(np.mean(missed)),
        next_held=held_next / len(missed),
        asked=asked / logs,
    )


@dataclass(frozen=True, slots=True)
class UnwrapTrial:
    """Positions known only up to a visible repeat, drift up to 0.4 of it a round."""

    logs: int
    wrong: float
    """Share of logs with any wrong turn."""
    wrong_unasked: float
    """Share with a wrong turn and no question put to the knitter."""


def unwrap_trial(
    stitches: int, repeats: int, rounds: int, logs: int, missing_rate: float = 0.0, seed: int = 5
) -> UnwrapTrial:
    """Fit logs in which any of a round's marks may have been read."""
    visible = stitches / repeats
    work = Work(
        stitches=stitches,
        repeats=repeats,
        repeat_length_mm=1524.0 / repeats * stitches / 128,
        places=(0.3 * visible,),
    )
    wrong = unasked = 0
    for i in range(logs):
        rng = np.random.default_rng((seed, i, rounds))
        hand = hand_for(
            work,
            drift=float(rng.uniform(-0.4, 0.4) * visible),
            tension_noise_sd=0.7 * (stitches / 128) ** 0.5,
            missing_rate=missing_rate,
            reads_any=True,
        )
        knitting = knit(hand, work, int(rng.integers(1 << 40)), rounds)
        answer = fit(knitting.to_drift_log())
        path, rows = answer.path, knitting.to_drift_log().readings
        at = np.array([r.round for r in rows]) - 1
        read = np.array([r.stitch for r in rows])
        # over the edge: she counts N / k a repeat, the marks lie (N + d) / k apart
        said = (path.homes[at - at[0]] + path.reading_offsets - read) / visible
        apart = (stitches + knitting.drift) / repeats
        true = (np.array(knitting.offsets)[at] + knitting.places[0] - read) / apart
        turns = np.rint(said) - np.rint(true)
        astray = bool(np.ptp(turns) > 0)
        wrong += astray
        unasked += astray and not answer.alternatives
    return UnwrapTrial(logs, wrong / logs, unasked / logs)
