"""The advice: every plan weighed, one recommended.

The room's one entry point.  What it rests on: the decision model in this room's README.
"""

from math import inf

import numpy as np

from knitlog.advice.belief import Belief, believe
from knitlog.advice.choice import Choice, choose, is_as_good, named
from knitlog.advice.details import details_of
from knitlog.advice.fixes import FixWay, fix_ways
from knitlog.advice.plans import ROUNDS_TO_CHANGE, ROUNDS_TO_SPEAK, Plan, plans, rounds_spanned
from knitlog.advice.practice import drift_now, passed_over, place_in_doubt
from knitlog.advice.remedy import Manner, Remedy
from knitlog.advice.result import AccountQuestion, Advice, Option, Refusal
from knitlog.advice.rollout import Played, play
from knitlog.advice.situation import Situation
from knitlog.advice.ways import Ways, open_ways

DRAWS = 96
"""Draws of the fit every plan is played on."""
_LOOK_AT_MOST = 10
_SETTLE_ROUNDS = 3
"""A change has shown what it does after some three rounds (common practice)."""
_OFTEN_OUT = 0.25
_DOING = frozenset(Remedy) - {Remedy.KNIT_MORE_FIRST}


class _Weighed:
    """A situation with its plans played and one chosen."""

    def __init__(self, situation: Situation, seed: int, previous: Remedy | None) -> None:
        situation.check()
        self.situation = situation
        self.belief: Belief = believe(situation, DRAWS, seed)
        self.ways: Ways = open_ways(situation, self.belief)
        over = situation.limits.tapestry_stitches(situation.gauge)
        self.fixes: tuple[FixWay, FixWay] = fix_ways(
            situation.stitches, over, situation.costs, situation.limits
        )
        found = plans(situation, self.belief, self.ways, self.fixes)
        reasons = passed_over(found, situation, self.belief, self.ways)
        self.plans: tuple[Plan, ...] = tuple(plan for plan, why in reasons.items() if not why)
        self.passed: dict[Remedy, Refusal] = {}
        """Why the first plan of a remedy was passed over."""
        for plan, why in reasons.items():
            if why:
                self.passed.setdefault(plan.remedy, why)
        self.played: Played = play(self.plans, situation, self.belief, self.fixes, seed)
        self.choice: Choice = choose(situation, self.belief, self.plans, self.played, previous)

    def name(self, i: int) -> Remedy:
        """Return what doing plan ``i`` is called."""
        return named(self.plans[i], float(self.played.asked[i]), self.belief)


def advise(situation: Situation, *, seed: int = 0, previous: Remedy | None = None) -> Advice:
    """Say what to do about the colours.

    Args:
        situation: the project as it stands.
        seed: makes the play repeatable.
        previous: the remedy recommended at the last look, if there was one; another that
            costs about the same does not push it out.

    Raises:
        AdviceError: the tolerance, stitch count or multiple cannot be.
    """
    weighed = _Weighed(situation, seed, previous)
    choice = weighed.choice
    found = [
        _option(weighed, remedy, i)
        for remedy, i in choice.best.items()
        # knitting on first is a recommendation or nothing: beside another it only puts that off
        if remedy in (choice.chosen, *_DOING)
    ]
    recommended = next(option for option in found if option.remedy is choice.chosen)
    rest = [option for option in found if option is not recommended]
    rest.sort(key=lambda option: option.expected_cost)
    done = {option.remedy for option in found}
    refused = [_refused(weighed, remedy) for remedy in Remedy if remedy not in done]
    drift, sd = drift_now(situation)
    return Advice(
        situation=situation,
        recommended=recommended,
        options=(recommended, *rest, *refused),
        look_again_round=situation.fit.last_round + _look_in(weighed),
        drift=drift,
        drift_sd=sd,
        offset=situation.fit.offset_now,
        question=_question(weighed),
        previous=previous if previous is not choice.chosen else None,
        foretold=_foretold(weighed),
        place_in_doubt=place_in_doubt(situation),
    )


def recommend(situation: Situation, *, seed: int = 0, previous: Remedy | None = None) -> Remedy:
    """Return the remedy :func:`advise` would recommend."""
    return _Weighed(situation, seed, previous).choice.chosen


def _option(weighed: _Weighed, remedy: Remedy, i: int) -> Option:
    plan, played, choice = weighed.plans[i], weighed.played, weighed.choice
    asked, expected = float(played.asked[i]), float(played.expected[i])
    price, least = choice.cost[i], choice.cost[choice.plan]
    way = plan.way or weighed.ways.present
    return Option(
        remedy=remedy,
        details=details_of(weighed.situation, weighed.belief, plan, weighed.fixes, asked, expected),
        share_in_tolerance=float(1 - played.out[i].mean())
        if weighed.situation.rounds_left
        else 0.0,
        expected_fixes=float(played.fixes[i]),
        minutes=float(played.work[i]),
        size_change_percent=round(way.size_change_percent, 2),
        feasible=True,
        expected_cost=price,
        plan=plan,
        as_good=is_as_good(price, least),
    )


def _question(weighed: _Weighed) -> AccountQuestion | None:
    asked = weighed.choice.question
    if asked is None:
        return None
    options = [_option(weighed, weighed.name(i), i) for i in asked.plans or ()]
    return AccountQuestion(asked.kind, asked.round, asked.drifts, *options)


def _refused(weighed: _Weighed, remedy: Remedy) -> Option:
    return Option(remedy, {}, 0.0, 0.0, 0.0, 0.0, False, inf, refusal=_refusal(weighed, remedy))


def _refusal(weighed: _Weighed, remedy: Remedy) -> Refusal:
    """Return why a remedy is not open."""
    situation = weighed.situation
    spanned = rounds_spanned(situation)
    changes = remedy in (Remedy.CHANGE_NEEDLE, Remedy.CHANGE_STITCH_COUNT, Remedy.START_AGAIN)
    if situation.rounds_left <= 1:
        return Refusal.NO_ROUNDS_LEFT
    if remedy is Remedy.KNIT_MORE_FIRST:
        return Refusal.ENOUGH_KNOWN
    if remedy in weighed.choice.worse:
        return Refusal.WORSE_IN_ONE_ACCOUNT
    if remedy is Remedy.CHANGE_NEEDLE and (reason := _no_needle(situation)):
        return reason
    if remedy is Remedy.CHANGE_STITCH_COUNT and not situation.count_may_change:
        return Refusal.COUNT_FIXED if situation.multiple == 0 else Refusal.COUNT_CHANGED_BEFORE
    if spanned < (ROUNDS_TO_CHANGE if changes else ROUNDS_TO_SPEAK):
        return Refusal.TOO_SOON
    if situation.changed_unread and (changes or remedy is Remedy.CHANGE_TENSION):
        return Refusal.JUST_CHANGED
    played = any(plan.remedy is remedy for plan in weighed.plans)
    if remedy in (Remedy.TAPESTRY, Remedy.RIP_BACK) and remedy not in weighed.passed:
        return Refusal.AGAINST_THE_SLIDE if played else Refusal.TOO_SMALL
    if changes and weighed.ways.too_big and not played:
        return Refusal.TOO_BIG
    return Refusal.NO_BETTER if played else weighed.passed.get(remedy, Refusal.NO_BETTER)


def _no_needle(situation: Situation) -> Refusal | None:
    if situation.needle_mm is None:
        return Refusal.NO_NEEDLE_TOLD
    if not situation.needles_owned_mm:
        return Refusal.NO_NEEDLES_TOLD
    if all(n == situation.needle_mm for n in situation.needles_owned_mm):
        return Refusal.NO_OTHER_NEEDLE
    return None


def _foretold(weighed: _Weighed) -> frozenset[Remedy]:
    """Return what may well follow, as the manner chosen goes on."""
    plan = weighed.plans[weighed.choice.plan]
    found = {weighed.choice.chosen}
    if plan.wait:
        return frozenset(Remedy)
    if plan.manner is Manner.EVEN_OUT:
        found |= {Remedy.TAPESTRY, Remedy.RIP_BACK}
    if plan.manner is Manner.MIND_TENSION:
        found |= {Remedy.CHANGE_TENSION}
    if plan.then_count and weighed.choice.chosen is not Remedy.CARRY_ON:
        found |= {Remedy.CHANGE_STITCH_COUNT}
    return frozenset(found | {Remedy.CARRY_ON})


def _look_in(weighed: _Weighed) -> int:
    """Return in how many rounds to look again."""
    plan = weighed.plans[weighed.choice.plan]
    if plan.wait:
        return plan.wait
    if weighed.choice.chosen is not Remedy.CARRY_ON or plan.manner is not Manner.AS_USUAL:
        return _SETTLE_ROUNDS
    out = weighed.played.out[weighed.choice.plan]
    often = np.flatnonzero(out > _OFTEN_OUT)
    rounds = int(often[0]) if len(often) else len(out)
    return int(np.clip(rounds, 1, _LOOK_AT_MOST))
