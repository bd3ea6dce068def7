"""The advice: every remedy weighed, one recommended, and why.

The room's one entry point.  What it rests on: the decision model in this room's README.
"""

from dataclasses import replace
from math import inf, isfinite

import numpy as np

from knitlog.advice.choice import SMALLEST_FIX, Decision, decide
from knitlog.advice.chosen import STILL, Chosen, Next, choose, remedy_of
from knitlog.advice.how_to import (
    change_details,
    change_steps,
    counted,
    fix_details,
    fix_steps,
    one_round,
)
from knitlog.advice.outlook import Course, Outlook, outlook
from knitlog.advice.pricing import NOTHING, FirstStep
from knitlog.advice.remedy import Remedy
from knitlog.advice.sentence import (
    Story,
    changed,
    plan_words,
    rounds_until_back,
    why,
    would_change,
)
from knitlog.advice.situation import Advice, Number, Option, Situation
from knitlog.advice.workings import Working

_LOOK_AT_LEAST, _LOOK_AT_MOST = 1, 10
_SETTLE_ROUNDS = (2, 5)
"""A change has shown what it does after two to five rounds (common practice)."""


class AdviceError(ValueError):
    """A project that cannot be advised on as described."""


def advise(situation: Situation, *, seed: int = 0, previous: Remedy | None = None) -> Advice:
    """Say what to do about the colours.

    Args:
        situation: the project as it stands.
        seed: makes the simulated outlook repeatable.
        previous: the remedy recommended at the last look, if there was one; another that
            costs the same does not push it out, and what changed is said.

    Raises:
        AdviceError: the tolerance, stitch count or multiple cannot be.
    """
    decision, chosen = recommend(situation, seed=seed, previous=previous)
    rows = _rows(situation, decision, chosen)
    looks = outlook(
        decision, tuple(course for _, _, course, _ in rows), situation.rounds_left, seed
    )
    found = [_option(situation, decision, row, look) for row, look in zip(rows, looks, strict=True)]
    recommended = found[0]
    if chosen.planned is not None:
        recommended = _with_plan(situation, decision, recommended, chosen.planned)
    rest = sorted(found[1:], key=lambda option: option.expected_cost)
    options = (recommended, *rest, *_not_here(situation, decision, {o.remedy for o in found}))
    story = Story(situation, decision, chosen, options)
    reason = why(story)
    look_again = situation.fit.last_round + _look_in(decision, chosen, looks[0])
    return Advice(
        recommended=recommended,
        options=options,
        why=reason,
        would_change=would_change(story),
        look_again_round=look_again,
        steps=_steps(situation, decision, chosen, recommended, look_again),
        changed=changed(chosen, story, previous),
    )


def recommend(
    situation: Situation, *, seed: int = 0, previous: Remedy | None = None
) -> tuple[Decision, Chosen]:
    """Return what :func:`advise` would recommend, without the outlook and the words."""
    _check(situation)
    decision = decide(situation, seed=seed)
    return decision, choose(situation, decision, previous)


def _check(situation: Situation) -> None:
    if not (isfinite(situation.tolerance) and situation.tolerance > 0):
        raise AdviceError(
            f"A tolerance of {situation.tolerance:g} cannot be met: type how many stitches off "
            "still look right, as 3."
        )
    if situation.stitches < 2:
        raise AdviceError("A round needs at least 2 stitches: check the stitch count.")
    if situation.multiple < 0:
        raise AdviceError(
            "The stitch pattern's multiple must be 1 or more, or 0 for a fixed count."
        )


Row = tuple[Remedy, FirstStep, Course, float]


def _rows(situation: Situation, decision: Decision, chosen: Chosen) -> list[Row]:
    """Return the remedies that can be done, the chosen one first."""
    nothing = next(later for step, later in decision.priced if step == NOTHING)
    wait = chosen.wait or nothing.rounds
    rows: list[Row] = [
        (chosen.remedy, chosen.step, Course(chosen.step, wait=chosen.wait), chosen.cost)
    ]
    seen = {(chosen.remedy, _same(decision, chosen.step))}
    for step, later in decision.priced:
        remedy = remedy_of(step, decision)
        key = (remedy, _same(decision, step))
        if remedy is Remedy.CARRY_ON or key in seen:
            continue
        seen.add(key)
        rows.append((remedy, step, Course(step), later.cost))
    if chosen.remedy is not Remedy.CARRY_ON:
        rows.append(
            (
                Remedy.CARRY_ON,
                NOTHING,
                Course(NOTHING, may_change=False),
                max(decision.carry_on_cost, nothing.cost),
            )
        )
    if chosen.remedy is not Remedy.KNIT_MORE_FIRST and situation.rounds_left > 1:
        rows.append((Remedy.KNIT_MORE_FIRST, NOTHING, Course(NOTHING, wait=wait), nothing.cost))
    return rows


def _same(decision: Decision, step: FirstStep) -> object:
    """Return what makes two first steps the same row: the way of working gone over to."""
    way = decision.workings.open[step.way]
    return way.needle_mm, way.stitches


def _option(situation: Situation, decision: Decision, row: Row, look: Outlook) -> Option:
    remedy, step, course, cost = row
    then = decision.workings.open[step.way]
    details: dict[str, Number] = {}
    if step.way:
        details.update(change_details(situation, then))
    if step.taken_out and step.by is not None:
        way = next(w for w in decision.fix_ways if w.remedy is step.by)
        details.update(fix_details(situation, way, step.taken_out))
    if remedy is Remedy.KNIT_MORE_FIRST:
        details["wait_rounds"] = course.wait
        details["decide_at_round"] = situation.fit.last_round + course.wait
    return Option(
        remedy=remedy,
        title=_title(situation, remedy, details),
        details=details,
        share_in_tolerance=look.share_in_tolerance,
        expected_fixes=look.fixes,
        minutes=look.minutes,
        size_change_percent=round(then.size_change_percent, 2),
        feasible=True,
        reason=_row_reason(situation, decision, remedy, step, course),
        expected_cost=cost,
    )


def _with_plan(situation: Situation, decision: Decision, option: Option, planned: Next) -> Option:
    """Return "nothing now" with what is likely to follow in its title and numbers."""
    more, then = plan_words(situation, decision, planned)
    return replace(
        option,
        title=f"Knit {more}, then {then}",
        details={**option.details, "planned_at_round": situation.fit.last_round + planned.rounds},
    )


def _title(situation: Situation, remedy: Remedy, details: dict[str, Number]) -> str:
    taken = counted(abs(float(details.get("taken_out_stitches", 0))), "stitch")
    match remedy:
        case Remedy.CARRY_ON:
            return "Carry on"
        case Remedy.KNIT_MORE_FIRST:
            more = counted(float(details["wait_rounds"]), "more " + one_round(situation))
            return f"Knit {more} first"
        case Remedy.TAPESTRY:
            return f"Even out {taken} with a tapestry needle"
        case Remedy.RIP_BACK:
            over = counted(float(details["over_stitches"]), "stitch")
            return f"Rip back {over} and knit them {details['tension']}"
    words = []
    if "needle_mm" in details:
        words.append(f"Change to {float(details['needle_mm']):g} mm needles")
    if "stitches" in details:
        words.append(f"{'' if words else 'Change to '}{details['stitches']} stitches")
    if "taken_out_stitches" in details:
        by = "even out" if details["fix_by"] == Remedy.TAPESTRY else "re-knit"
        words.append(f"{by} {taken}")
    return " and ".join(words) if len(words) < 3 else f"{words[0]}, {words[1]} and {words[2]}"


def _row_reason(
    situation: Situation, decision: Decision, remedy: Remedy, step: FirstStep, course: Course
) -> str:
    turn, drift = one_round(situation), decision.belief.drift
    match remedy:
        case Remedy.CARRY_ON:
            return f"Nothing is done now; the slide of {drift:+.1f} a {turn} stays."
        case Remedy.KNIT_MORE_FIRST:
            return (
                f"The slide is known to {decision.belief.drift_sd:.1f} a {turn}; "
                f"{counted(course.wait, 'more ' + turn)} will narrow that."
            )
        case Remedy.TAPESTRY | Remedy.RIP_BACK:
            return f"Mends the place; the slide of {drift:+.1f} a {turn} stays."
    then = decision.workings.open[step.way]
    after = f"{then.drift(decision.target):+.1f}, give or take {1.96 * then.turn.sd:.1f}"
    tail = "; the place is mended along with it" if step.taken_out else "; the place stays"
    return f"Brings the slide from {drift:+.1f} to {after}{tail}."


def _not_here(situation: Situation, decision: Decision, found: set[Remedy]) -> list[Option]:
    """Return what cannot be done here, and why."""
    options = []
    if Remedy.CHANGE_NEEDLE not in found:
        options.append(
            _infeasible(Remedy.CHANGE_NEEDLE, "Change needle", _no_needle(situation, decision))
        )
    if Remedy.CHANGE_STITCH_COUNT not in found:
        options.append(
            _infeasible(Remedy.CHANGE_STITCH_COUNT, "Change stitch count", _no_count(situation))
        )
    largest = max(way.largest for way in decision.fix_ways)
    for remedy, title in ((Remedy.TAPESTRY, "Tapestry needle"), (Remedy.RIP_BACK, "Rip back")):
        if remedy not in found:
            options.append(
                _infeasible(
                    remedy,
                    title,
                    f"Less than {SMALLEST_FIX:g} stitch cannot be mended: the count is no finer."
                    if largest >= SMALLEST_FIX
                    else "So few stitches cannot take up a whole stitch of yarn.",
                )
            )
    if Remedy.KNIT_MORE_FIRST not in found:
        options.append(
            _infeasible(
                Remedy.KNIT_MORE_FIRST,
                "Knit more rounds first",
                "The planned rounds are all but knitted.",
            )
        )
    return options


def _infeasible(remedy: Remedy, title: str, reason: str) -> Option:
    return Option(remedy, title, {}, 0.0, 0.0, 0.0, 0.0, False, reason, inf)


def _no_needle(situation: Situation, decision: Decision) -> str:
    if situation.needle_mm is None:
        return "Say which needle you knit with, and others can be weighed."
    if not situation.needles_owned_mm:
        return "Say which needles you own, and they can be weighed."
    others = [n for n in situation.needles_owned_mm if n != situation.needle_mm]
    if not others:
        return "You own no other needle."
    return _too_big(situation, decision, needle=True)


def _no_count(situation: Situation) -> str:
    if situation.multiple == 0:
        return "The stitch count cannot change here."
    return (
        f"Another multiple of {situation.multiple} stitches would change the width by more "
        f"than the {situation.size_limit_percent:g} % you allow, or do no good."
    )


def _too_big(situation: Situation, decision: Decision, *, needle: bool) -> str:
    sizes = [
        w.size_change_percent
        for w in decision.workings.too_big
        if (w.needle_mm != situation.needle_mm) == needle
    ]
    least = min((abs(s) for s in sizes), default=0.0)
    return (
        f"The others would change the width by {least:.0f} % or more; you allow "
        f"{situation.size_limit_percent:g} %."
    )


def _look_in(decision: Decision, chosen: Chosen, look: Outlook) -> int:
    """Return in how many rounds to look again."""
    if chosen.wait:
        return chosen.wait
    if chosen.planned is not None:
        return chosen.planned.rounds
    rounds = look.quiet_rounds
    if chosen.step.way:
        belief, then = decision.belief, decision.workings.open[chosen.step.way]
        left = belief.offset - chosen.step.taken_out
        back = rounds_until_back(left, then.drift(decision.target))
        if back is not None:
            return int(np.clip(back, _LOOK_AT_LEAST, _SETTLE_ROUNDS[1]))
        rounds = int(np.clip(rounds, *_SETTLE_ROUNDS))
    return int(np.clip(rounds, _LOOK_AT_LEAST, _LOOK_AT_MOST))


def _afterwards(decision: Decision, then: Working, turn: str) -> str:
    """Say what slides least, once a slide turned round has the colours back in place."""
    on_it = [way for way in decision.workings.open if way.needle_mm == then.needle_mm]
    holds = min(on_it, key=lambda way: abs(way.drift(decision.target)))
    if holds.stitches == then.stitches:
        return "go on with it only so long"
    drift = holds.drift(decision.target)
    if abs(drift) < STILL:
        return f"then {holds.stitches} stitches should hold them there"
    return f"then change to {holds.stitches} stitches, at {drift + decision.target:+.1f} a {turn}"


def _steps(
    situation: Situation, decision: Decision, chosen: Chosen, option: Option, look_again: int
) -> tuple[str, ...]:
    turn = one_round(situation)
    steps: list[str] = []
    details = dict(option.details)
    if "taken_out_stitches" in details:
        steps += fix_steps(situation, details)
    then = decision.workings.open[chosen.step.way]
    if chosen.step.way:
        steps += change_steps(situation, then)
        after = then.drift(decision.target) + decision.target
        steps.append(
            f"Expect {after:+.1f} a {turn} from then on, give or take {1.96 * then.turn.sd:.1f}."
        )
        belief = decision.belief
        left = belief.offset - chosen.step.taken_out
        back = rounds_until_back(left, after - decision.target)
        if back is not None:
            steps.append(
                f"That has the colours back in place in about {counted(back, turn)}; "
                f"{_afterwards(decision, then, turn)}."
            )
    if chosen.remedy is Remedy.KNIT_MORE_FIRST:
        steps.append(f"Knit on as you do and log where the colours fall, to {turn} {look_again}.")
    elif chosen.planned is not None:
        more, then_do = plan_words(situation, decision, chosen.planned)
        steps.append(f"Knit {more} as you do.")
        steps.append(f"Then {then_do}, if the colours have gone on as before.")
    elif chosen.remedy is Remedy.CARRY_ON:
        steps.append("Knit on as you do.")
    elif not chosen.step.way:
        steps.append(f"Knit on as you do; the slide of {decision.belief.drift:+.1f} stays.")
    steps.append(f"Look again at {turn} {look_again}.")
    return tuple(steps)
