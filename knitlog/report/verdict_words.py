"""How the colours stand, what to expect of the next round, and what only she can answer.

One sentence each, the same on every surface.  Past and short of are the knitter's own
directions: past is further along the round than the place.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from knitlog.analysis.standing import Tone, is_outside, rounds_spanned
from knitlog.drift.fit_result import AlternativeReading, Break, PatternFound, Suspect
from knitlog.report.words import counted, in_rows, one_round, ordinal, plain
from knitlog.yarn.geometry import wrap, wrap_offset

if TYPE_CHECKING:
    from collections.abc import Mapping

    from knitlog.analysis.analysis import Analysis
    from knitlog.analysis.next_round import Doubt, NextRound
    from knitlog.drift import DriftFit
    from knitlog.journal.project import ProjectState

    Unexplained = AlternativeReading | PatternFound | Suspect | Break


def verdict(found: Analysis) -> str:
    """How the colours stand, in one sentence, to be read at arm's length."""
    state, fit = found.state, found.fit
    if fit is None:
        return _without_a_fit(found)
    where = _where(fit.offset_now)
    if state.finished:
        return f"Finished after {counted(state.last_round, one_round(state.facts))}, {where}."
    if found.tone is Tone.WAITING:
        logged = counted(fit.rounds_logged, one_round(state.facts))
        return f"{logged} logged: knit about {5 - rounds_spanned(fit)} more to see the drift."
    return _of_the_drift(state, fit, where)


def _without_a_fit(found: Analysis) -> str:
    state = found.state
    if state.finished:
        return "Finished; no round was logged."
    if found.log is not None and found.log.readings:
        return "These rounds cannot be fitted."
    return "No round logged yet: knit one and log where the colour changed."


def _of_the_drift(state: ProjectState, fit: DriftFit, where: str) -> str:
    target = state.facts.target_drift
    drift, a_round = fit.drift.mean - target, one_round(state.facts)
    outside = is_outside(state, fit)
    match fit.direction:
        case "in line":
            if target:
                goes = f"The spiral goes {abs(target):g} {_way(target)} each {a_round} as wanted"
                return f"{goes}, {'but the colours sit' if outside else 'now'} {where}."
            if outside:
                return f"The drift is in line, but the colours sit {where}."
            return f"In line: the colours stack, now {where}."
        case "too small" | "too large":
            aim = " of the spiral you want" if target else ""
            return (
                f"Stitches {fit.direction}: the colours slide {abs(drift):.1f} "
                f"{_way(drift)} each {a_round}{aim}, now {where}."
            )
        case _:
            low, high = fit.drift.low95 - target, fit.drift.high95 - target
            if low * high > 0:
                least, most = sorted((abs(low), abs(high)))
                slide = f"slide {least:.1f} to {most:.1f} {_way(low)} each {a_round}"
                return f"The colours {slide}, now {where}."
            span = f"{low:+.1f} to {high:+.1f} a {a_round}"
            if outside:
                return f"The colours sit {where}; the slide is not clear yet ({span})."
            return f"Not clear yet: the slide is {span}, now {where}."


def _way(drift: float) -> str:
    return "on" if drift > 0 else "back"


def _where(offset: float) -> str:
    if abs(offset) < 0.75:
        return "right in place"
    return f"{abs(offset):.0f} {'past' if offset > 0 else 'short of'} their place"


def next_sentence(coming: NextRound, state: ProjectState) -> str:
    """Where the next round's first colour change is expected, and where it should fall."""
    stitches = state.stint_of(coming.round).stitches
    first = coming.changes[0]

    def seen(stitch: float) -> str:
        return f"{round(wrap(stitch, stitches))}"

    name = one_round(state.facts).capitalize()
    said = (
        f"{name} {coming.round}: expect {seen(first.mean)} ({seen(first.low95)} to "
        f"{seen(first.high95)}), its place is {_halves(first.place)}"
    )
    return f"{said}." if coming.aim is None else f"{said}; let it fall at {_halves(coming.aim)}."


def colours_sentence(coming: NextRound, state: ProjectState, room: int | None = None) -> str:
    """Which colour ends where in a round to come, or where to let it; empty if not told.

    Goes on from "In round 7", or stands alone.  Colours beyond ``room`` characters are left
    to the reasons, a key away.
    """
    if not coming.colours:
        return ""
    stitches = state.stint_of(coming.round).stitches
    aimed = any(one.aim is not None for one in coming.colours)
    said: list[str] = []
    for one in coming.colours:
        at = one.stitch if one.aim is None else one.aim
        verb = "" if said else ("end " if aimed else "ends ")
        said.append(f"{one.colour} {verb}at {min(round(at), stitches)}")
    whole = f"{'let ' if aimed else ''}{', '.join(said)}."
    if room is None or len(whole) <= room:
        return whole
    rest = " ... w tells all"
    return whole[: whole.rfind(",", 0, room - len(rest)) + 1] + rest


_MOST_EASED = 5.0
"""Stitches off from which the needle is changed rather than yarn eased (common practice)."""


def on_track_words(coming: NextRound, places: Mapping[int, float], state: ProjectState) -> str:
    """Whether a colour change that has just come is on track, or what to do in this round.

    ``places``: where each colour change came, stitches as she counts them.
    """
    known = {place.change: place for place in coming.changes}
    stitches, tolerance = state.stint_of(coming.round).stitches, state.facts.tolerance
    name = f"{one_round(state.facts).capitalize()} {coming.round}"
    said = []
    for change, stitch in places.items():
        place = known.get(change)
        if place is None:
            continue
        off = wrap_offset(stitch - place.place, stitches)
        if state.facts.flat and coming.round % 2 == 0:
            off = -off  # counted from the other edge
        where = f"{_halves(stitch)} is {_off(off)} ({_halves(place.place)})"
        if abs(off) <= tolerance:
            said.append(f"{where}, within your {plain(tolerance)}: on track, knit on.")
        elif abs(off) > _MOST_EASED:
            said.append(
                f"{where}, where about {_halves(wrap(place.mean, stitches))} was expected: "
                "more than easing mends."
            )
        else:
            over = (math.ceil(3 * abs(off)), math.ceil(5 * abs(off)))
            way = "back" if off > 0 else "on"
            said.append(
                f"{where}: ease it {way}, {_halves(abs(off))} over {over[0]} to {over[1]} "
                f"stitches, or knit a shade {'looser' if off > 0 else 'tighter'} from here."
            )
    return f"{name}: {' '.join(said)}" if said else f"{name}: no place is known for that one."


def _off(off: float) -> str:
    if abs(off) < 0.25:
        return "right in its place"
    return f"{_halves(abs(off))} {'past' if off > 0 else 'short of'} its place"


def _halves(stitch: float) -> str:
    """A place to the half stitch: no finer can be seen."""
    return plain(round(2.0 * stitch) / 2.0)


def unexplained_words(about: Unexplained, *, flat: bool = False) -> str:
    """What only the knitter can answer, as a question; of rows where the work is ``flat``."""
    return in_rows(_asked(about), flat)


def _asked(about: Unexplained) -> str:
    match about:
        case AlternativeReading() as other:
            return (
                f"Did the colours move {other.taken:+.1f} or {other.drift:+.1f} stitches a round? "
                "Follow one colour change along the yarn from one round to the next and say "
                "which it was."
            )
        case PatternFound() as pattern:
            return (
                f"Every {ordinal(pattern.rounds)} round takes more yarn or less than the others: "
                f"is the pattern {counted(pattern.rounds, 'round')} (pattern-rounds "
                f"{pattern.rounds})?"
            )
        case Suspect() as odd:
            return (
                f"Round {odd.round} reads {odd.stitch:g}, but about {odd.expected:.0f} was "
                "expected: was it miscounted?"
            )
        case Break() as found:
            what = (
                f"the slide changed by {found.size:+.1f} stitches a round"
                if found.kind == "drift"
                else f"the colours moved {found.size:+.0f} stitches at once"
            )
            return (
                f"Something changed around round {found.round}: {what}. Another needle, a long "
                "break, a fix you did not log?"
            )


def doubt_words(doubt: Doubt) -> str:
    """An odd entry, as a question before it is taken."""
    return (
        f"{doubt.stitch:g} is {abs(doubt.off):.0f} stitches from where the colour should "
        f"fall (about {doubt.expected:.0f}): is it right?"
    )
