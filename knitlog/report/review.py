"""Looking back on a project, running or finished: what happened, in numbers.

:func:`review` gathers; :mod:`knitlog.report.review_text` says it in words and
:mod:`knitlog.report.review_page` makes the page.  Sign: an offset or drift above zero is
past its place.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from knitlog.report.time_spent import TimeSpent, time_spent

if TYPE_CHECKING:
    from datetime import datetime

    from knitlog.drift import Break, DriftFit, Estimate, Prior, StintDrift
    from knitlog.journal.project import FixRecord, ProjectState
    from knitlog.workbench import Look

_ON_THE_MARK = 0.25
"""A fix within a quarter of what was meant did what it should (own judgement, no source)."""


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
    def word(self) -> str:
        """How it landed, in a word or two."""
        if self.did is None:
            return "not seen yet"
        if abs(self.did.mean - self.meant) <= _ON_THE_MARK * abs(self.meant):
            return "as meant"
        if self.did.low95 <= self.meant <= self.did.high95:
            return "hard to tell"
        return "too little" if abs(self.did.mean) < abs(self.meant) else "too much"


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
    look: Look
    stints: tuple[StintDrift, ...]
    """Drift by stint, unlogged changes included."""
    fixes: tuple[FixReviewed, ...]
    breaks: tuple[Break, ...]
    """What changed and was never logged."""
    time: TimeSpent | None
    share_in_tolerance: float | None
    """Share of the fabric (stitches of the rounds knitted) within tolerance, 0 to 1."""
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


def review(state: ProjectState, *, prior: Prior | None = None) -> Review:
    """Look back on a project.

    ``prior``: what past projects say (see :func:`knitlog.workbench.hands.prior_of`).
    Never raises for a readable project: without rounds, what rests on them is None or empty.
    """
    from knitlog.workbench import look

    view = look(state, with_advice=False, prior=prior)
    fit = view.fit
    share, out, worst = (None, None, None) if fit is None else _in_tolerance(state, fit)
    return Review(
        state=state,
        look=view,
        stints=() if fit is None else fit.stint_drifts,
        fixes=() if fit is None else _fixes(state, fit),
        breaks=() if fit is None else fit.breaks,
        time=time_spent(state),
        share_in_tolerance=share,
        rounds_out=out,
        worst=worst,
        yarn=None if fit is None else _yarn(state, fit),
        began=state.set_up_at,
        ended=state.finished_at or state.last_at,
    )


def _fixes(state: ProjectState, fit: DriftFit) -> tuple[FixReviewed, ...]:
    from knitlog.hands import landings

    landed = {(la.fix.after_round, la.fix.taken_out): la for la in landings(fit)}

    def told(fix: FixRecord) -> FixReviewed:
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
) -> tuple[float, int, tuple[int, float] | None]:
    """Return the share of the fabric in tolerance, the rounds out, and the worst round.

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
