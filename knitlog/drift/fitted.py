"""The fit's answer, told in the knitter's terms."""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from knitlog.drift.accounts import Blend, Weighed, blend
from knitlog.drift.assemble import Account, segments
from knitlog.drift.log import DriftLog
from knitlog.drift.mixture import estimate, estimates, quantiles, weights
from knitlog.drift.path import offset_path
from knitlog.drift.prior import Prior
from knitlog.drift.result import (
    AlternativeReading,
    Break,
    Direction,
    Draws,
    Estimate,
    FloatArray,
    Forecast,
    OffsetPath,
    StintDrift,
    Suspect,
)
from knitlog.drift.sections import Section, sections
from knitlog.drift.unwrap import Unwrapping

IN_LINE_SHARE = 0.005
"""A drift under this share of the stitch count counts as in line (0.6 on 128: five rounds
for three stitches; common practice, no source)."""
NAME_MISCOUNT = 0.5
NAME_BREAK = 0.5


@dataclass(frozen=True)
class DriftFit:
    """What the log says of the drift, with its spread.

    Positive drift: the colour changes land past the last ones, the stitches take too
    little yarn.  Offsets are against the target, and against where each colour change
    fell in the first round logged (or its stated home).
    """

    log: DriftLog
    prior: Prior
    last_round: int
    """Number of the last logged round."""
    rounds_logged: int
    """How many rounds have a reading."""
    drift: Estimate
    """Stitches/round, now."""
    offset: Estimate
    """Stitches, at the last logged round (fixes made since included)."""
    yarn_per_stitch_mm: Estimate | None
    """mm; None where the repeat's length is not known."""
    target_yarn_per_stitch_mm: float | None
    """mm."""
    yarn_error_percent: Estimate
    """Yarn per stitch against its target, %."""
    tension_noise_sd: float
    """Spread of one round's own tension error, stitches (posterior mean)."""
    reading_noise_sd: float
    """Spread of a reading, stitches (posterior mean)."""
    direction: Direction
    suspects: tuple[Suspect, ...]
    breaks: tuple[Break, ...]
    alternatives: tuple[AlternativeReading, ...]
    warnings: tuple[str, ...]
    _best: Weighed = field(repr=False)
    _blend: Blend = field(repr=False)

    @property
    def stitches(self) -> int:
        """Return the stitches in a round now."""
        return self.log.stints[-1].stitches

    @cached_property
    def path(self) -> OffsetPath:
        """Return the readings' offsets and the fitted offset at every round."""
        return offset_path(
            self.log, self._best, self.prior, self.tension_noise_sd, self.reading_noise_sd
        )

    @cached_property
    def stint_drifts(self) -> tuple[StintDrift, ...]:
        """Return the drift of every stint, and of every stretch after an unlogged change."""
        return _stint_drifts(self.log, self._best)

    @cached_property
    def sections(self) -> tuple[Section, ...]:
        """Return yarn per stitch around the round, where two or more changes are logged."""
        return sections(self.log, self._best)

    def forecast(self, rounds_ahead: int) -> Forecast:
        """Return the offset of each of the next ``rounds_ahead`` rounds if nothing is done."""
        b = self._blend
        ahead = np.arange(1, rounds_ahead + 1)
        rho = b.memory[:, None]
        # sum of rho^i, i = 1..h: what is left of the last tension error
        powers = rho ** np.arange(rounds_ahead + 1)
        lasting = np.cumsum(powers[:, 1:], axis=1)
        mean = b.mean[:, 1:2] + ahead * b.mean[:, 0:1] + lasting * b.mean[:, 2:3]
        row = np.stack([np.broadcast_to(ahead, lasting.shape), np.ones(lasting.shape), lasting], -1)
        variance = np.einsum("nhi,nij,nhj->nh", row, b.cov, row)
        # fresh noise of round j lasts as 1 + rho + ... up to h: w^2 (1 - rho^2) sum of squares
        fresh = np.cumsum(np.cumsum(powers[:, :-1], axis=1) ** 2, axis=1)
        variance = variance + (b.tension_sd[:, None] ** 2) * (1.0 - rho**2) * fresh
        # coming sittings differ too: sd * sqrt(rounds of a sitting * rounds ahead)
        sitting = np.minimum(ahead, self._rounds_per_sitting) * ahead
        variance = variance + b.sitting_sd[:, None] ** 2 * sitting
        centre = b.weight @ mean
        sd = np.sqrt(b.weight @ (variance + (mean - centre) ** 2))
        low, high = quantiles(b.weight, mean, np.sqrt(variance), np.array([0.025, 0.975]))
        return Forecast(self.last_round + ahead, centre, sd, low, high)

    @property
    def _rounds_per_sitting(self) -> float:
        sitting = self._best.line.readings.sitting
        if sitting is None:
            return 1.0
        return (self._best.line.last + 1) / len(np.unique(sitting))

    def draws(self, size: int, seed: int) -> Draws:
        """Return ``size`` joint draws of what is not known, the same for the same seed."""
        b = self._blend
        rng = np.random.default_rng(seed)
        pick = rng.choice(len(b.weight), size=size, p=b.weight)
        value, vector = np.linalg.eigh(b.cov)
        root = vector * np.sqrt(np.maximum(value, 0.0))[:, None, :]
        draw = b.mean[pick] + np.einsum("nij,nj->ni", root[pick], rng.normal(size=(size, 3)))
        return Draws(
            drift=draw[:, 0] + self.log.target_drift,
            offset=draw[:, 1],
            tension_noise_sd=b.tension_sd[pick],
            reading_noise_sd=b.reading_sd[pick],
            tension_memory=b.memory[pick],
            tension_error=draw[:, 2],
        )


def tell(
    log: DriftLog, prior: Prior, accounts: tuple[Weighed, ...], unwrapping: Unwrapping
) -> DriftFit:
    """Put the weighed accounts of a log into words and numbers."""
    best = _likeliest(accounts)
    b = blend(accounts)
    drift, offset = estimates(b.weight, b.mean[:, :2], b.cov[:, [0, 1], [0, 1]])
    drift = _moved(drift, log.target_drift)
    count = float(log.stints[-1].stitches)
    w, m = float(b.weight @ b.tension_sd), float(b.weight @ b.reading_sd)
    suspects = _suspects(accounts, b, best)
    breaks = _breaks(log, accounts, b, best)
    others = _alternatives(log, unwrapping, drift)
    last_round = int(best.line.readings.round[-1])
    rounds_logged = 1 + int(np.count_nonzero(np.diff(best.line.readings.round)))
    target = count + log.target_drift
    return DriftFit(
        log=log,
        prior=prior,
        last_round=last_round,
        rounds_logged=rounds_logged,
        drift=drift,
        offset=offset,
        yarn_per_stitch_mm=_yarn(drift, count, log),
        target_yarn_per_stitch_mm=(
            None if log.repeat_length_mm is None else log.repeats * log.repeat_length_mm / target
        ),
        yarn_error_percent=_scaled(drift, count, 100.0 * target, -100.0),
        tension_noise_sd=w,
        reading_noise_sd=m,
        direction=_direction(b, count, others, log.target_drift),
        suspects=suspects,
        breaks=breaks,
        alternatives=others,
        warnings=_warnings(rounds_logged, suspects, breaks, others),
        _best=best,
        _blend=b,
    )


def _likeliest(accounts: tuple[Weighed, ...]) -> Weighed:
    """Return the account that has most mass over all spreads of sittings, at its best one."""
    mass: dict[Account, float] = {}
    for a in accounts:
        mass[a.account] = float(np.logaddexp(mass.get(a.account, -np.inf), a.log_mass))
    return max(accounts, key=lambda a: (mass[a.account], a.log_mass))


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


def _direction(
    b: Blend, count: float, others: tuple[AlternativeReading, ...], target: float
) -> Direction:
    from scipy.special import ndtr

    band = IN_LINE_SHARE * count
    mean, sd = b.mean[:, 0], np.sqrt(b.cov[:, 0, 0])

    def above(limit: float) -> float:
        return float(b.weight @ ndtr((mean - limit) / sd))

    if any(o.probability > 0.1 for o in others):
        return "unclear"
    if above(-band) - above(band) >= 0.8:
        return "in line"
    if above(0.0) >= 0.95:
        return "too small"
    if above(0.0) <= 0.05:
        return "too large"
    return "unclear"


def _suspects(accounts: tuple[Weighed, ...], b: Blend, best: Weighed) -> tuple[Suspect, ...]:
    found = []
    line = best.line
    for i in sorted(best.account.miscounts):
        chance = float(
            sum(p for a, p in zip(accounts, b.account, strict=True) if i in a.account.miscounts)
        )
        if chance <= NAME_MISCOUNT:
            continue
        expected = _expected(best, i)
        logged = float(line.readings.stitch[i])
        count = float(line.readings.stitches[i])
        miss = line.y[i] - expected
        found.append(
            Suspect(
                round=int(line.readings.round[i]),
                change=line.readings.changes[int(line.readings.change[i])],
                stitch=logged,
                expected=float((logged - miss) % count),
                probability=chance,
            )
        )
    return tuple(found)


def _expected(best: Weighed, i: int) -> float:
    """Return where reading ``i`` should have been, from its neighbours on the path."""
    line, reg = best.line, best.regression
    b = weights(best.mixture.log_weight) @ best.mixture.coefficients
    rest = np.array([j for j in range(len(line.y)) if j not in best.account.miscounts])
    left: FloatArray = reg.y[rest] - reg.design[rest] @ b
    between = np.interp(line.time[i], line.time[rest], left)
    return float(reg.design[i] @ (b + best.rough) + between)


def _breaks(
    log: DriftLog, accounts: tuple[Weighed, ...], b: Blend, best: Weighed
) -> tuple[Break, ...]:
    if not best.account.breaks | best.account.jumps:
        return ()
    found = []
    mean = weights(best.mixture.log_weight) @ best.mixture.coefficients + best.rough
    runs = segments(log, best.line, best.account)
    columns = best.regression.drift_columns
    for i, run in enumerate(runs):
        if run.logged:
            continue
        start = run.start
        size = float(mean[columns[i]] - mean[columns[i - 1]])
        chance = _chance(accounts, b, start)
        if chance >= NAME_BREAK:
            found.append(Break(_round_at(best, start), "drift", size, chance))
    first_jump = best.regression.first_jump
    for offset, start in enumerate(sorted(best.account.jumps)):
        chance = _chance(accounts, b, start)
        if chance >= NAME_BREAK:
            size = float(mean[first_jump + offset])
            found.append(Break(_round_at(best, start), "jump", size, chance))
    return tuple(sorted(found, key=lambda f: f.round))


def _chance(accounts: tuple[Weighed, ...], b: Blend, start: int) -> float:
    """Return the probability of accounts with a change within a few rounds of ``start``."""
    near = [any(abs(s - start) <= 3 for s in a.account.breaks | a.account.jumps) for a in accounts]
    return float(b.account @ np.array(near, dtype=float))


def _round_at(best: Weighed, index: int) -> int:
    place = int(np.searchsorted(best.line.at, index))
    if place >= len(best.line.at):
        return int(best.line.readings.round[-1])
    return int(best.line.readings.round[place]) - int(best.line.at[place]) + index


def _stint_drifts(log: DriftLog, best: Weighed) -> tuple[StintDrift, ...]:
    runs = segments(log, best.line, best.account)
    mix = best.mixture
    weight = weights(mix.log_weight)
    last_round = int(best.line.readings.round[-1])
    told = []
    for i, (run, column) in enumerate(zip(runs, best.regression.drift_columns, strict=True)):
        mean = mix.coefficients[:, column] + best.rough[column]
        drift = estimate(weight, mean, mix.coefficient_cov[:, column, column])
        first = (
            log.stints[run.stint].first_round if run.logged and i else _round_at(best, run.start)
        )
        end = (
            _round_at(best, runs[i + 1].start) - 1
            if i + 1 < len(runs) and runs[i + 1].start <= best.line.last
            else max(last_round, first)
        )
        stint = log.stints[run.stint]
        told.append(
            StintDrift(
                first_round=first,
                last_round=max(end, first),
                stitches=stint.stitches,
                needle_mm=stint.needle_mm,
                drift=_moved(drift, log.target_drift),
                logged=run.logged,
            )
        )
    return tuple(told)


def _alternatives(
    log: DriftLog, unwrapping: Unwrapping, drift: Estimate
) -> tuple[AlternativeReading, ...]:
    return tuple(
        AlternativeReading(
            drift=other,
            probability=chance,
            question=(
                f"Did the colours move {drift.mean:+.1f} or {other:+.1f} stitches a round? "
                "Follow one colour change along the yarn from one round to the next and say "
                "which it was."
            ),
        )
        for _, other, chance in unwrapping.others
    )


def _warnings(
    rounds: int,
    suspects: tuple[Suspect, ...],
    breaks: tuple[Break, ...],
    others: tuple[AlternativeReading, ...],
) -> tuple[str, ...]:
    said = []
    if rounds < 3:
        said.append(
            f"Only {rounds} round{'s are' if rounds > 1 else ' is'} logged: "
            "the drift is mostly a guess until four or five are."
        )
    said += [o.question for o in others]
    said += [
        f"Round {s.round} reads stitch {s.stitch:g} where about {s.expected:.0f} was expected: "
        "perhaps a miscount; it is left out of the fit."
        for s in suspects
    ]
    said += [
        f"Something changed around round {k.round}: the drift moved by {k.size:+.1f} "
        "stitches a round and nothing was logged."
        if k.kind == "drift"
        else f"The colours jumped by {k.size:+.1f} stitches around round {k.round} "
        "and nothing was logged."
        for k in breaks
    ]
    return tuple(said)
