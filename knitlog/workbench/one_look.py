"""One look at a project: its log, its fit, the advice, the verdict."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from knitlog.journal.project import ProjectState, to_drift_log
from knitlog.workbench.counted_at import costs_of
from knitlog.workbench.last_time import remedy_last_time
from knitlog.workbench.verdicts import Question, Tone, nothing_yet, questions, verdict

if TYPE_CHECKING:
    from knitlog.advice import Advice, Costs, Limits, Situation
    from knitlog.drift import DriftFit, DriftLog, Prior


@dataclass(frozen=True, slots=True)
class Look:
    """Everything there is to know about one project at this moment."""

    state: ProjectState
    """The project as its journal tells it."""
    log: DriftLog | None
    """What the fit reads; None while no round is logged."""
    fit: DriftFit | None
    """The fitted drift; None while there is too little to fit."""
    advice: Advice | None
    """What to do about it; None without a fit, or when the project is finished."""
    verdict: str
    """One sentence in plain words, to be read at arm's length."""
    tone: Tone
    """How the verdict should sound."""
    questions: tuple[Question, ...]
    """What to ask the knitter, most pressing first."""
    problems: tuple[str, ...]
    """What is wrong with the file or the log, one sentence each."""


def look(
    state: ProjectState,
    *,
    with_advice: bool = True,
    seed: int = 0,
    costs: Costs | None = None,
    prior: Prior | None = None,
    limits: Limits | None = None,
) -> Look:
    """Fit a project and say what it means.

    ``with_advice=False`` leaves the advice out (quicker: nothing is simulated).
    ``seed`` makes the advice's simulation repeatable; ``costs`` stand in for those the
    project's facts tell (see :func:`knitlog.workbench.counted_at.costs_of`); ``prior`` is what
    her past projects say (see :func:`knitlog.workbench.hands.prior_of`), or the usual belief;
    ``limits`` how far her fixes go and miss.  Never raises for a readable project: what cannot
    be fitted is told in ``problems``.
    """
    problems = [problem.sentence for problem in state.problems]
    log = to_drift_log(state) if state.entries else None
    if log is None or not log.readings:
        return Look(state, None, None, None, *nothing_yet(state), (), tuple(problems))
    from knitlog.drift import LogError, fit

    try:
        fitted = fit(log, prior)
    except LogError as error:
        problems.append(str(error))
        return Look(
            state,
            log,
            None,
            None,
            "These rounds cannot be fitted.",
            Tone.UNCLEAR,
            (),
            tuple(problems),
        )
    advice = None
    if with_advice and not state.finished:
        from knitlog.advice import advise

        asked = situation(state, fitted, costs=costs, limits=limits)
        advice = advise(asked, seed=seed, previous=remedy_last_time(asked))
    said, tone = verdict(state, fitted)
    return Look(state, log, fitted, advice, said, tone, questions(fitted), tuple(problems))


def situation(
    state: ProjectState,
    fit: DriftFit,
    *,
    costs: Costs | None = None,
    limits: Limits | None = None,
) -> Situation:
    """What the advice needs to know: the fit, and the project's facts as they stand now."""
    from knitlog.advice import Limits as UsualLimits
    from knitlog.advice import Situation as Described

    facts = state.facts
    return Described(
        fit=fit,
        stitches=state.stitches,
        repeats=facts.repeats,
        repeat_length_mm=facts.repeat_length_mm,
        needle_mm=state.needle_mm,
        needles_owned_mm=facts.needles_owned_mm,
        multiple=facts.multiple,
        rounds_planned=facts.planned_rounds,
        tolerance=facts.tolerance,
        gauge=facts.gauge,
        max_size_change_percent=facts.max_size_change_percent,
        yarn_thickness_mm=facts.yarn_thickness_mm,
        costs=costs or costs_of(facts),
        limits=limits or UsualLimits(),
    )
