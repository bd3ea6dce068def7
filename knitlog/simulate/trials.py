"""Trying the fit on knitters whose truth is known.

Each trial draws its knitters and its logs from one seed, fits them, and counts how
often the truth lay where the fit said.  The printed tables of the project's benchmarks
are made of these.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from knitlog.drift import DriftLog, Prior, Reading, Stint, fit
from knitlog.simulate.knitter import KnittedLog, Knitter, Work, knit

FloatArray = npt.NDArray[np.floating[Any]]

WORLDS: dict[str, Knitter] = {
    "own": Knitter(),
    "AR(1) 0.4": Knitter(tension_memory=0.4),
    "sittings": Knitter(sitting_sd=0.5),
    "sittings noted": Knitter(sitting_sd=0.5, sittings_noted=True),
    "noted, alike": Knitter(sittings_noted=True),
    "whole": Knitter(rounding=1.0),
    "halves": Knitter(rounding=0.5),
    "miscounts": Knitter(miscount_rate=0.05),
    "missing": Knitter(missing_rate=0.25),
    "repeat 1 %": Knitter(repeat_variation=0.01),
}
"""The fit's own world, and others that differ from it.  Drift is normal with sd 3; the noises
are log-normal about 0.7 and 0.5 stitches with a log sd of 0.35, all on 128 stitches."""

HOMES = {1: (40.0,), 2: (30.0, 94.0)}
DRIFT_SD, NOISE_LOG_SD = 3.0, 0.35


def some_knitter(base: Knitter, rng: np.random.Generator) -> Knitter:
    """Return ``base`` with a drift and noises of her own."""
    return replace(
        base,
        drift=float(rng.normal(0.0, DRIFT_SD)),
        tension_noise_sd=base.tension_noise_sd * float(np.exp(rng.normal(0.0, NOISE_LOG_SD))),
        reading_noise_sd=base.reading_noise_sd * float(np.exp(rng.normal(0.0, NOISE_LOG_SD))),
    )


def some_logs(
    base: Knitter, work: Work, logs: int, seed: int, ahead: int = 0
) -> Iterator[KnittedLog]:
    """Yield ``logs`` logs of ``work``, each of another knitter."""
    for i in range(logs):
        rng = np.random.default_rng((seed, i))
        yield knit(some_knitter(base, rng), work, int(rng.integers(1 << 40)), ahead=ahead)


@dataclass(frozen=True, slots=True)
class Calibration:
    """How the 95 % intervals held, shares of logs; errors in stitches."""

    logs: int
    drift: float
    offset: float
    forecast: float
    """Ten rounds on."""
    drift_error: float
    """Root mean square error of the drift, stitches/round."""
    drift_ratio: float
    """The same over that of an oracle who knows both noises."""
    offset_ratio: float
    forecast_ratio: float
    wrongly_named: float
    """Share of good readings named as miscounts."""
    rightly_named: float
    """Share of gross miscounts named; nan where there were none."""


TOLD = Prior(
    drift_sd_share=DRIFT_SD / 128.0,
    noise_log_sd=NOISE_LOG_SD,
    memory_nodes=((0.0, 1.0),),
    miscount_rate=1e-9,
    breaks_a_log=1e-9,
    jump_rate=1e-9,
)
"""What a fit would believe that knew the spreads of the "own" world, and that nothing odd
happens there: the least error anyone can have who is not told each knitter's own noises."""


def calibrate(
    world: str, rounds: int, changes: int, logs: int, seed: int = 1, prior: Prior | None = None
) -> Calibration:
    """Fit ``logs`` logs of ``rounds`` rounds of a world and count."""
    held = np.zeros(3)
    error = np.zeros((logs, 3))
    best = np.zeros((logs, 3))
    wrong = good = right = bad = 0
    work = Work(rounds=rounds, homes=HOMES[changes])
    for i, knitted in enumerate(some_logs(WORLDS[world], work, logs, seed, ahead=10)):
        answer = fit(knitted.log, prior)
        ahead = answer.forecast(10)
        truth = (knitted.drift, knitted.offsets[rounds - 1], knitted.offsets[rounds + 9])
        said = (answer.drift, answer.offset)
        held[:2] += [e.low95 <= t <= e.high95 for e, t in zip(said, truth, strict=False)]
        held[2] += ahead.low95[-1] <= truth[2] <= ahead.high95[-1]
        error[i] = np.array([answer.drift.mean, answer.offset.mean, ahead.mean[-1]]) - truth
        best[i] = np.array(_oracle(knitted, HOMES[changes])) - truth
        named = {(s.round, s.change) for s in answer.suspects}
        missed = set(knitted.miscounts)
        wrong += len(named - missed)
        right += len(named & missed)
        bad += len(missed)
        good += len(knitted.log.readings) - len(missed)
    rms = np.sqrt(np.mean(error**2, axis=0))
    rms_best = np.sqrt(np.mean(best**2, axis=0))
    ratio = rms / rms_best
    return Calibration(
        logs=logs,
        drift=float(held[0] / logs),
        offset=float(held[1] / logs),
        forecast=float(held[2] / logs),
        drift_error=float(rms[0]),
        drift_ratio=float(ratio[0]),
        offset_ratio=float(ratio[1]),
        forecast_ratio=float(ratio[2]),
        wrongly_named=wrong / good,
        rightly_named=right / bad if bad else float("nan"),
    )


def _oracle(knitted: KnittedLog, homes: tuple[float, ...]) -> tuple[float, float, float]:
    """Return drift, offset and forecast by GLS with both noises and every wrap known.

    y = home + drift t + g + e, Var(g_s, g_t) = w^2 min(s, t), Var(e) = m^2; gross
    miscounts are known too.
    """
    bad = set(knitted.miscounts)
    rows = [r for r in knitted.log.readings if (r.round, r.change) not in bad]
    count = knitted.log.stints[0].stitches
    t = np.array([r.round - 1.0 for r in rows])
    column = np.array([r.change - 1 for r in rows])
    place = np.array(homes)[column] + knitted.offsets[t.astype(int)]
    wrapped = np.array([r.stitch for r in rows]) - place
    y = wrapped - count * np.round(wrapped / count) + place
    design = np.column_stack([column == c for c in range(len(homes))] + [t]).astype(float)
    w2, m2 = knitted.tension_noise_sd**2, knitted.reading_noise_sd**2
    variance = w2 * np.minimum.outer(t, t) + m2 * np.eye(len(t))
    pushed = np.linalg.solve(variance, np.column_stack([design, y]))
    b = np.linalg.solve(design.T @ pushed[:, :-1], design.T @ pushed[:, -1])
    last = t[-1]
    level = w2 * np.minimum(t, last) @ np.linalg.solve(variance, y - design @ b)
    offset = float(b[-1] * last + level)
    return float(b[-1]), offset, offset + 10.0 * float(b[-1])


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
    for i, knitted in enumerate(some_logs(Knitter(), Work(rounds=rounds), logs, seed)):
        rng = np.random.default_rng((seed, i, 1))
        where = rng.choice(rounds, 1 + i % 2, replace=False)
        readings = list(knitted.log.readings)
        for j in where:
            size = rng.choice((-1.0, 1.0)) * rng.uniform(5.0, 20.0)
            readings[j] = replace(readings[j], stitch=float((readings[j].stitch + size) % 128))
        before = fit(knitted.log)
        after = fit(replace(knitted.log, readings=tuple(readings)))
        little += abs(after.drift.mean - before.drift.mean) < 0.5 * before.drift.sd
        named = {s.round for s in after.suspects}
        true = {int(j) + 1 for j in where}
        right += len(named & true)
        wrong += len(named - true)
        put += len(true)
    return Robustness(logs, little / logs, right / put, wrong / (logs * rounds - put))


@dataclass(frozen=True, slots=True)
class BreakTrial:
    """An unlogged change of drift, by this fit and by a textbook chart."""

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
    total = 60
    alarms, peaks = 0, []
    for knitted in some_logs(Knitter(), Work(rounds=total), logs, seed):
        alarms += any(fit(_until(knitted.log, r)).breaks for r in range(_PHASE_ONE + 1, total + 1))
        peaks.append(_cusum(_unwrapped(knitted), change)[_PHASE_ONE:].max())
    false = alarms / logs
    limit = float(np.quantile(peaks, 1.0 - max(false, 1.0 / logs)))
    found = charted = 0
    for i in range(logs):
        rng = np.random.default_rng((seed, i, 1))
        start = int(rng.integers(15, 46))
        size = float(change * rng.choice((-1.0, 1.0)))
        work = Work(rounds=start + 5, drift_changes=((start, size),))
        knitted = knit(some_knitter(Knitter(), rng), work, int(rng.integers(1 << 40)))
        found += any(
            any(abs(b.round - start) <= 6 for b in fit(_until(knitted.log, r)).breaks)
            for r in range(start + 2, start + 6)
        )
        path = _cusum(_unwrapped(knitted), change)
        charted += bool((path[start - 1 :] > limit).any())
    chart_false = float(np.mean(np.array(peaks) > limit))
    return BreakTrial(logs, false, found / logs, chart_false, charted / logs)


_PHASE_ONE = 12


def _until(log: DriftLog, last: int) -> DriftLog:
    return replace(log, readings=tuple(r for r in log.readings if r.round <= last))


def _unwrapped(knitted: KnittedLog) -> FloatArray:
    stitch = np.array([r.stitch for r in knitted.log.readings])
    place = 40.0 + knitted.offsets[: len(stitch)]
    away = stitch - place
    return place + away - 128.0 * np.round(away / 128.0)


def _cusum(readings: FloatArray, change: float) -> FloatArray:
    """Return the larger of both one-sided sums at each round, in sds, shape (rounds,)."""
    step = np.diff(readings)
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
    """The same, from the new stint's readings alone."""
    covered: float


def stint_trial(kind: str, rounds_after: int, logs: int, seed: int = 4) -> StintTrial:
    """Change the needle (``kind`` "needle") or the stitch count after 12 rounds.

    The knitter's own answer to a needle step varies by a quarter about the loop law.
    """
    before, y = 12, 2.0
    errors, afresh, held = [], [], 0
    for i in range(logs):
        rng = np.random.default_rng((seed, i, rounds_after))
        knitter = some_knitter(Knitter(), rng)
        if kind == "needle":
            needle = 4.5 + float(rng.choice((-0.5, -0.25, 0.25, 0.5)))
            step = np.log((needle + y) / (4.5 + y)) * np.exp(rng.normal(0.0, 0.25))
            stint = Stint(before + 1, 128, needle)
            new = (128.0 + knitter.drift) * np.exp(-step) - 128.0
        else:
            more = round(knitter.drift) or 1
            stint = Stint(before + 1, 128 + more, 4.5)
            new = knitter.drift - more
        new = float(new + rng.normal(0.0, 0.3))
        work = Work(rounds=before + rounds_after, needle_mm=4.5, stints=((stint, new),))
        log = replace(knit(knitter, work, int(rng.integers(1 << 40))).log, yarn_thickness_mm=y)
        drift = fit(log).drift
        errors.append(drift.mean - new)
        held += drift.low95 <= new <= drift.high95
        late = tuple(r for r in log.readings if r.round > before)
        alone = fit(DriftLog(late, (replace(stint, first_round=1),)))
        afresh.append(alone.drift.mean - new)
    rms, rms_afresh = (float(np.sqrt(np.mean(np.square(e)))) for e in (errors, afresh))
    return StintTrial(logs, rounds_after, rms, rms_afresh, held / logs)


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
    """Fit logs in which any of a round's ``repeats`` equal changes may have been read."""
    visible = stitches / repeats
    wrong = unasked = 0
    for i in range(logs):
        rng = np.random.default_rng((seed, i, rounds))
        knitter = replace(
            some_knitter(Knitter(missing_rate=missing_rate), rng),
            drift=float(rng.uniform(-0.4, 0.4) * visible),
        )
        work = Work(stitches=stitches, rounds=rounds, repeats=repeats, homes=(0.3 * visible,))
        knitted = knit(knitter, work, int(rng.integers(1 << 40)))
        readings = tuple(
            Reading(r.round, float((r.stitch + visible * rng.integers(repeats)) % stitches))
            for r in knitted.log.readings
        )
        answer = fit(replace(knitted.log, readings=readings))
        rows = np.array([r.round - 1 for r in readings])
        turns = answer.path.reading_offsets - knitted.offsets[rows]
        astray = bool(np.ptp(np.round((turns - turns[0]) / visible)) > 0)
        wrong += astray
        unasked += astray and not answer.alternatives
    return UnwrapTrial(logs, wrong / logs, unasked / logs)
