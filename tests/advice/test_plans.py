"""Which plans are open, and what starting them does, from lists and sums written by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from knitlog.advice import Manner, Plan, Remedy
from knitlog.advice.belief import believe
from knitlog.advice.fixes import fix_ways
from knitlog.advice.plans import plans
from knitlog.advice.policy import _foretold
from knitlog.advice.situation import ROUNDS_TO_ANSWER
from knitlog.advice.ways import open_ways
from knitlog.drift import TensionAsked

from .stand_in import StandInFit, ask, game, stand_in


def open_plans(fit: StandInFit, **facts: object) -> tuple[Plan, ...]:
    situation = ask(fit, **facts)
    belief = believe(situation, 4, 0)
    fixes = fix_ways(128, 15, situation.costs, situation.limits)
    return plans(situation, belief, open_ways(situation, belief), fixes)


def test_a_needle_is_gone_over_to_in_every_manner_the_count_settled_later_or_not() -> None:
    found = open_plans(stand_in(drift=6.0), needles_owned_mm=(4.5, 4.75))
    usual, mind = Manner.AS_USUAL, Manner.MIND_TENSION
    for remedy, later in (
        (Remedy.CHANGE_NEEDLE, {False, True}),
        (Remedy.CHANGE_STITCH_COUNT, {False}),  # it is the count
    ):
        own = [plan for plan in found if plan.remedy is remedy]
        assert {(p.manner, p.new_home, p.then_count) for p in own} == {
            (manner, place, then)
            for manner in (usual, mind)
            for place in (False, True)
            for then in later
        }
    again = [plan for plan in found if plan.remedy is Remedy.START_AGAIN]
    # on the best count, on the best needle and on the best of both; with her hand minded
    assert len(again) == 3
    assert {plan.manner for plan in again} == {mind}


@pytest.mark.parametrize(("offset", "taken"), [(1.0, {1.0}), (0.7, set()), (2.3, {2.5})])
def test_fixes_begin_at_a_stitch_and_go_by_halves(offset: float, taken: set[float]) -> None:
    found = open_plans(stand_in(offset=offset, offset_sd=0.1))
    own = {plan.taken_out for plan in found if plan.remedy is Remedy.RIP_BACK}
    assert own == taken


def test_what_is_begun_again_is_one_thing_done_and_in_place() -> None:
    again = next(
        plan for plan in open_plans(stand_in(drift=9.0)) if plan.remedy is Remedy.START_AGAIN
    )
    played = game(again, ask(stand_in(drift=9.0, offset=20.0)))
    played._begin_again(0, again)
    assert played.done[0].tolist() == [1.0] * 4
    assert not played.offset.any()
    assert not played.offset_hat.any()


def test_straying_colours_are_eased_back_each_by_the_cheaper_way() -> None:
    plan = Plan(Remedy.CARRY_ON, Manner.EVEN_OUT)
    played = game(plan, ask(stand_in(), tolerance=1.0))
    played.turn_hat[:] = played.stitches  # nothing slides
    played.offset_hat[:] = (1.5, 3.5, 0.5, -1.0)
    played._even_out(0)
    # ripping back takes 1 minute and 0.15 for each of 20 stitches at the least, or of 35 at a
    # tenth of a stitch each: 4 and 6.25; a tapestry needle 6, and no more than 3 stitches
    assert played.work[0] == pytest.approx([4.0, 6.25, 0.0, 0.0])
    assert played.done[0].tolist() == [1.0, 1.0, 0.0, 0.0]
    assert played.offset_hat[0] == pytest.approx([0.0, 0.0, 0.5, -1.0])


def test_a_tension_asked_is_in_the_slide_of_the_round_to_come() -> None:
    # nothing but the slide of now moves the round to come: what a change moves beside it is none
    fit = stand_in(
        drift=1.5, tension_asked_percent=2.0, tension=(TensionAsked(4, 2.0),), response_sd=1e-6
    )
    played = game(Plan(Remedy.CARRY_ON, Manner.AS_USUAL), ask(fit))
    assert played._unread_change() == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize(
    ("plan", "chosen", "more"),
    [
        (Plan(Remedy.CARRY_ON, Manner.AS_USUAL), Remedy.CARRY_ON, set()),
        (
            Plan(Remedy.CARRY_ON, Manner.EVEN_OUT),
            Remedy.CARRY_ON,
            {Remedy.TAPESTRY, Remedy.RIP_BACK},
        ),
        (
            Plan(Remedy.STACK_FROM_HERE, Manner.MIND_TENSION),
            Remedy.STACK_FROM_HERE,
            {Remedy.CHANGE_TENSION},
        ),
        (
            Plan(Remedy.CHANGE_NEEDLE, Manner.AS_USUAL, then_count=True),
            Remedy.CHANGE_NEEDLE,
            {Remedy.CHANGE_STITCH_COUNT},
        ),
    ],
)
def test_what_may_follow_is_foretold(plan: Plan, chosen: Remedy, more: set[Remedy]) -> None:
    weighed = SimpleNamespace(plans=(plan,), choice=SimpleNamespace(plan=0, chosen=chosen))
    assert _foretold(weighed) == {chosen, Remedy.CARRY_ON} | more


def test_while_she_waits_anything_may_follow() -> None:
    waiting = Plan(Remedy.KNIT_MORE_FIRST, Manner.MIND_TENSION, wait=2)
    choice = SimpleNamespace(plan=0, chosen=Remedy.KNIT_MORE_FIRST)
    assert _foretold(SimpleNamespace(plans=(waiting,), choice=choice)) == set(Remedy)


def test_a_new_beginning_knits_the_rounds_done_once_more_at_what_a_round_costs_then() -> None:
    again = Plan(Remedy.START_AGAIN, Manner.MIND_TENSION)
    played = game(again, ask(stand_in(rounds=8)))
    # a quarter of the rounds to come out of place, 2 minutes each: so of the eight
    played._begun_again(np.full((1, 10), 0.25))
    assert played.cost[0] == pytest.approx([8 * 0.25 * 2.0] * 4)


@pytest.mark.parametrize(
    ("held", "rounds", "given_up"),
    [
        # three rounds of what is surely left, 2.0 - 0.5, are more than 3 stitches
        (2.0, ROUNDS_TO_ANSWER, True),
        (2.0, ROUNDS_TO_ANSWER - 1, False),
        # of 1.3 - 0.5 they are not; and what pulls the other way is no use to let go of
        (1.3, ROUNDS_TO_ANSWER, False),
        (-2.0, ROUNDS_TO_ANSWER, False),
    ],
)
def test_a_hand_asked_in_full_for_a_while_and_no_use_is_let_go_of(
    held: float, rounds: int, given_up: bool
) -> None:
    played = game(Plan(Remedy.CHANGE_TENSION, Manner.MIND_TENSION), ask(stand_in()))
    played.asked[:], played.p_tt[:] = played.situation.limits.hand_range_percent, 0.25
    drift = np.full((1, 4), 2.0)
    for _ in range(rounds):
        found = played._given_up(drift, np.full((1, 4), held))
    assert bool(found.all()) is given_up
