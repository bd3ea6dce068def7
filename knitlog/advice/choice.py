"""Which plan is recommended: the least expected cost, and not a new one at every look.

Three things stand before the cost.  A remedy never points against the slide it is for.  Where
accounts of the log would have her do different things, she is asked, and until she has
answered nothing is done that any of them makes worse.  And what she was told last time stands
until another remedy is better by a margin.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from knitlog.advice.belief import Belief, FloatArray
from knitlog.advice.plans import ROUNDS_TO_LOOK, ROUNDS_TO_SPEAK, Plan, rounds_spanned
from knitlog.advice.practice import likely_repeats, place_in_doubt, points_against
from knitlog.advice.remedy import Remedy
from knitlog.advice.rollout import BoolArray, Played
from knitlog.advice.situation import Situation
from knitlog.advice.ways import LIKELY_ACCOUNT
from knitlog.drift.fit_result import AccountSummary

MARGIN_MINUTES = 2.0
MARGIN_SHARE = 0.04
"""Another remedy must be better by so much, at the least, to push out what she was told; costs
nearer than that are about as good (common practice, no source)."""
MORE_IN_PLACE = 3.0
"""Rounds in place that make a difference between remedies that cost the same."""
WORTH_DOING = 1.0
"""Minutes that anything must save to be done at all."""
_FEWEST_DRAWS = 6
_SAME_IN_ALL = 2.0
"""Minutes by which a remedy may be worse than leaving it under any account."""
_MATTERS = 4.0
"""Minutes an answer must be worth to be asked for."""
NOTHING = frozenset({Remedy.CARRY_ON, Remedy.KNIT_MORE_FIRST})
LINES = frozenset({Remedy.CHANGE_NEEDLE, Remedy.CHANGE_STITCH_COUNT, Remedy.START_AGAIN})
"""These leave a line across the work, or none of it: said a look ahead where that can wait."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What only she can tell: see :class:`knitlog.advice.AccountQuestion`."""

    kind: Literal["repeat", "miscount", "drift", "jump"]
    round: int | None
    drifts: tuple[float, float]
    plans: tuple[int, int] | None
    """Index of the best plan if it happened, and if it did not."""


@dataclass(frozen=True, slots=True)
class Choice:
    """What is recommended, and the best of each remedy."""

    best: dict[Remedy, int]
    """Index of the cheapest plan of each remedy that may be recommended."""
    chosen: Remedy
    cost: tuple[float, ...]
    """Expected cost of every plan, minutes."""
    question: Asked | None
    worse: frozenset[Remedy]
    """Remedies that one of the accounts asked about makes worse."""

    @property
    def plan(self) -> int:
        """Return the index of the chosen plan."""
        return self.best[self.chosen]


def margin(cost: float) -> float:
    """Return by how much another remedy must be better, minutes."""
    return max(MARGIN_MINUTES, MARGIN_SHARE * cost)


def is_as_good(cost: float, least: float) -> bool:
    """Tell whether ``cost`` is about as good as ``least``, minutes."""
    return cost - least < margin(least)


def named(plan: Plan, asked: float, belief: Belief) -> Remedy:
    """Return what doing a plan's start now is called: an ask she follows already is no change."""
    if plan.remedy is Remedy.CHANGE_TENSION and abs(asked - belief.asked) < 1e-9:
        return Remedy.CARRY_ON
    return plan.remedy


def choose(
    situation: Situation,
    belief: Belief,
    plans: tuple[Plan, ...],
    played: Played,
    previous: Remedy | None,
) -> Choice:
    """Choose among plans that have been played."""
    cost = played.cost.mean(axis=1)
    names = [
        named(plan, float(asked), belief) for plan, asked in zip(plans, played.asked, strict=True)
    ]
    allowed = np.array(
        [
            not points_against(plan, float(asked), situation, belief)
            for plan, asked in zip(plans, played.asked, strict=True)
        ]
    )
    question, harmless = _asked(situation, belief, plans, names, played)
    worse = frozenset(n for n, a in zip(names, allowed, strict=True) if a) - frozenset(
        n for n, a in zip(names, allowed & harmless, strict=True) if a
    )
    best: dict[Remedy, int] = {}
    for i in np.argsort(cost, kind="stable"):
        if allowed[i] and harmless[i]:
            best.setdefault(names[i], int(i))
    if question and question.plans:
        # what either answer would have her do waits for it
        worse |= {names[i] for i in question.plans} - best.keys()
    out = abs(belief.offset_mean) > situation.tolerance
    in_place = (1 - played.out).sum(axis=1)
    chosen = _settle(best, cost, in_place, rounds_spanned(situation), out, previous)
    if place_in_doubt(situation) and Remedy.STACK_FROM_HERE in best:
        question = None
        # nor is the hand steered towards such a place, where to take another is about as good
        as_good = is_as_good(cost[best[Remedy.STACK_FROM_HERE]], cost[best[chosen]])
        if chosen is Remedy.CARRY_ON or (chosen is Remedy.CHANGE_TENSION and as_good):
            chosen = Remedy.STACK_FROM_HERE
    return Choice(best, chosen, tuple(map(float, cost)), question, worse)


def _settle(
    best: dict[Remedy, int],
    cost: FloatArray,
    rounds_in_place: FloatArray,
    spanned: int,
    out: bool,
    previous: Remedy | None,
) -> Remedy:
    """Return the remedy to recommend."""
    price = {remedy: float(cost[i]) for remedy, i in best.items()}
    more = price.pop(Remedy.KNIT_MORE_FIRST, None)
    if not price or (more is not None and spanned < ROUNDS_TO_SPEAK):
        return Remedy.KNIT_MORE_FIRST
    least = min(price.values())
    close = [remedy for remedy in price if is_as_good(price[remedy], least)]
    chosen = min(close, key=price.__getitem__)
    # about as good: the one that keeps more rounds in place
    stays = max(close, key=lambda remedy: float(rounds_in_place[best[remedy]]))
    if rounds_in_place[best[stays]] - rounds_in_place[best[chosen]] > MORE_IN_PLACE:
        chosen = stays
    if price.get(Remedy.CARRY_ON, np.inf) - least < WORTH_DOING:
        chosen = Remedy.CARRY_ON
    # and what she was told to do stands
    if previous in close and not (previous is Remedy.CARRY_ON and out):
        chosen = previous
    # a decision put off is a decision to make again, the more so after four or five rounds
    worth = margin(least) * (1 if spanned < ROUNDS_TO_LOOK else 2)
    if more is not None and more + worth < price[chosen]:
        return Remedy.KNIT_MORE_FIRST
    return chosen


def _asked(
    situation: Situation,
    belief: Belief,
    plans: tuple[Plan, ...],
    names: list[Remedy],
    played: Played,
) -> tuple[Asked | None, BoolArray]:
    """Return what to ask her, and which plans no account that counts makes worse."""
    fit = situation.fit
    everything = np.ones(len(names), dtype=bool)
    waits = np.array([float(plan.wait) for plan in plans])
    knit_on = np.array([name is Remedy.KNIT_MORE_FIRST for name in names])
    if others := likely_repeats(situation):
        likely = max(others, key=lambda a: a.probability)
        asked = Asked("repeat", None, (likely.drift, fit.drift.mean), None)
        nothing = np.array([name in NOTHING for name in names])
        return asked, knit_on if knit_on.any() else nothing
    accounts = [
        (account, draws)
        for i, account in enumerate(fit.accounts)
        if account.probability > LIKELY_ACCOUNT
        and len(draws := np.flatnonzero(belief.account == i)) >= _FEWEST_DRAWS
    ]
    if len(accounts) < 2:
        return None, everything
    cost = np.array([played.cost[:, draws].mean(axis=1) for _, draws in accounts])
    cost[:, knit_on] = np.inf
    best = cost.argmin(axis=1)
    # what the best plan of one account costs under another, over that one's own best
    lost = cost[:, best] - cost.min(axis=1)[:, None]
    if float(lost.max()) < _MATTERS:
        return None, everything
    so, not_so = (int(i) for i in np.unravel_index(int(lost.argmax()), lost.shape))
    question = _difference(
        (accounts[so][0], int(best[so])), (accounts[not_so][0], int(best[not_so]))
    )
    if question is None:
        return None, everything
    # her answer will not be long in coming
    knit_on &= waits == waits[knit_on].min(initial=np.inf)
    stay = names.index(Remedy.CARRY_ON)
    return question, (cost <= cost[:, [stay]] + _SAME_IN_ALL).all(axis=0) | knit_on


def _difference(so: tuple[AccountSummary, int], not_so: tuple[AccountSummary, int]) -> Asked | None:
    """Return the question that tells two accounts apart, each with the plan it asks for."""
    only = [h for h in so[0].happenings if h not in not_so[0].happenings]
    if not only:
        so, not_so = not_so, so
        only = [h for h in so[0].happenings if h not in not_so[0].happenings]
    if not only:
        return None
    happening = max(only, key=lambda h: h.round)
    drifts = (so[0].drift.mean, not_so[0].drift.mean)
    return Asked(happening.kind, happening.round, drifts, (so[1], not_so[1]))
