from dataclasses import replace

import pytest

from knitlog.advice import Remedy
from knitlog.advice.choice import decide
from knitlog.advice.chosen import choose, worth_of_waiting
from knitlog.drift import AlternativeReading

from .stand_in import ask, stand_in


def chosen(fit, previous: Remedy | None = None, **facts):
    situation = ask(fit, **facts)
    decision = decide(situation)
    return choose(situation, decision, previous), decision


@pytest.mark.parametrize("rounds", [1, 2])
def test_with_fewer_than_three_rounds_she_is_told_to_knit_to_five(rounds: int) -> None:
    found, _ = chosen(stand_in(drift=6.0, drift_sd=2.0, offset=9.0, rounds=rounds))
    assert found.remedy is Remedy.KNIT_MORE_FIRST
    assert found.wait == 5 - rounds


def test_two_ways_to_read_the_log_are_asked_about_before_anything_is_done() -> None:
    fit = stand_in(drift=4.0, offset=12.0)
    doubt = AlternativeReading(-60.0, 0.4, "Which colour change was it?")
    found, _ = chosen(replace(fit, alternatives=(doubt,)))
    assert found.remedy is Remedy.KNIT_MORE_FIRST
    assert found.forced == "Which colour change was it?"
    unlikely = replace(doubt, probability=0.02)
    found, _ = chosen(replace(fit, alternatives=(unlikely,)))
    assert found.forced == ""


def test_in_place_and_not_sliding_is_carry_on() -> None:
    found, _ = chosen(stand_in(drift=0.0, drift_sd=0.1, offset=0.5))
    assert found.remedy is Remedy.CARRY_ON


def test_a_known_slide_is_mended_by_the_count_where_it_may_change() -> None:
    found, decision = chosen(stand_in(drift=3.0, drift_sd=0.1, offset=4.0))
    assert found.remedy is Remedy.CHANGE_STITCH_COUNT
    assert 130 <= decision.workings.open[found.step.way].stitches <= 133


def test_waiting_is_worth_something_only_while_there_is_something_to_learn() -> None:
    _, unclear = chosen(stand_in(drift=0.8, drift_sd=0.8, offset=2.0, rounds=4))
    _, clear = chosen(stand_in(drift=3.0, drift_sd=0.1, offset=4.0))
    assert worth_of_waiting(unclear) > 0.5
    assert worth_of_waiting(clear) < 0.0


def test_an_unclear_slide_about_to_leave_tolerance_waits_for_more_rounds() -> None:
    found, _ = chosen(stand_in(drift=1.0, drift_sd=1.2, offset=2.0, rounds=4))
    assert found.remedy is Remedy.KNIT_MORE_FIRST
    assert 1 <= found.wait <= 5


def test_a_remedy_recommended_before_stays_through_a_tie() -> None:
    fit = stand_in(drift=0.0, drift_sd=0.05, offset=3.6)
    first, decision = chosen(fit, multiple=0)
    costs = {}
    for step, later in decision.priced:
        costs.setdefault(step.by, later.cost)
    assert {Remedy.TAPESTRY, Remedy.RIP_BACK} <= costs.keys()
    assert abs(costs[Remedy.TAPESTRY] - costs[Remedy.RIP_BACK]) < 1.0
    for before in (Remedy.TAPESTRY, Remedy.RIP_BACK):
        kept, _ = chosen(fit, previous=before, multiple=0)
        assert kept.remedy is before
    assert first.remedy in (Remedy.TAPESTRY, Remedy.RIP_BACK)


def test_a_remedy_recommended_before_does_not_stay_once_it_is_clearly_dearer() -> None:
    found, _ = chosen(stand_in(drift=0.0, drift_sd=0.05, offset=0.2), previous=Remedy.TAPESTRY)
    assert found.remedy is Remedy.CARRY_ON
