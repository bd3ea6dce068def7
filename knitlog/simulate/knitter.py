"""A knitter that never lived, and the log she would have kept.

The fit is only as trustworthy as the worlds it was tried in, so the knitter can
be made awkward: tension that remembers the round before, sittings that differ,
miscounts, rounding, rounds nobody logged, a dyed repeat that varies.  Everything
comes from one seeded generator; the truth is handed over with the log.

The plain world is the running sum of state-space form

    offset[r+1] = offset[r] + drift + fix[r] + tension noise
    reading[r, c] = offset[r] + home[c] + reading noise

with every reading wrapped at the stitch count, as a knitter counts.
"""

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from knitlog.drift.log import DriftLog, Fix, Reading, Stint

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Knitter:
    """Whose hands these are."""

    drift: float = 0.0
    """Mean drift, stitches/round."""
    tension_noise_sd: float = 0.7
    """Spread of one round's own tension error, stitches."""
    reading_noise_sd: float = 0.5
    """Spread of a reading, stitches."""
    tension_memory: float = 0.0
    """Correlation of one round's tension error with the next round's (AR(1)), 0 to 1."""
    sitting_sd: float = 0.0
    """Spread of drift between sittings, stitches/round."""
    rounds_per_sitting: int = 6
    """Rounds knitted in one sitting."""
    miscount_rate: float = 0.0
    """Share of readings that are grossly wrong."""
    miscount_range: tuple[float, float] = (5.0, 20.0)
    """Smallest and largest miscount, stitches, either way."""
    rounding: float = 0.0
    """Readings are rounded to multiples of this, stitches; 0 for none."""
    sittings_noted: bool = False
    """Whether the log says which sitting a reading belongs to."""
    missing_rate: float = 0.0
    """Share of rounds nobody logged (never the first or the last)."""
    repeat_variation: float = 0.0
    """Spread of one dyed repeat's length, as a share of it."""


@dataclass(frozen=True, slots=True)
class Work:
    """What is on the needles."""

    stitches: int = 128
    """Stitches in a round."""
    rounds: int = 15
    """Rounds knitted."""
    repeats: int = 1
    """Colour repeats a round."""
    homes: tuple[float, ...] = (40.0,)
    """Where each logged colour change falls in round 1, stitches."""
    drift_changes: tuple[tuple[int, float], ...] = ()
    """(first round, change of drift) for changes nobody logged."""
    fixes: tuple[Fix, ...] = ()
    """Fixes made and logged."""
    fix_error_sd: float = 0.0
    """How far a fix misses, as a share of it."""
    stints: tuple[tuple[Stint, float], ...] = ()
    """(stint, its true drift) for changes that were logged, after the first."""
    needle_mm: float | None = None
    """Needle of the first stint, mm."""
    repeat_length_mm: float | None = None
    """Repeat length, mm."""


@dataclass(frozen=True, slots=True)
class KnittedLog:
    """A log and the truth behind it."""

    log: DriftLog
    offsets: FloatArray
    """True offset against round 1, stitches, shape (rounds + ahead,)."""
    drift: float
    """True mean drift at the last round, stitches/round."""
    tension_noise_sd: float
    reading_noise_sd: float
    miscounts: tuple[tuple[int, int], ...] = field(default=())
    """(round, change) of every gross miscount."""


def knit(knitter: Knitter, work: Work, seed: int, *, ahead: int = 0) -> KnittedLog:
    """Knit ``work`` and log it.

    ``ahead`` more rounds are knitted but not logged, so that a forecast can be held
    against what came.  The same seed gives the same log.
    """
    rng = np.random.default_rng(seed)
    total = work.rounds + ahead
    drift = _drift_by_round(knitter, work, total)
    noise = _tension_noise(knitter, total, rng)
    if knitter.repeat_variation:
        # each repeat's own length error moves every later colour change
        noise = noise + rng.normal(
            0.0, knitter.repeat_variation * work.stitches / np.sqrt(work.repeats), total
        )
    step = drift + noise + _sitting_shift(knitter, total, rng)
    for fix in work.fixes:
        if fix.after_round < total:
            miss = 1.0 + rng.normal(0.0, work.fix_error_sd)
            step[fix.after_round] -= fix.taken_out * miss
    step[0] = 0.0
    offsets = np.cumsum(step)

    stints = (Stint(1, work.stitches, work.needle_mm), *(stint for stint, _ in work.stints))
    logged = rng.random(work.rounds) >= knitter.missing_rate
    logged[[0, -1]] = True
    readings: list[Reading] = []
    miscounts: list[tuple[int, int]] = []
    for index in np.flatnonzero(logged):
        number = int(index) + 1
        stitches = next(s.stitches for s in reversed(stints) if s.first_round <= number)
        for change, home in enumerate(work.homes, start=1):
            value = home * stitches / work.stitches + offsets[index]
            value += rng.normal(0.0, knitter.reading_noise_sd)
            if rng.random() < knitter.miscount_rate:
                value += rng.choice((-1.0, 1.0)) * rng.uniform(*knitter.miscount_range)
                miscounts.append((number, change))
            if knitter.rounding:
                value = round(value / knitter.rounding) * knitter.rounding
            sitting = int(index) // knitter.rounds_per_sitting if knitter.sittings_noted else None
            readings.append(Reading(number, float(value % stitches), change, sitting))
    log = DriftLog(
        readings=tuple(readings),
        stints=stints,
        fixes=work.fixes,
        repeats=work.repeats,
        repeat_length_mm=work.repeat_length_mm,
    )
    return KnittedLog(
        log=log,
        offsets=offsets,
        drift=float(drift[work.rounds - 1]),
        tension_noise_sd=knitter.tension_noise_sd,
        reading_noise_sd=knitter.reading_noise_sd,
        miscounts=tuple(miscounts),
    )


def _drift_by_round(knitter: Knitter, work: Work, total: int) -> FloatArray:
    drift = np.full(total, knitter.drift)
    for stint, value in work.stints:
        drift[stint.first_round - 1 :] = value
    for first, change in work.drift_changes:
        drift[first - 1 :] += change
    return drift


def _tension_noise(knitter: Knitter, total: int, rng: np.random.Generator) -> FloatArray:
    fresh = rng.normal(0.0, knitter.tension_noise_sd, total)
    memory = knitter.tension_memory
    if not memory:
        return fresh
    # e[r+1] = rho e[r] + sqrt(1 - rho^2) fresh, so that sd(e) stays the same
    noise = fresh.copy()
    for r in range(1, total):
        noise[r] = memory * noise[r - 1] + np.sqrt(1.0 - memory**2) * fresh[r]
    return noise


def _sitting_shift(knitter: Knitter, total: int, rng: np.random.Generator) -> FloatArray:
    if not knitter.sitting_sd:
        return np.zeros(total)
    sittings = -(-total // knitter.rounds_per_sitting)
    shift = rng.normal(0.0, knitter.sitting_sd, sittings)
    return np.repeat(shift, knitter.rounds_per_sitting)[:total]
