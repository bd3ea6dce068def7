"""A review in plain words: what ``knitlog review`` prints and the screens show."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from knitlog.journal.registry import units_of
from knitlog.report.fit_words import hand_sentences, stint_head, stint_rows
from knitlog.report.parts import Part
from knitlog.report.verdict_words import verdict
from knitlog.report.words import (
    about_length,
    as_known,
    counted,
    hours,
    in_rows,
    one_round,
    spread,
)

if TYPE_CHECKING:
    from knitlog.analysis.analysis import Analysis
    from knitlog.analysis.project_review import FixReviewed, Review, YarnUsed
    from knitlog.analysis.time_spent import TimeSpent
    from knitlog.drift import Break, DriftFit
    from knitlog.journal.facts import ProjectFacts
    from knitlog.journal.project import Note
    from knitlog.report.parts import Row

HISTORY = "Where the colours fell, and the drift, round by round"
FABRIC = "The fabric as knitted, beside the fabric as planned"
DRIFT = "The drift, stint by stint"
_PERCENT = 0.001
"""The least spread, as a share: a tenth of a per cent is the last digit told."""


def headline(found: Review) -> str:
    """How the project went, in one sentence."""
    state = found.state
    if found.share_of_fabric is None:
        return verdict(found.look)
    rows = "rows" if state.facts.flat else "rounds"
    verb = "was" if state.finished else "is"
    return (
        f"{state.last_round} {rows} {'knitted' if state.finished else 'so far'}; "
        f"{100.0 * found.share_of_fabric:.0f} % of the fabric {verb} within "
        f"{state.facts.tolerance:g} stitches of its place."
    )


def fix_rows(found: Review) -> list[Row]:
    """Each fix, what it was meant to do and what it did."""
    return [_fix_row(fix) for fix in found.fixes]


def _fix_row(fix: FixReviewed) -> Row:
    did = "-" if fix.did is None else spread(fix.did)
    return (
        str(fix.after_round),
        fix.how,
        f"{fix.meant:+.1f}",
        did,
        f"{fix.before:+.1f}",
        f"{fix.after:+.1f}",
        fix.landed,
    )


def fix_sentences(found: Review) -> Iterator[str]:
    """What the fixes came to; nothing without any that can be judged."""
    seen = [f for f in found.fixes if f.did is not None]
    if not seen:
        return
    share = sum(abs(f.did.mean) for f in seen if f.did is not None) / sum(
        abs(f.meant) for f in seen
    )
    fixes = f"{len(seen)} fix{'' if len(seen) == 1 else 'es'}"
    yield (
        f"The {fixes} that can be judged took out {100.0 * share:.0f} % of what was meant, all "
        "together."
    )


def time_sentences(spent: TimeSpent) -> Iterator[str]:
    """Where the time went."""
    yield (
        f"{spent.sittings} sitting{'' if spent.sittings == 1 else 's'} over {spent.days} "
        f"day{'' if spent.days == 1 else 's'}."
    )
    if spent.round_minutes is not None:
        yield f"A round took about {spent.round_minutes:.0f} minutes."
    parts = [
        f"{hours(minutes)} {what}"
        for minutes, what in (
            (spent.knitting, "knitting"),
            (spent.fixing, "on fixes"),
            (spent.changing, "changing needle or count"),
            (spent.elsewhere, "not accounted for"),
        )
        if minutes >= 1.0
    ]
    if parts:
        yield f"About {', '.join(parts)}."


def break_sentence(found: Break) -> str:
    """One thing that changed and was not logged."""
    if found.kind == "drift":
        return (
            f"Around round {found.round} the drift changed by {found.size:+.1f} stitches a round "
            "and nothing was logged."
        )
    return (
        f"Around round {found.round} the colours moved {found.size:+.0f} stitches at once and "
        "nothing was logged."
    )


def yarn_sentences(yarn: YarnUsed, facts: ProjectFacts) -> Iterator[str]:
    """Yarn used against plan."""
    e, lengths = yarn.used_mm, units_of(facts).lengths
    more = "more" if yarn.over_percent > 0 else "less"
    over = as_known(abs(yarn.over_percent), 100.0 * max(e.sd / yarn.planned_mm, _PERCENT))
    yield (
        f"{counted(yarn.rounds, one_round(facts))} took about {about_length(e.mean, lengths)} of "
        + (
            "yarn, as planned."
            if float(over) == 0
            else f"yarn, {over} % {more} than planned for them."
        )
    )
    if yarn.whole_planned_mm is not None:
        whole = about_length(yarn.whole_planned_mm, lengths)
        yield f"All the {one_round(facts)}s planned would take {whole}."


def review_parts(found: Review) -> Iterator[Part]:
    """The whole review, its name and dates first."""
    state = found.state
    ended = f"finished {found.ended:%Y-%m-%d}" if state.finished else f"last {found.ended:%Y-%m-%d}"
    about = (state.about,) if state.about else ()
    yield Part(said=(state.name, *about, f"Begun {found.began:%Y-%m-%d}, {ended}."))
    yield Part(said=(headline(found), *_furthest(found)))
    yield from body_parts(found)


def _furthest(found: Review) -> Iterator[str]:
    if found.worst is not None and abs(found.worst[1]) > found.state.facts.tolerance:
        number, off = found.worst
        yield f"Furthest out: {off:+.1f} stitches in {one_round(found.state.facts)} {number}."


def body_parts(found: Review) -> Iterator[Part]:
    """What became of it: pictures, drift, fixes, what was never logged, time, yarn, notes."""
    flat = found.state.facts.flat
    if found.fit is not None:
        yield from picture_parts(found.look, found.fit)
    if found.stints:
        yield Part(
            DRIFT,
            head=stint_head(found.state.facts),
            rows=tuple(stint_rows(found.stints, found.state.facts)),
            after=() if found.fit is None else tuple(hand_sentences(found.fit, found.state.facts)),
        )
    if found.fixes:
        yield Part(
            "Fixes: what each was meant to do, and what it did",
            head=(in_rows("Round", flat), "How", "Meant", "Did", "Before", "After", "Landed"),
            rows=tuple(fix_rows(found)),
            after=(
                in_rows(
                    "Stitches of offset, made after the round named; before and after: how far "
                    "the colours were off.",
                    flat,
                ),
                *fix_sentences(found),
            ),
            spare=(4, 5),
        )
    if found.fit is not None:
        gone = [break_sentence(b) for b in found.breaks]
        gone += [
            f"Round {odd.round} reads stitch {odd.stitch:g}, about {odd.expected:.0f} was "
            "expected: perhaps a miscount."
            for odd in found.fit.suspects
        ]
        said = [in_rows(sentence, flat) for sentence in gone or ["Nothing that shows."]]
        yield Part("What was never logged but changed", tuple(said))
    if found.time is not None:
        spent = tuple(in_rows(sentence, flat) for sentence in time_sentences(found.time))
        yield Part("Where the time went", spent)
    if found.yarn is not None:
        yield Part("Yarn used against plan", tuple(yarn_sentences(found.yarn, found.state.facts)))
    if found.state.notes:
        yield Part("Notes", tuple(_note(n, flat) for n in found.state.notes))
    if found.look.problems:
        yield Part(said=tuple(f"! {problem}" for problem in found.look.problems))


def picture_parts(look: Analysis, fit: DriftFit) -> Iterator[Part]:
    """The drift history, and the fabric it made beside the one planned."""
    from knitlog.plan.checks import PlanError
    from knitlog.report.history import fabric_pair, history_of
    from knitlog.report.history_drawing import HistoryDrawing, PairDrawing

    history = history_of(look.state, fit)
    yield Part(in_rows(HISTORY, history.flat), drawing=HistoryDrawing(history))
    try:
        pair = fabric_pair(look.state, fit)
    except PlanError as error:
        yield Part(FABRIC, (str(error),))
    else:
        said = (pair.stand_in,) if pair.stand_in else ()
        yield Part(FABRIC, drawing=PairDrawing(pair, history), after=said)


def _note(note: Note, flat: bool) -> str:
    where = in_rows(f"Round {note.round}: ", flat) if note.round is not None else ""
    return f"{where}{' '.join(note.text.split())}"
