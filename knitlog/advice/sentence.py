"""Why, in the words a knitter uses.

One sentence names where the colours are, what they do, and why this remedy and not its
nearest rival; where it departs from a rule of thumb (five or more stitches off: another
needle; less: twenty stitches re-knit, or an inch to three evened out) the sentence says
what speaks against the rule here.
"""

from dataclasses import dataclass
from math import log as ln

import numpy as np

from knitlog.advice.choice import Decision
from knitlog.advice.chosen import LIKELY_DUE, STILL, TIE_MINUTES, Chosen, Next, remedy_of
from knitlog.advice.how_to import counted, one_round
from knitlog.advice.remedy import MENDS_DRIFT, MENDS_OFFSET, Remedy
from knitlog.advice.situation import Option, Situation
from knitlog.drift.response import yarn_thickness_mm
from knitlog.yarn.geometry import needle_response_factor
from knitlog.yarn.needles import NEEDLE_SIZES_MM

FIVE_OFF = 5.0
"""Stitches off from which the common rule asks for another needle (common practice)."""
_NOTHING = frozenset({Remedy.CARRY_ON, Remedy.KNIT_MORE_FIRST})
_MOSTLY_IN = 0.8
"""With this share of rounds in tolerance they count as staying in place."""
_AVERAGED = 3
_BRISK = 0.5
"""A slide that is waited for to bring the colours back, stitches a round."""


def tell_place(offset: float) -> str:
    """Return where the colours are: "4 stitches past their place"."""
    size = round(abs(offset) * 2) / 2
    if size < 1:
        return "in their place"
    return f"{counted(size, 'stitch')} {'past' if offset > 0 else 'short of'} their place"


def tell_slide(drift: float, turn: str) -> str:
    """Return what the colours do: "slide 2.1 stitches on every round"."""
    if abs(drift) < STILL:
        return "hardly slide"
    return f"slide {abs(drift):.1f} stitches {'on' if drift > 0 else 'back'} every {turn}"


def due_again(drift: float, tolerance: float) -> int | None:
    """Return after how many rounds a mended offset comes due again, 2 T / |d|; None if never."""
    if abs(drift) < STILL:
        return None
    return max(1, round(2 * tolerance / abs(drift)))


def rounds_until_back(offset: float, after: float) -> int | None:
    """Return after how many rounds a slide turned round has the colours back in place.

    From o + n d' = 0; None where the slide does not lead back, or too slowly to wait for.
    """
    if abs(offset) < 1 or offset * after >= 0 or abs(after) < _BRISK:
        return None
    return max(1, round(abs(offset / after)))


def needle_step_moves(situation: Situation) -> tuple[float, float] | None:
    """Return the next needle in the right direction (mm) and the drift change it makes.

    By the loop law: s2 / s1 = (D2 + y) / (D1 + y).
    """
    now = situation.needle_mm
    if now is None:
        return None
    drift = situation.fit.drift.mean - situation.fit.log.target_drift
    sizes = [size for size in NEEDLE_SIZES_MM if (size > now) == (drift > 0) and size != now]
    if not sizes:
        return None
    other = min(sizes, key=lambda size: abs(size - now))
    y = yarn_thickness_mm(situation.fit.log)
    share = ln(needle_response_factor(now, other, y))
    return other, abs(share) * situation.stitches


@dataclass(frozen=True, slots=True)
class Story:
    """What the sentences are made of."""

    situation: Situation
    decision: Decision
    chosen: Chosen
    options: tuple[Option, ...]


def why(story: Story) -> str:
    """Return the reason for the recommended remedy, in one sentence."""
    situation, decision, chosen = story.situation, story.decision, story.chosen
    belief = decision.belief
    turn = one_round(situation)
    if situation.rounds_left == 0:
        return f"All the {turn}s planned are knitted: there is nothing left to mend."
    if chosen.forced:
        return chosen.forced
    state = f"The colours are {tell_place(belief.offset)} and {tell_slide(belief.drift, turn)}"
    match chosen.remedy:
        case Remedy.CARRY_ON:
            return f"{state}: {_why_nothing(story)}."
        case Remedy.KNIT_MORE_FIRST:
            return (
                f"{state}, give or take {1.96 * belief.drift_sd:.1f}: "
                f"{counted(chosen.wait, turn)} more will tell which fix is worth its work."
            )
        case Remedy.TAPESTRY | Remedy.RIP_BACK:
            return f"{state}: {_why_fix(story)}."
        case _:
            return f"{state}: {_why_change(story)}."


def _why_nothing(story: Story) -> str:
    situation, belief, planned = story.situation, story.decision.belief, story.chosen.planned
    offset, tolerance = abs(belief.offset), situation.tolerance
    turn = one_round(situation)
    if planned is not None:
        more, then = plan_words(situation, story.decision, planned)
        return f"a fix is not worth its work yet, but in about {more} it will be time to {then}"
    if offset <= tolerance:
        if abs(belief.drift) < STILL:
            return "nothing is due"
        rounds = (tolerance - belief.offset * np.sign(belief.drift)) / abs(belief.drift)
        if rounds >= situation.rounds_left:
            return f"they stay within your {tolerance:g} to the end"
        more = counted(max(1, round(rounds)), f"more {turn}")
        return f"they are within your {tolerance:g} for about {more}{_then_left(story)}"
    if belief.offset * belief.drift < 0 and abs(belief.drift) >= STILL:
        return "the slide is bringing them back by itself"
    if _change_is_likely(story):
        return "a change will be worth its work soon, but not before the next look"
    reason = (
        f"every remedy open to you costs more work than it saves{_price_of_changing(story)}, "
        "and blurred stripes are a look of their own"
    )
    needle = _other_needle_leaves(story)
    if abs(belief.drift) >= FIVE_OFF and needle is not None:
        reason += f"; another needle, the usual answer, {needle}"
    return reason


def _change_is_likely(story: Story) -> bool:
    """Return whether a change of needle or count may well be due soon."""
    decision = story.decision
    due = float(decision.truths.weight @ decision.pricing.change_due())
    return due > LIKELY_DUE and decision.carry_on_cost - story.chosen.cost > TIE_MINUTES


def _then_left(story: Story) -> str:
    """Say so where they are left to stray once out of tolerance."""
    if _change_is_likely(story):
        return ""
    share = story.options[0].share_in_tolerance
    if share >= _MOSTLY_IN:
        return ""
    turn = one_round(story.situation)
    out = round(10 * (1 - share))
    often = f"nearly every {turn}" if out >= 10 else f"about {counted(out, turn)} in ten"
    return (
        f", and then out of place {often}, for every remedy costs more work than it "
        f"saves{_price_of_changing(story)}"
    )


def _price_of_changing(story: Story) -> str:
    """Say what the next best would cost more, where there is one."""
    rival = next((o for o in story.options if o.feasible and o.remedy not in _NOTHING), None)
    if rival is None:
        return ""
    more = round(rival.expected_cost - story.chosen.cost)
    if more < 1:
        return ""
    return f" (the cheapest, '{_lower(rival.title)}', by about {counted(more, 'minute')})"


def _other_needle_leaves(story: Story) -> str | None:
    """Say what the best other needle at the present count would leave of the slide."""
    ways, target = story.decision.workings.open, story.decision.target
    others = [
        way
        for way in ways
        if way.needle_mm != ways[0].needle_mm and way.stitches == ways[0].stitches
    ]
    if not others:
        return None
    best = min(others, key=lambda way: abs(way.drift(target)))
    return (
        f"would leave about {best.drift(target):+.1f} a {one_round(story.situation)} "
        f"({best.needle_mm:g} mm), give or take {1.96 * best.turn.sd:.0f}"
    )


def _why_fix(story: Story) -> str:
    situation, decision, chosen = story.situation, story.decision, story.chosen
    belief, turn = decision.belief, one_round(situation)
    again = due_again(belief.drift, situation.tolerance)
    beyond = abs(chosen.step.taken_out) - abs(belief.offset)
    parts = []
    if again is None or again >= situation.rounds_left:
        parts.append(
            "mending the place is enough, for the slide is too small to bring it back soon"
        )
    else:
        parts.append(
            f"mending the place is the cheapest now, and comes due again in about {again} {turn}s"
        )
    if beyond >= 1 and belief.offset * belief.drift > 0:
        parts.append(f"so take out {beyond:.0f} more than they are off, which the slide gives back")
    if abs(belief.offset) >= FIVE_OFF:
        parts.append(_not_needle(story))
    return "; ".join(part for part in parts if part)


def _why_change(story: Story) -> str:
    situation, decision, chosen = story.situation, story.decision, story.chosen
    belief, turn = decision.belief, one_round(situation)
    then = decision.workings.open[chosen.step.way]
    after = then.drift(decision.target)
    again = due_again(belief.drift, situation.tolerance)
    what = (
        f"{then.stitches} stitches"
        if chosen.remedy is Remedy.CHANGE_STITCH_COUNT
        else f"a {then.needle_mm:g} mm needle"
    )
    if chosen.remedy is Remedy.CHANGE_NEEDLE and then.stitches != situation.stitches:
        what += f" with {then.stitches} stitches"
    left = belief.offset - chosen.step.taken_out
    back = rounds_until_back(left, after)
    if back is not None:
        does = (
            f"{what} should slide them {'back' if left > 0 else 'on'} by "
            f"{abs(after):.1f} every {turn}, which has them in place after about "
            f"{counted(back, turn)}"
        )
    elif abs(after) <= abs(belief.drift):
        does = (
            f"{what} should bring the slide to {after:+.1f}, while mending the place alone "
            f"would come due again every {counted(again or 1, turn)}"
        )
    else:
        does = f"{what} should bring the slide to {after:+.1f}"
    parts = [does]
    if chosen.step.taken_out:
        parts.append("what they have slid so far is taken out along with it")
    elif back is None and abs(left) >= 1 and left * after <= -STILL:
        parts.append("what they have slid so far comes back by itself")
    if chosen.remedy is Remedy.CHANGE_STITCH_COUNT and abs(belief.offset) >= FIVE_OFF:
        parts.append(_not_needle(story))
    return "; ".join(part for part in parts if part)


def _not_needle(story: Story) -> str:
    """Say why the rule "five or more off: change needle" does not hold here."""
    situation, belief = story.situation, story.decision.belief
    turn = one_round(situation)
    moves = needle_step_moves(situation)
    if moves is not None and abs(belief.drift) < 0.5 * moves[1]:
        return (
            f"another needle would be too much, as a step to {moves[0]:g} mm moves about "
            f"{moves[1]:.0f} stitches a {turn}"
        )
    owned = [n for n in situation.needles_owned_mm if n != situation.needle_mm]
    if not owned:
        return "another needle would be the usual answer, but none is at hand"
    return ""


def would_change(story: Story) -> str:
    """Return what would lead to another answer."""
    situation, chosen = story.situation, story.chosen
    if situation.rounds_left == 0:
        return "Nothing, unless you knit on beyond the rounds planned."
    if chosen.remedy is Remedy.KNIT_MORE_FIRST and not chosen.forced:
        return " ".join(findings(story))
    if chosen.forced:
        return "The next rounds logged will say what to do."
    flip = _other_drift(story)
    same = _NOTHING if chosen.remedy in _NOTHING else {chosen.remedy}
    rival = next((o for o in story.options if o.feasible and o.remedy not in same), None)
    said = []
    if flip is not None:
        said.append(flip)
    if rival is not None:
        more = rival.expected_cost - chosen.cost
        price = f"would cost about {counted(round(more), 'minute')} more"
        if more < TIE_MINUTES:
            price = "costs about the same"
        said.append(f"The next best, '{_lower(rival.title)}', {price}.")
    return " ".join(said) or "Nothing else is open here."


def _other_drift(story: Story) -> str | None:
    """Say at which drift another remedy would be the cheapest, if any is likely enough."""
    decision, chosen = story.decision, story.chosen
    turn = one_round(story.situation)
    steps = [step for step, _ in decision.priced]
    prices = np.array([decision.pricing.by_truth(step) for step in steps])
    # neighbours in drift are averaged, so that what is not known of needles levels out
    order = np.argsort(decision.truths.drift[0])
    window = np.lib.stride_tricks.sliding_window_view(order, min(_AVERAGED, len(order)))
    best = [remedy_of(steps[prices[:, some].mean(axis=1).argmin()], decision) for some in window]
    drift = decision.truths.drift[0][window].mean(axis=1)
    centre = int(np.argmin(np.abs(drift - decision.belief.drift)))
    for away in range(1, len(drift)):
        for at in (centre + away, centre - away):
            if 0 <= at < len(drift) and best[at] not in (chosen.remedy, *_NOTHING):
                if abs(drift[at] - decision.belief.drift) < STILL:
                    # a near thing: the next best's price says so better than two equal numbers
                    return None
                where = "nearer" if abs(drift[at]) >= STILL else "as small as"
                return (
                    f"Were the slide {where} {drift[at]:+.1f} a {turn}, "
                    f"'{best[at]}' would be the answer."
                )
    return None


def findings(story: Story) -> list[str]:
    """Say which result of the next rounds would lead to which fix."""
    situation, decision, chosen = story.situation, story.decision, story.chosen
    later = decision.pricing.later(chosen.step, chosen.wait)
    turn, when = one_round(situation), situation.fit.last_round + chosen.wait
    groups: list[tuple[tuple[int, bool], list[int]]] = []
    for i, (way, taken_out) in enumerate(zip(later.way, later.taken_out, strict=True)):
        decided = (int(way), bool(taken_out))
        if groups and groups[-1][0] == decided:
            groups[-1][1].append(i)
        else:
            groups.append((decided, [i]))
    groups = [g for g in groups if later.chance[g[1]].sum() >= 0.03]
    said = []
    for n, (decided, members) in enumerate(groups):
        low = (
            None
            if n == 0
            else (later.offsets[groups[n - 1][1][-1]] + later.offsets[members[0]]) / 2
        )
        high = (
            None
            if n == len(groups) - 1
            else (later.offsets[members[-1]] + later.offsets[groups[n + 1][1][0]]) / 2
        )
        said.append(f"{_span(low, high)}: {later_words(story.decision, *decided)}")
    if len(said) < 2:
        return [f"Whatever {turn} {when} shows: {later_words(story.decision, *groups[0][0])}."]
    return [f"If the colours by {turn} {when} are", "; ".join(said) + "."]


def _span(low: float | None, high: float | None) -> str:
    if low is None and high is not None:
        return f"{_signed_place(high)} or further back"
    if high is None and low is not None:
        return f"{_signed_place(low)} or further on"
    if low is None or high is None:
        return "anywhere"
    return f"between {_signed_place(low)} and {_signed_place(high)}"


def _signed_place(offset: float) -> str:
    size = round(abs(offset))
    if size == 0:
        return "in place"
    return f"{size} {'past' if offset > 0 else 'short'}"


def later_words(decision: Decision, way: int, fix: bool) -> str:
    """Return what is done later: "change to 132 stitches and put the colours back in place"."""
    now, then = decision.workings.open[0], decision.workings.open[way]
    if then == now:
        return "put the colours back in place" if fix else "carry on"
    words = []
    if then.needle_mm != now.needle_mm:
        words.append(f"change to {then.needle_mm:g} mm")
    if then.stitches != now.stitches:
        words.append(f"change to {then.stitches} stitches")
    if fix:
        words.append("put the colours back in place")
    return " and ".join(words)


def plan_words(situation: Situation, decision: Decision, planned: Next) -> tuple[str, str]:
    """Return when something is likely to be done and what: "3 more rounds", "change to 5 mm"."""
    more = counted(planned.rounds, f"more {one_round(situation)}")
    return more, later_words(decision, planned.way, planned.fix)


def changed(chosen: Chosen, story: Story, previous: Remedy | None) -> str:
    """Say what changed since the last look, if the remedy did."""
    if previous is None or previous is chosen.remedy:
        return ""
    belief, situation = story.decision.belief, story.situation
    turn = one_round(situation)
    now = f"the colours are now {tell_place(belief.offset)} and {tell_slide(belief.drift, turn)}"
    if previous in MENDS_OFFSET | MENDS_DRIFT and chosen.remedy in (
        Remedy.CARRY_ON,
        Remedy.KNIT_MORE_FIRST,
    ):
        return f"Before, the advice was '{previous}'; that is done or no longer needed, as {now}."
    return f"Before, the advice was '{previous}'; it changed because {now}."


def _lower(title: str) -> str:
    return title[:1].lower() + title[1:]
