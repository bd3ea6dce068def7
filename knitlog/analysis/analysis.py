"""One look at a project: its log, her past, its fit, the advice, the round to come.

Nothing is said in words here: :mod:`knitlog.report` does, the same for every surface.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from knitlog.analysis.counted_at import costs_of
from knitlog.analysis.last_time import remedy_last_time
from knitlog.analysis.next_round import NextRound, aimed, next_round
from knitlog.analysis.past import USUAL, Beliefs
from knitlog.analysis.standing import Tone, Unexplained, questions, tone
from knitlog.journal.project import to_drift_log

if TYPE_CHECKING:
    from knitlog.advice import Advice, Remedy, Situation
    from knitlog.analysis.past import Past
    from knitlog.drift import DriftFit, DriftLog
    from knitlog.journal.project import ProjectState


@dataclass(frozen=True, slots=True)
class Analysis:
    """Everything there is to know about one project at this moment."""

    state: ProjectState
    """The project as its journal tells it."""
    beliefs: Beliefs
    """What her past says of it."""
    tone: Tone
    """How the colours stand."""
    log: DriftLog | None = None
    """What the fit reads; None while no round is logged."""
    fit: DriftFit | None = None
    """The fitted drift; None while there is too little to fit."""
    advice: Advice | None = None
    """What to do about it; None without a fit, when it was not asked for, or at the end."""
    next: NextRound | None = None
    """What to expect of the round to come; None without a fit, or when it is finished."""
    questions: tuple[Unexplained, ...] = ()
    """What to ask the knitter, most pressing first."""
    problems: tuple[str, ...] = ()
    """What is wrong with the file or the log, one sentence each."""

    @property
    def asides(self) -> tuple[Unexplained, ...]:
        """What to ask beside the advice: not what the advice asks first of all."""
        first = None if self.advice is None else self.advice.question
        if first is None:
            return self.questions
        from knitlog.drift import AlternativeReading

        if first.kind == "repeat":
            return tuple(q for q in self.questions if not isinstance(q.about, AlternativeReading))
        return tuple(q for q in self.questions if q.round != first.round)

    def coming(self, round_number: int) -> NextRound | None:
        """Return what to expect of a later round; None where there is nothing to go by."""
        if self.fit is None or self.next is None or round_number <= self.fit.last_round:
            return None
        return next_round(self.state, self.fit, round_number)


def analyse(
    state: ProjectState, *, past: Past | None = None, with_advice: bool = True, seed: int = 0
) -> Analysis:
    """Fit a project, and work out what to do and what to expect.

    ``past`` is what her finished projects say; without it she is any knitter.
    ``with_advice=False`` leaves the advice out, for who shows the fit first and asks
    :func:`advised` afterwards.  ``seed`` makes the advice's simulation repeatable.
    Never raises for a readable project: what cannot be fitted is told in ``problems``.
    """
    beliefs = USUAL if past is None else past.beliefs(state)
    problems = tuple(problem.sentence for problem in state.problems)
    found = Analysis(state, beliefs, tone(state, None), problems=problems)
    log = to_drift_log(state) if state.entries else None
    if log is None or not log.readings:
        return found
    from knitlog.drift import LogError, fit

    try:
        fitted = fit(log, beliefs.prior)
    except LogError as error:
        return replace(found, log=log, problems=(*problems, str(error)))
    found = replace(
        found,
        log=log,
        fit=fitted,
        tone=tone(state, fitted),
        next=None if state.finished else next_round(state, fitted),
        questions=questions(fitted),
    )
    return advised(found, seed=seed) if with_advice else found


def advised(found: Analysis, *, previous: Remedy | None = None, seed: int = 0) -> Analysis:
    """Work out what to do about a fitted project.

    ``previous`` is what was advised a step ago, where it is known; otherwise it is worked out
    from the log as it stood then.
    """
    if found.fit is None or found.state.finished:
        return found
    from knitlog.advice import Remedy, advise

    try:
        asked = situation(found)
        advice = advise(asked, seed=seed, previous=previous or remedy_last_time(asked))
    except ValueError as error:  # one sentence, such as a cost that cannot be
        return replace(found, problems=(*found.problems, str(error)))
    aim = advice.recommended.details.get("aim_stitch")
    coming = found.next
    # where another needle or count, or a fix, comes first, the mark holds once that is logged
    if coming is not None and aim is not None and advice.recommended.remedy.is_the_hands:
        coming = aimed(coming, found.state, float(aim))
    waits = (Remedy.CARRY_ON, Remedy.KNIT_MORE_FIRST)
    stands = tone(found.state, found.fit, advised=advice.recommended.remedy not in waits)
    return replace(found, advice=advice, next=coming, tone=stands)


def drift_log(log: ProjectState | DriftLog) -> DriftLog:
    """Return what the fit reads of a project, or the log itself."""
    from knitlog.drift import DriftLog as Plain

    return log if isinstance(log, Plain) else to_drift_log(log)


def advise_on(log: ProjectState | DriftLog, *, seed: int = 0, **known: Any) -> Advice:
    """Say what to do about a log by itself; ``known`` are fields of the situation.

    Raises:
        LogError: it cannot be fitted.
        AdviceError: what is known makes no sense.

    """
    from knitlog.advice import Situation, advise
    from knitlog.drift import DriftLog as Plain
    from knitlog.drift import fit

    plain = drift_log(log)
    fitted = fit(plain)
    if isinstance(log, Plain):
        stint = plain.stints[-1]
        asked = Situation(
            fit=fitted,
            stitches=stint.stitches,
            repeats=plain.repeats,
            repeat_length_mm=plain.repeat_length_mm,
            needle_mm=stint.needle_mm,
            yarn_thickness_mm=plain.yarn_thickness_mm,
        )
    else:
        asked = situation(Analysis(log, USUAL, tone(log, fitted), plain, fitted))
    asked = replace(asked, **known)
    return advise(asked, seed=seed, previous=remedy_last_time(asked))


def situation(found: Analysis) -> Situation:
    """Return what the advice needs to know: the fit, and the facts as they stand now."""
    from knitlog.advice import Limits, Situation
    from knitlog.journal.registry import units_of

    state, facts = found.state, found.state.facts
    assert found.fit is not None
    allowed: dict[str, Any] = {}
    if facts.hand_range_percent is not None:
        allowed["hand_range_percent"] = facts.hand_range_percent
    if facts.count_changes is not None:
        allowed["count_changes"] = facts.count_changes
    return Situation(
        fit=found.fit,
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
        costs=costs_of(facts),
        limits=replace(found.beliefs.limits or Limits(), **allowed),
        units=units_of(facts),
    )
