"""A fit that says what a test wants it to say, so that no test waits for the real one."""

from dataclasses import dataclass, field
from types import SimpleNamespace

import numpy as np

from knitlog.advice import Plan, Situation
from knitlog.advice.belief import believe
from knitlog.advice.fixes import fix_ways
from knitlog.advice.rollout import Table
from knitlog.drift import AlternativeReading, Draws, DriftLog, Estimate, Prior, Reading, Stint
from knitlog.drift.fit_result import AccountSummary, Break, StintDrift, Suspect
from knitlog.drift.log import TensionAsked
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
    yarn_per_stitch_mm: Estimate | None = None
    suspects: tuple[Suspect, ...] = ()
    breaks: tuple[Break, ...] = ()
    accounts: tuple[AccountSummary, ...] = ()
    account_drifts: tuple[tuple[float, float, float], ...] = ()
    """Share, drift and offset of each account, where there are several."""
    response: float = 0.6
    response_sd: float = 0.2
    creep: float = 0.0
    tension_asked_percent: float = 0.0
    place_taken_in: int | None = None
    place_moves: float = 0.0

    @property
    def offset_now(self) -> float:
        return self.offset.mean

    @property
    def tension_response(self) -> Estimate:
        return estimate(self.response, self.response_sd)

    @property
    def path(self) -> SimpleNamespace:
        return SimpleNamespace(mean=np.linspace(0, self.offset.mean, self.last_round))

    def forecast(self, rounds: int) -> SimpleNamespace:
        ahead = np.arange(1, rounds + 1)
        return SimpleNamespace(mean=self.offset.mean + self.drift.mean * ahead)

    def expected(self, rounds: int) -> SimpleNamespace:
        home = self.log.readings[-1].stitch - self.offset.mean
        return SimpleNamespace(mean=home + self.forecast(rounds).mean)

    def draws(self, size: int, seed: int) -> Draws:
        luck = np.random.default_rng(seed).standard_normal((2, size))
        # exactly standard, so that means and spreads come out as asked
        luck -= luck.mean(axis=1, keepdims=True)
        luck[1] -= luck[0] * (luck[0] @ luck[1]) / (luck[0] @ luck[0])
        luck /= luck.std(axis=1, ddof=1, keepdims=True)
        z, other = luck
        rest = np.sqrt(1 - self.correlation**2)
        drift = self.drift.mean + self.drift.sd * z
        offset = self.offset.mean + self.offset.sd * (self.correlation * z + rest * other)
        account = np.zeros(size, dtype=np.int64)
        start = 0
        for i, (share, mean, at) in enumerate(self.account_drifts):
            some = slice(start, start + round(share * size))
            account[some] = i
            drift[some] = mean + 0.1 * z[some]
            offset[some] = at + 0.3 * other[some]
            start = some.stop
        return Draws(
            drift=drift,
            offset=offset,
            tension_noise_sd=np.full(size, self.tension_noise_sd),
            reading_noise_sd=np.full(size, self.reading_noise_sd),
            tension_memory=np.full(size, self.memory),
            tension_error=np.zeros(size),
            drift_creep_sd=np.full(size, self.creep),
            response=np.clip(self.response + self.response_sd * other, 0.05, None),
            account=account,
            pattern=np.zeros((size, 1)),
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
    tension: tuple[TensionAsked, ...] = (),
    **other: object,
) -> StandInFit:
    log = DriftLog(
        readings=tuple(Reading(r, home) for r in range(1, rounds + 1)),
        stints=(Stint(1, stitches, needle_mm),),
        repeat_length_mm=REPEAT_MM * stitches / 128,
        target_drift=target_drift,
        flat=flat,
        tension=tension,
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


def game(plan: Plan, situation: Situation, rounds: int = 10) -> Table:
    """One plan, as it begins on four draws; 15 stitches lie on a tapestry needle's way."""
    fixes = fix_ways(situation.stitches, 15, situation.costs, situation.limits)
    return Table((plan,), situation, believe(situation, 4, 0), fixes, rounds, 0)
