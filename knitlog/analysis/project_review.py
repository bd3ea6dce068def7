"""Looking back on a project, running or finished: what happened, in numbers.

:mod:`knitlog.report.review_words` says it in words.  Sign: an offset or drift above zero is past
its place.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from knitlog.analysis.time_spent import TimeSpent, time_spent

if TYPE_CHECKING:
    from datetime import datetime

    from knitlog.analysis.analysis import Analysis
    from knitlog.analysis.past import Past
    from knitlog.drift import Break, DriftFit, Estimate, StintDrift
    from knitlog.journal.events import FixMade
    from knitlog.journal.project import ProjectState

_ON_THE_MARK = 0.25
"""A fix within a quarter of what was meant did what it should (own judgement, no source)."""


class Landed(StrEnum):
    """How a fix landed."""

    AS_MEANT = "as meant"
    TOO_LITTLE = "too little"
    TOO_MUCH = "too much"
    HARD_TO_TELL = "hard to tell"
    NOT_SEEN = "not seen yet"


@dataclass(frozen=True, slots=True)
class FixReviewed:
    """One fix: meant and done."""

    after_round: int
    how: str
    meant: float
    """Stitches of offset to be taken out; above zero pulls a late colour change back."""
    did: Estimate | None
    """Stitches, as the rounds around it show; None where none was read after it."""
    before: float
    """Offset as it was made, stitches."""
    after: float
    """What was left, stitches."""
    minutes: float | None

    @property
    def landed(self) -> Landed:
        """How it landed."""
        if self.did is None:
            return Landed.NOT_SEEN
        if abs(self.did.mean - self.meant) <= _ON_THE_MARK * abs(self.meant):
            return Landed.AS_MEANT
        if self.did.low95 <= self.meant <= self.did.high95:
            return Landed.HARD_TO_TELL
        return Landed.TOO_LITTLE if abs(self.did.mean) < abs(self.meant) else Landed.TOO_MUCH


@dataclass(frozen=True, slots=True)
class YarnUsed:
    """Yarn used against plan."""

    rounds: int
    """Rounds knitted."""
    used_mm: Estimate
    planned_mm: float
    """What those rounds would have taken at the yarn per stitch aimed at, in the stitch
    counts as begun."""
    whole_planned_mm: float | None
    """What all the rounds planned would take; None where none are planned."""

    @property
    def over_percent(self) -> float:
        """More (or, below zero, less) than planned, %."""
        return 100.0 * (self.used_mm.mean / self.planned_mm - 1.0)


@dataclass(frozen=True, slots=True)
class Review:
    """One project, looked back on."""

    state: ProjectState
    look: Analysis
    stints: tuple[StintDrift, ...]
    """Drift by stint, unlogged changes included."""
    fixes: tuple[FixReviewed, ...]
    breaks: tuple[Break, ...]
    """What changed and was never logged."""
    time: TimeSpent | None
    share_in_tolerance: float | None
    """Share of the rounds knitted that are within tolerance, 0 to 1."""
    share_of_fabric: float | None
    """The same of the fabric: a round counts by its stitches."""
    rounds_out: int | None
    """Rounds fitted out of tolerance."""
    worst: tuple[int, float] | None
    """(round, offset) furthest out of place."""
    yarn: YarnUsed | None
    began: datetime
    ended: datetime

    @property
    def fit(self) -> DriftFit | None:
        """The fit it rests on."""
        return self.look.fit


def review(state: ProjectState, *, past: Past | None = None) -> Review:
    """Look back on a project.

    ``past`` is what her finished projects say; without it she is any knitter.
    Never raises for a readable project: without rounds, what rests on them is None or empty.
    """
    from knitlog.analysis.analysis import analyse

    view = analyse(state, past=past, with_advice=False)
    fit = view.fit
    share, fabric, out, worst = (None,) * 4 if fit is None else _in_tolerance(state, fit)
    return Review(
        state=state,
        look=view,
        stints=() if fit is None else fit.stint_drifts,
        fixes=() if fit is None else _fixes(state, fit),
        breaks=() if fit is None else fit.breaks,
        time=time_spent(state),
        share_in_tolerance=share,
        share_of_fabric=fabric,
        rounds_out=out,
        worst=worst,
        yarn=None if fit is None else _yarn(state, fit),
        began=state.set_up_at,
        ended=state.finished_at or state.last_at,
    )


def _fixes(state: ProjectState, fit: DriftFit) -> tuple[FixReviewed, ...]:
    from knitlog.hands.landing import landings

    landed = {(la.fix.after_round, la.fix.taken_out): la for la in landings(fit)}

    def told(fix: FixMade) -> FixReviewed:
        found = landed[fix.after_round, fix.taken_out]
        return FixReviewed(
            after_round=fix.after_round,
            how=fix.how,
            meant=fix.taken_out,
            did=found.did,
            before=found.before,
            after=found.after,
            minutes=fix.minutes,
        )

    return tuple(told(fix) for fix in state.fixes)


def _in_tolerance(
    state: ProjectState, fit: DriftFit
) -> tuple[float, float, int, tuple[int, float]]:
    """Return the shares of rounds and fabric in tolerance, the rounds out, the worst round.

    A round whose offset is not quite known counts by its chance to be within.
    """
    import numpy as np
    from scipy.special import ndtr

    path, limit = fit.path, state.facts.tolerance
    sd = np.maximum(path.sd, 1e-6)
    # P(|offset| <= T) with offset ~ Normal(mean, sd^2)
    chance = ndtr((limit - path.mean) / sd) - ndtr((-limit - path.mean) / sd)
    counts = np.array([state.stint_of(int(r)).stitches for r in path.rounds], dtype=float)
    at = int(np.argmax(np.abs(path.mean)))
    return (
        float(chance.mean()),
        float(counts @ chance / counts.sum()),
        int(np.sum(np.abs(path.mean) > limit)),
        (int(path.rounds[at]), float(path.mean[at])),
    )


def _yarn(state: ProjectState, fit: DriftFit) -> YarnUsed | None:
    from knitlog.drift import Estimate

    facts, log = state.facts, fit.log
    if log.repeat_length_mm is None:
        return None
    whole = log.repeats * log.repeat_length_mm
    used = variance = 0.0
    rounds = fit.last_round
    for place, stint in enumerate(fit.stint_drifts):
        later = fit.stint_drifts[place + 1 :]
        first = 1 if place == 0 else stint.first_round
        count = (later[0].first_round if later else rounds + 1) - first
        # a round takes N s = N k L / (N + d)
        turns = stint.stitches + stint.drift.mean
        each = stint.stitches * whole / turns
        used += count * each
        variance += (count * each * stint.drift.sd / turns) ** 2
    sd = variance**0.5
    begun = state.stints[0].stitches
    planned = begun * whole / (begun + facts.target_drift)
    return YarnUsed(
        rounds=rounds,
        used_mm=Estimate(used, sd, used - 1.96 * sd, used + 1.96 * sd),
        planned_mm=rounds * planned,
        whole_planned_mm=None if facts.planned_rounds is None else facts.planned_rounds * planned,
    )
