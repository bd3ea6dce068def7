"""A look at a project in parts: the fit, the advice, where it stands, everything logged.

The commands print them, the screens and a screen reader show the same.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from knitlog.analysis.counted_at import counted_at
from knitlog.journal.registry import units_of
from knitlog.report.advice_words import tell
from knitlog.report.fit_words import (
    OPTION_HEAD,
    OPTION_UNITS,
    WORK_HEADING,
    WORK_WORTH,
    around_the_round,
    fit_rows,
    forecast_sentence,
    hand_sentences,
    not_here_rows,
    option_rows,
    stint_head,
    stint_rows,
    work_rows,
)
from knitlog.report.parts import Part
from knitlog.report.verdict_words import (
    colours_sentence,
    next_sentence,
    unexplained_words,
    verdict,
)
from knitlog.report.words import counted, in_rows, one_round, places, signed
from knitlog.typed.text import plain_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from knitlog.analysis.analysis import Analysis
    from knitlog.analysis.standing import Unexplained
    from knitlog.journal.project import ProjectState, WorkedStint
    from knitlog.report.parts import Row
    from knitlog.typed.measures import Units

_RECENT = 8


def fit_parts(found: Analysis) -> Iterator[Part]:
    """The fit: the verdict, the numbers, what is to come."""
    yield Part(said=(verdict(found),))
    yield from number_parts(found)
    if coming := tuple(to_come(found)):
        yield Part(said=coming)
    yield from _asked(found.questions, found.state)
    yield from problem_parts(found)


def number_parts(found: Analysis) -> Iterator[Part]:
    """The numbers of the fit: in all, stint by stint, around the round."""
    fit = found.fit
    if fit is None:
        return
    yield Part("The numbers", rows=tuple(fit_rows(fit, found.state.facts)))
    if len(fit.stint_drifts) > 1:
        yield Part(
            "Stint by stint",
            head=stint_head(found.state.facts),
            rows=tuple(stint_rows(fit.stint_drifts, found.state.facts)),
        )
    if around := tuple(around_the_round(fit)):
        yield Part("Around the round", rows=around)
    if said := tuple(hand_sentences(fit, found.state.facts)):
        yield Part("Your hand", said=said)


def advice_parts(found: Analysis) -> Iterator[Part]:
    """The advice: what to do, why, every remedy side by side, what work is counted at."""
    yield Part(said=(verdict(found),))
    yield from remedy_parts(found)
    yield from problem_parts(found)
    if found.advice is not None:
        yield work_part(found.state)


def remedy_parts(found: Analysis) -> Iterator[Part]:
    """What to ask her first; what to do, how and why, and what else could be done."""
    yield from question_parts(found)
    if found.advice is None:
        return
    told = tell(found.advice)
    changed = (told.changed,) if told.changed else ()
    yield Part(said=(f"Do this: {told.title}", *changed, *_numbered(told.steps)))
    yield Part(said=(f"Why: {told.why}", f"What would change this: {told.would_change}"))
    possible = [one for one in told.options if one.option.feasible]
    yield Part(
        "Every remedy, side by side",
        head=OPTION_HEAD,
        rows=tuple(option_rows(possible)),
        after=(in_rows(OPTION_UNITS, found.state.facts.flat),),
        strong=0,
    )
    others = [one for one in possible[1:] if one.steps]
    if how := [line for one in others for line in (one.title, *_numbered(one.steps))]:
        yield Part("How to do the others", said=tuple(how))
    if rows := tuple(not_here_rows(told)):
        yield Part("Not possible here", said=tuple(f"  {title}: {why}" for title, why in rows))


def _numbered(steps: tuple[str, ...]) -> Iterator[str]:
    return (f"  {number}. {step}" for number, step in enumerate(steps, start=1))


def work_part(state: ProjectState) -> Part:
    """What the work was counted at, the knitter's own marked, and how to set it."""
    to_set = f"knitlog settings {state.slug} " if state.slug else ""
    flat = state.facts.flat
    how = f'To set your own: {to_set}--minutes "needle=6, round-out=1"'
    return Part(
        WORK_HEADING,
        rows=tuple(
            (*told, in_rows(what, flat)) for *told, what in work_rows(counted_at(state.facts))
        ),
        after=(in_rows(WORK_WORTH, flat), how),
    )


def question_parts(found: Analysis) -> Iterator[Part]:
    """What only she can answer, before what to do: that may turn on it."""
    if found.advice is not None and (question := tell(found.advice).question):
        yield Part(said=(f"First of all: {question}",))
    yield from _asked(found.asides, found.state)


def _asked(questions: tuple[Unexplained, ...], state: ProjectState) -> Iterator[Part]:
    if questions:
        flat = state.facts.flat
        yield Part(said=tuple(f"? {unexplained_words(one.about, flat=flat)}" for one in questions))


def problem_parts(found: Analysis) -> Iterator[Part]:
    """What is wrong with the file or the log."""
    if found.problems:
        yield Part(said=tuple(f"! {problem}" for problem in found.problems))


def state_parts(found: Analysis) -> Iterator[Part]:
    """Where a project stands: verdict and short advice, its facts, its last rounds."""
    state = found.state
    yield _title(state)
    said = [verdict(found), *(line for part in question_parts(found) for line in part.said)]
    if found.advice is not None:
        told = tell(found.advice)
        said.append(f"Do this: {told.title} - {told.why}")
    yield Part(said=(*said, *to_come(found)))
    yield Part(rows=tuple(fact_rows(state)))
    undo = (f"Undo would take back {state.undo_label}.",) if state.undo_label else ()
    last = (in_rows(said, state.facts.flat) for said in (*_recent_rounds(state), *undo))
    if recent := tuple(last):
        yield Part(said=recent)
    yield from problem_parts(found)


def log_parts(state: ProjectState) -> Iterator[Part]:
    """Everything logged, the newest first: rounds, notes, fixes, changes, skeins."""
    yield _title(state)
    logged = tuple(log_rows(state))
    if logged:
        yield Part(head=(one_round(state.facts).capitalize(), "What", "When"), rows=logged)
    else:
        yield Part(said=("Nothing is logged yet.",))


def _title(state: ProjectState) -> Part:
    about = (plain_text(state.about),) if state.about else ()
    return Part(said=(plain_text(state.name), *about))


def fact_rows(state: ProjectState) -> list[Row]:
    """What is known of a project, as it stands now."""
    facts, a_round, units = state.facts, one_round(state.facts), units_of(state.facts)
    rows: list[Row] = [("Stitches", f"{state.stitches} in a {a_round}")]
    if state.needle_mm is not None:
        rows.append(("Needle", units.needle(state.needle_mm)))
    if facts.repeat_length_mm is not None:
        repeat = units.length(facts.repeat_length_mm)
        rows.append(("Colour repeat", f"{repeat}, {facts.repeats:g} a {a_round}"))
    if facts.gauge is not None:
        rows.append(("Gauge", units.gauge(facts.gauge)))
    rows.append(("Tolerance", f"{facts.tolerance:g} stitches either way"))
    if facts.target_drift:
        rows.append(("Wanted drift", f"{facts.target_drift:+g} stitches a {a_round}"))
    planned = f" of {facts.planned_rounds} planned" if facts.planned_rounds else ""
    rows.append(("Rows" if facts.flat else "Rounds", f"{state.last_round}{planned}"))
    return rows


def to_come(found: Analysis) -> Iterator[str]:
    """What to expect of the next round, and where all goes if nothing is changed."""
    if found.fit is not None and found.next is not None:
        yield next_sentence(found.next, found.state)
        if colours := colours_sentence(found.next, found.state):
            yield f"In {one_round(found.state.facts)} {found.next.round} {colours}"
        yield forecast_sentence(found.fit, found.state.facts)


def log_rows(state: ProjectState) -> list[Row]:
    """Everything that stands, the newest round first; within a round, what came last first."""
    lines: list[tuple[int, int, Row]] = []

    def add(number: int, order: int, words: str, when: str = "") -> None:
        lines.append((number, order, (str(number) if number else "", words, when)))

    units = units_of(state.facts)
    for entry in state.entries:
        at = f"{entry.at:%d %b %H:%M}"
        moved = state.moved(entry)[0]
        step = "" if moved is None else f" ({signed(moved)})"
        again = ", logged again" if entry.corrected else ""
        add(entry.round, 1, f"{places(entry.positions)}{step}{again}", at)
    for note in state.notes:
        add(note.round or 0, 2, f"note: {note.text}", f"{note.at:%d %b %H:%M}")
    for fix in state.fixes:
        over = f" over {fix.over_stitches:g}" if fix.over_stitches else ""
        add(
            fix.after_round,
            3,
            f"fix: {fix.how}, {signed(-fix.taken_out)}{over}",
            f"{fix.at:%d %b %H:%M}",
        )
    for stint in state.stints[1:]:
        needle = f", {_needle(stint, units)}" if stint.needle_mm else ""
        stitches = counted(stint.stitches, "stitch", "stitches")
        add(stint.first_round, 0, f"from here on {stitches}{needle}")
    for join in state.joins:
        where = "" if join.stitch is None else f" at stitch {join.stitch:g}"
        add(join.round, 0, f"new skein{where}", f"{join.at:%d %b %H:%M}")
    lines.sort(key=lambda line: line[:2], reverse=True)
    return [line for _, _, line in lines]


def _recent_rounds(state: ProjectState) -> Iterator[str]:
    """The last rounds, newest first, as the screens' chart has them."""
    units = units_of(state.facts)
    fixes = {fix.after_round: fix for fix in state.fixes}
    changed = {stint.first_round: stint for stint in state.stints[1:]}
    for entry in reversed(state.entries[-_RECENT:]):
        where = ", ".join(f"{p.stitch:g}" for p in entry.positions)
        extra = []
        if entry.round in changed:
            stint = changed[entry.round]
            needle = f" on {_needle(stint, units)}" if stint.needle_mm else ""
            extra.append(f"from here {stint.stitches} stitches{needle}")
        if entry.round in fixes:
            fix = fixes[entry.round]
            extra.append(f"then {fix.how}: {fix.taken_out:g} taken out")
        tail = f"   ({'; '.join(extra)})" if extra else ""
        yield f"Round {entry.round:>3}: {where}{tail}"
    hidden = len(state.entries) - _RECENT
    if hidden > 0:
        yield f"... and {hidden} more below"


OF_A_LOOK = {"fit": fit_parts, "advise": advice_parts}
"""What is told of a look, by the command that asks."""


def _needle(stint: WorkedStint, units: Units) -> str:
    """Name a stint's needle as she has it, which is known."""
    return units.needle(stint.needle_mm or 0.0, stint.needle_given)
