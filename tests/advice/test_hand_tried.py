"""A hand asked for all it has has answered after some rounds: what is left is not asked of it."""

import numpy as np
import pytest

from knitlog.advice import Refusal, Remedy, Situation, advise
from knitlog.advice.belief import FloatArray, believe
from knitlog.advice.fixes import fix_ways
from knitlog.advice.plans import Plan, plans
from knitlog.advice.remedy import Manner
from knitlog.advice.rollout import Played, Table
from knitlog.advice.ways import open_ways
from knitlog.drift import Stint, TensionAsked
from knitlog.report.advice_words import tell

from .stand_in import ask, stand_in


def asked_in_full(drift: float, *, percent: float = 3.0, since: int = 5) -> Situation:
    """Twelve rounds on 128 stitches, the hand asked since one of them, the drift left clear."""
    fit_ = stand_in(
        drift=drift,
        drift_sd=0.2,
        offset=2 * drift,
        rounds=12,
        tension=(TensionAsked(since, percent),),
        tension_asked_percent=percent,
        response=0.3,
        response_sd=0.05,
    )
    return ask(fit_)


@pytest.mark.parametrize(
    ("percent", "since", "tried"),
    [(3.0, 9, True), (-3.0, 9, True), (2.5, 9, True), (2.0, 5, False), (3.0, 10, False)],
)
def test_asked_in_full_for_four_rounds_it_has_been_tried(percent, since, tried) -> None:
    assert asked_in_full(2.0, percent=percent, since=since).hand_tried is tried


def test_what_was_asked_on_other_needles_tells_nothing_of_these() -> None:
    situation = asked_in_full(2.0, since=3)
    object.__setattr__(situation.fit.log, "stints", (Stint(1, 128, 5.0), Stint(10, 128, 4.5)))
    assert not situation.hand_tried


def test_asked_only_for_a_while_it_has_been_tried_too() -> None:
    situation = asked_in_full(2.0, since=2)
    let_go = (TensionAsked(2, 3.0), TensionAsked(6, 0.0))
    object.__setattr__(situation.fit.log, "tension", let_go)
    assert situation.hand_tried


def test_the_count_is_not_put_off_once_more_for_a_hand_that_was_tried() -> None:
    # two a round left with all asked, and 1.2 of it the hand's: 131 stitches, not one more wait
    situation = asked_in_full(2.0)
    belief = believe(situation, 96, 0)
    ways = open_ways(situation, belief)
    fixes = fix_ways(128, 15, situation.costs, situation.limits)
    assert not any(plan.then_count for plan in plans(situation, belief, ways, fixes))
    advice = advise(situation)
    assert advice.recommended.remedy is Remedy.CHANGE_STITCH_COUNT
    assert 130 <= advice.recommended.details["stitches"] <= 132
    assert "that is left with your hand asked for all it gives" in tell(advice).why


def test_a_slide_that_is_held_needs_no_line_though_all_is_asked() -> None:
    advice = advise(asked_in_full(0.1))
    lines = {Remedy.CHANGE_STITCH_COUNT, Remedy.CHANGE_NEEDLE, Remedy.START_AGAIN}
    assert advice.recommended.remedy not in lines


def test_after_a_change_nothing_is_asked_of_the_hand_before_it_shows_what_it_did() -> None:
    fit_ = stand_in(drift=1.5, offset=5.0)
    object.__setattr__(fit_.log, "stints", (Stint(1, 128, 5.0), Stint(9, 128, 4.5)))
    (option,) = [o for o in advise(ask(fit_)).options if o.remedy is Remedy.CHANGE_TENSION]
    assert option.refusal is Refusal.JUST_CHANGED


def test_let_go_of_with_a_change_it_is_not_asked_again_before_a_round_is_read() -> None:
    situation = asked_in_full(2.0)  # three in a hundred until round 12, as usual from 13 on
    fit_ = situation.fit
    fit_.tension_asked_percent = 0.0
    object.__setattr__(fit_.log, "tension", (TensionAsked(5, 3.0), TensionAsked(13, 0.0)))
    object.__setattr__(fit_.log, "stints", (Stint(1, 128, 4.5), Stint(13, 131, 4.5)))
    advice = advise(ask(fit_))
    assert situation.changed_unread
    assert advice.recommended.remedy is not Remedy.CHANGE_TENSION
    assert Refusal.JUST_CHANGED in {
        o.refusal for o in advice.options if o.remedy is Remedy.CHANGE_TENSION
    }


class Watched(Table):
    """Keeps what is asked in every round."""

    def play(self) -> Played:
        self.all_asked: list[FloatArray] = []
        return super().play()

    def note(self, t: int) -> None:
        self.all_asked.append(self.asked[0])


@pytest.mark.parametrize(("drift", "let_go"), [(8.0, True), (1.0, False)])
def test_played_forward_a_hand_that_is_no_use_is_let_go_of(drift: float, let_go: bool) -> None:
    situation = ask(stand_in(drift=drift, drift_sd=0.2, offset=0.0, response=0.3, response_sd=0.02))
    belief = believe(situation, 48, 0)
    fixes = fix_ways(128, 15, situation.costs, situation.limits)
    table = Watched(
        [Plan(Remedy.CHANGE_TENSION, Manner.MIND_TENSION)], situation, belief, fixes, 20, 0
    )
    table.play()
    asked = np.array(table.all_asked)
    assert (asked[:3] != 0).any(axis=0).all()  # it is asked at first
    assert (asked[10:] == 0).all() == let_go
