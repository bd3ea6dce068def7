"""A fit that says what a test wants it to say, so that no test waits for the real one."""

from dataclasses import dataclass, field

import numpy as np

from knitlog.advice import Situation
from knitlog.drift import AlternativeReading, Draws, DriftLog, Estimate, Prior, Reading, Stint
from knitlog.drift.result import StintDrift
from knitlog.yarn.gauge import Gauge

# 128 stitches of 20 mm of yarn: a 4.5 mm needle and yarn of 1.9 mm by the loop law
REPEAT_MM = 2560.0


def estimate(mean: float, sd: float) -> Estimate:
    return Estimate(mean, sd, mean - 1.96 * sd, mean + 1.96 * sd)


@dataclass
class StandInFit:
    """What the advice reads of a fit."""

    drift: Estimate
    offset: Estimate
    log: DriftLog
    rounds_logged: int = 8
    last_round: int = 8
    tension_noise_sd: float = 0.7
    reading_noise_sd: float = 0.5
    memory: float = 0.0
    correlation: float = 0.0
    prior: Prior = field(default_factory=Prior)
    stint_drifts: tuple[StintDrift, ...] = ()
    alternatives: tuple[AlternativeReading, ...] = ()
    warnings: tuple[str, ...] = ()
    yarn_per_stitch_mm: Estimate | None = None

    def draws(self, size: int, seed: int) -> Draws:
        luck = np.random.default_rng(seed).standard_normal((2, size))
        # exactly standard, so that means and spreads come out as asked
        luck -= luck.mean(axis=1, keepdims=True)
        luck[1] -= luck[0] * (luck[0] @ luck[1]) / (luck[0] @ luck[0])
        luck /= luck.std(axis=1, ddof=1, keepdims=True)
        z, other = luck
        rest = np.sqrt(1 - self.correlation**2)
        return Draws(
            drift=self.drift.mean + self.drift.sd * z,
            offset=self.offset.mean + self.offset.sd * (self.correlation * z + rest * other),
            tension_noise_sd=np.full(size, self.tension_noise_sd),
            reading_noise_sd=np.full(size, self.reading_noise_sd),
            tension_memory=np.full(size, self.memory),
            tension_error=np.zeros(size),
        )


def stand_in(
    drift: float = 0.0,
    drift_sd: float = 0.2,
    offset: float = 0.0,
    offset_sd: float = 0.4,
    *,
    stitches: int = 128,
    needle_mm: float | None = 4.5,
    home: float = 64.0,
    rounds: int = 8,
    target_drift: float = 0.0,
    flat: bool = False,
    **other: object,
) -> StandInFit:
    log = DriftLog(
        readings=tuple(Reading(r, home) for r in range(1, rounds + 1)),
        stints=(Stint(1, stitches, needle_mm),),
        repeat_length_mm=REPEAT_MM * stitches / 128,
        target_drift=target_drift,
        flat=flat,
        yarn_thickness_mm=2.2,
    )
    return StandInFit(
        drift=estimate(drift, drift_sd),
        offset=estimate(offset, offset_sd),
        log=log,
        rounds_logged=rounds,
        last_round=rounds,
        yarn_per_stitch_mm=estimate(20.0, 0.05),
        stint_drifts=(
            StintDrift(1, rounds, stitches, needle_mm, estimate(drift, drift_sd), logged=True),
        ),
        **other,
    )


def ask(fit: StandInFit, **facts: object) -> Situation:
    said: dict[str, object] = {
        "stitches": fit.log.stints[-1].stitches,
        "repeat_length_mm": fit.log.repeat_length_mm,
        "needle_mm": fit.log.stints[-1].needle_mm,
        "needles_owned_mm": (4.5,),
        "multiple": 1,
        "rounds_planned": fit.last_round + 60,
        "tolerance": 3.0,
        "gauge": Gauge(2.0),
    }
    return Situation(fit=fit, **{**said, **facts})
