"""From what the knitter logged to what she should know: one look at a project.

The screens and the command line both ask here, so that they cannot tell her
different things: :func:`look` folds a project's state into the drift log, fits
it, asks for advice and says the verdict in one sentence.  Nothing is printed
and nothing is drawn; the heavy rooms (fit and advice) are only imported when
there is something to fit, so that logging a round stays quick.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from importlib import resources
from typing import TYPE_CHECKING

from knitlog.journal.disk import create_file, locked, make_folder
from knitlog.journal.project import ProjectState, to_drift_log
from knitlog.journal.store import SUFFIX
from knitlog.yarn.geometry import to_knitting_order, wrap, wrap_offset

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from importlib.resources.abc import Traversable
    from pathlib import Path

    from knitlog.advice import Advice, Costs, Situation
    from knitlog.drift import DriftFit, DriftLog
    from knitlog.journal.events import Position

_SOON = 5
"""Rounds ahead that count as soon."""
_ROUNDS_TO_SEE = 3
"""Below so many rounds the verdict only asks for more."""
_ODD_JUMP_SDS = 5.0
_LEAST_ODD_JUMP = 6.0
"""Stitches; a smaller step is never asked about (common practice, no source)."""


class Tone(StrEnum):
    """How the verdict should sound; always shown beside words, never alone."""

    WAITING = "waiting"
    """Too few rounds to say anything."""
    IN_LINE = "in line"
    """The colours stack; knit on."""
    UNCLEAR = "unclear"
    """Something may be building up; a few more rounds will tell."""
    WATCH = "watch"
    """The colours are sliding, still within tolerance."""
    ACT = "act"
    """Out of tolerance, or soon to be: a fix is due."""
    DONE = "done"
    """The project is finished."""


@dataclass(frozen=True, slots=True)
class Question:
    """Something only the knitter can answer: a likely miscount, an unlogged change."""

    round: int | None
    """The round it is about, if it is about one."""
    sentence: str
    """The question, in one sentence."""


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
    state: ProjectState, *, with_advice: bool = True, seed: int = 0, costs: Costs | None = None
) -> Look:
    """Fit a project and say what it means.

    ``with_advice=False`` leaves the advice out (quicker: nothing is simulated).
    ``seed`` makes the advice's simulation repeatable; ``costs`` are the knitter's own,
    or the usual ones.  Never raises for a readable project: what cannot be fitted is
    told in ``problems``.
    """
    problems = [problem.sentence for problem in state.problems]
    log = to_drift_log(state) if state.entries else None
    if log is None or not log.readings:
        return Look(state, None, None, None, *_nothing_yet(state), (), tuple(problems))
    from knitlog.drift import LogError, fit

    try:
        fitted = fit(log)
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

        advice = advise(situation(state, fitted, costs=costs), seed=seed)
    said, tone = verdict(state, fitted)
    return Look(state, log, fitted, advice, said, tone, questions(fitted), tuple(problems))


def situation(state: ProjectState, fit: DriftFit, *, costs: Costs | None = None) -> Situation:
    """What the advice needs to know: the fit, and the project's facts as they stand now."""
    from knitlog.advice import Costs as UsualCosts
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
        costs=costs or UsualCosts(),
    )


def verdict(state: ProjectState, fit: DriftFit) -> tuple[str, Tone]:
    """One sentence on how the colours stand, and how it should sound."""
    facts = state.facts
    drift = fit.drift.mean - facts.target_drift
    offset = fit.offset.mean
    where = _where(offset)
    if state.finished:
        return f"Finished after {_count(state.last_round, 'round')}, {where}.", Tone.DONE
    if fit.rounds_logged < _ROUNDS_TO_SEE:
        logged, more = _count(fit.rounds_logged, "round"), 5 - fit.rounds_logged
        return f"{logged} logged: knit about {more} more to see the drift.", Tone.WAITING
    outside = abs(offset) > facts.tolerance
    soon = abs(offset + _SOON * drift) > facts.tolerance
    rows = "row" if facts.flat else "round"
    match fit.direction:
        case "in line":
            if outside:
                return f"The drift is in line, but the colours sit {where}.", Tone.ACT
            return f"In line: the colours stack, now {where}.", Tone.IN_LINE
        case "too small" | "too large":
            aim = " of the spiral you want" if facts.target_drift else ""
            way = "on" if drift > 0 else "back"
            sentence = (
                f"Stitches {fit.direction}: the colours slide {abs(drift):.1f} {way} "
                f"each {rows}{aim}, now {where}."
            )
            return sentence, Tone.ACT if outside or soon else Tone.WATCH
        case _:
            low, high = fit.drift.low95 - facts.target_drift, fit.drift.high95 - facts.target_drift
            sentence = (
                f"Not clear yet: the slide is between {low:+.1f} and {high:+.1f} "
                f"stitches a {rows}, now {where}."
            )
            return sentence, Tone.WATCH if outside else Tone.UNCLEAR


def questions(fit: DriftFit) -> tuple[Question, ...]:
    """What only the knitter can answer, most pressing first."""
    asked = [Question(None, other.question) for other in fit.alternatives]
    asked += [
        Question(
            suspect.round,
            f"Round {suspect.round} reads {suspect.stitch:g}, but about {suspect.expected:.0f} was "
            "expected: was it miscounted?",
        )
        for suspect in fit.suspects
    ]
    for found in fit.breaks:
        what = (
            f"the slide changed by {found.size:+.1f} stitches a round"
            if found.kind == "drift"
            else f"the colours moved {found.size:+.0f} stitches at once"
        )
        asked.append(
            Question(
                found.round,
                f"Something changed around round {found.round}: {what}. Another needle, a long "
                "break, a fix you did not log?",
            )
        )
    return tuple(asked)


def doubt(view: Look, positions: Sequence[Position], round_number: int | None = None) -> str | None:
    """A question to put before an entry is taken, or None when it looks ordinary.

    ``positions``: what is about to be logged, in ``round_number`` or the next round.
    A position far outside what the forecast and this knitter's readings allow is asked
    about, never refused.  Only rounds above the last logged one are held against the
    forecast; a corrected round is her own business.
    """
    fit, state = view.fit, view.state
    number = round_number or state.next_round
    if fit is None or fit.rounds_logged < _ROUNDS_TO_SEE or number <= fit.last_round:
        return None
    ahead = number - fit.last_round
    forecast = fit.forecast(ahead)
    stitches = state.stint_of(number).stitches
    homes = _homes(view)
    spread = math.hypot(float(forecast.sd[-1]), fit.reading_noise_sd)
    limit = max(_ODD_JUMP_SDS * spread, _LEAST_ODD_JUMP)
    for position in positions:
        home = homes.get(position.change)
        if home is None:
            continue
        expected = home + float(forecast.mean[-1])
        # positions wrap at the stitch count: the nearest way round counts
        miss = wrap_offset(_along(state, number, position.stitch) - expected, stitches)
        if abs(miss) > limit:
            seen = _along(state, number, wrap(expected, stitches))
            return (
                f"{position.stitch:g} is {abs(miss):.0f} stitches from where the colour should "
                f"fall (about {seen:.0f}): is it right?"
            )
    return None


def read_log_file(path: Path, facts: Mapping[str, str] | None = None) -> ProjectState:
    """Read a journal or a CSV log, whichever the file is, as a project's state.

    ``facts``: option names without the dashes -> what was typed (``stitches``,
    ``repeat-length``, ...); they overrule what the file says.  Raises
    ``JournalError`` with one plain sentence when the file cannot be read.
    """
    raise NotImplementedError


def samples() -> dict[str, Traversable]:
    """The shipped sample journals, by name; all of them invented.

    In an installed wheel they lie inside the package, in a checkout beside it.
    """
    package = resources.files("knitlog")
    for folder in (package / "samples", resources.files("knitlog") / ".." / "sample_logs"):
        if folder.is_dir():
            found = [item for item in folder.iterdir() if item.name.endswith(SUFFIX)]
            return {
                item.name.removesuffix(SUFFIX): item for item in sorted(found, key=lambda i: i.name)
            }
    return {}


def lay_out_samples(folder: Path) -> tuple[Path, ...]:
    """Copy the sample journals into ``folder``; one that is there already is left as it is.

    Raises ``JournalError`` where the folder cannot be written.
    """
    make_folder(folder)
    paths = []
    for name, sample in samples().items():
        path = folder / f"{name}{SUFFIX}"
        if not path.exists():
            with locked(path):
                create_file(path, sample.read_bytes())
        paths.append(path)
    return tuple(paths)


def _nothing_yet(state: ProjectState) -> tuple[str, Tone]:
    if state.finished:
        return "Finished; no round was logged.", Tone.DONE
    return "No round logged yet: knit one and log where the colour changed.", Tone.WAITING


def _where(offset: float) -> str:
    """Where the colours sit against where they began, in words."""
    if abs(offset) < 0.75:
        return "right in place"
    return f"{abs(offset):.0f} {'past' if offset > 0 else 'short of'} their place"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _homes(view: Look) -> dict[int, float]:
    """Where each colour change falls at offset 0, in knitting order, by its number."""
    fit, log, state = view.fit, view.log, view.state
    if fit is None or log is None:
        return {}
    path = fit.path
    latest: dict[int, float] = {}
    for reading, offset in zip(log.readings, path.reading_offsets, strict=True):
        stitches = state.stint_of(reading.round).stitches
        latest[reading.change] = wrap(
            _along(state, reading.round, reading.stitch) - float(offset), stitches
        )
    return latest


def _along(state: ProjectState, number: int, seen: float) -> float:
    """A position in knitting order; its own inverse, for flat work mirrors back."""
    if not state.facts.flat:
        return seen
    return to_knitting_order(number, seen, state.stint_of(number).stitches)
