"""What :func:`knitlog.advice.advise` answers, whole."""

import re
from dataclasses import replace

import numpy as np
import pytest

from knitlog.advice import AdviceError, Limits, Refusal, Remedy, advise
from knitlog.advice.choice import _settle
from knitlog.drift import AlternativeReading, DriftLog, Reading, Stint, TensionAsked, fit
from knitlog.drift.fit_result import AccountSummary, Happening
from knitlog.report.advice_words import tell
from knitlog.yarn.gauge import Gauge

from .stand_in import ask, estimate, stand_in


def test_every_remedy_is_told_whether_it_can_be_done_or_not() -> None:
    advice = advise(ask(stand_in(drift=2.0, offset=4.0), needles_owned_mm=(4.5, 5.0)))
    assert {option.remedy for option in advice.options} == set(Remedy)
    assert advice.options[0] == advice.recommended
    assert all((o.refusal is None) == o.feasible for o in advice.options)


def test_the_table_is_in_order_and_the_recommended_costs_no_more_than_about_the_least() -> None:
    for fit_ in (stand_in(drift=2.0, offset=4.0), stand_in(drift=0.0, offset=4.0)):
        options = [o for o in advise(ask(fit_)).options if o.feasible]
        costs = [o.expected_cost for o in options]
        assert costs[1:] == sorted(costs[1:])
        assert costs[0] <= min(costs) * 1.04 + 2


@pytest.mark.parametrize(
    ("facts", "remedy", "refusal"),
    [
        ({"multiple": 0}, Remedy.CHANGE_STITCH_COUNT, Refusal.COUNT_FIXED),
        ({"needles_owned_mm": ()}, Remedy.CHANGE_NEEDLE, Refusal.NO_NEEDLES_TOLD),
        ({"needles_owned_mm": (4.5,)}, Remedy.CHANGE_NEEDLE, Refusal.NO_OTHER_NEEDLE),
        ({"needle_mm": None}, Remedy.CHANGE_NEEDLE, Refusal.NO_NEEDLE_TOLD),
        (
            {"needles_owned_mm": (4.5, 5.0), "multiple": 0, "max_size_change_percent": 5.0},
            Remedy.CHANGE_NEEDLE,
            Refusal.TOO_BIG,
        ),
    ],
)
def test_what_cannot_be_done_says_why(facts, remedy, refusal) -> None:
    advice = advise(ask(stand_in(drift=9.0, offset=9.0), **facts))
    (option,) = [o for o in advice.options if o.remedy is remedy]
    assert (option.feasible, option.refusal) == (False, refusal)
    told = next(t for t in tell(advice).options if t.option is option)
    assert told.reason.endswith(".")
    assert told.steps == ()


@pytest.mark.parametrize("multiple", [1, 4, 8])
@pytest.mark.parametrize("drift", [-5.0, 5.0])
def test_limits_are_kept_in_every_option(multiple: int, drift: float) -> None:
    situation = ask(
        stand_in(drift=drift, offset=2 * drift),
        multiple=multiple,
        needles_owned_mm=(3.75, 4.5, 5.0),
        max_size_change_percent=6.0,
        limits=Limits(hand_range_percent=2.0),
    )
    for option in advise(situation).options:
        details = option.details
        assert details.get("stitches", 128) % multiple == 0
        assert details.get("needle_mm", 4.5) in (3.75, 4.5, 5.0)
        assert abs(option.size_change_percent) <= 6.0
        assert abs(details.get("tension_percent", 0.0)) <= 2.0
        if details.get("fix_by") == "tapestry needle":
            # three inches at 2 stitches to the centimetre, a fifth of a stitch each
            assert details["over_stitches"] <= 15
            assert details["share_of_stitch_percent"] <= 20.05
        if details.get("fix_by") == "rip back":
            assert details["share_of_stitch_percent"] <= 10.05
            assert details["over_stitches"] <= 128


def test_a_stitch_count_changed_once_is_not_changed_again_unless_she_allows_it() -> None:
    fit_ = stand_in(drift=4.0, offset=9.0, rounds=12)
    object.__setattr__(fit_.log, "stints", (Stint(1, 126, 4.5), Stint(4, 128, 4.5)))
    once = advise(ask(fit_))
    assert once.recommended.remedy is not Remedy.CHANGE_STITCH_COUNT
    more = advise(ask(fit_, limits=Limits(count_changes=2)))
    assert Remedy.CHANGE_STITCH_COUNT in {o.remedy for o in more.options if o.feasible}


def test_a_change_just_made_is_waited_for() -> None:
    fit_ = stand_in(drift=4.0, offset=9.0)
    object.__setattr__(fit_.log, "stints", (Stint(1, 128, 5.0), Stint(9, 128, 4.5)))
    advice = advise(ask(fit_, needles_owned_mm=(4.5, 5.0)))
    changes = {Remedy.CHANGE_NEEDLE, Remedy.CHANGE_STITCH_COUNT, Remedy.START_AGAIN}
    assert not changes & {o.remedy for o in advice.options if o.feasible}


def test_a_finished_plan_has_nothing_left_to_mend() -> None:
    advice = advise(ask(stand_in(drift=3.0, offset=9.0), rounds_planned=8))
    assert advice.recommended.remedy is Remedy.CARRY_ON
    assert "nothing left to mend" in tell(advice).why


def test_one_round_left_is_not_worth_a_change() -> None:
    advice = advise(ask(stand_in(drift=3.0, offset=9.0), rounds_planned=9))
    assert advice.recommended.remedy is Remedy.CARRY_ON


def test_without_a_planned_length_it_looks_forty_rounds_ahead() -> None:
    unsaid = advise(ask(stand_in(drift=2.0, offset=4.0), rounds_planned=None))
    forty = advise(ask(stand_in(drift=2.0, offset=4.0), rounds_planned=48))
    assert unsaid.recommended == forty.recommended


def test_the_same_seed_gives_the_same_advice() -> None:
    situation = ask(stand_in(drift=1.0, offset=3.0), needles_owned_mm=(4.5, 5.0))
    assert advise(situation, seed=3) == advise(situation, seed=3)


def test_a_spiral_that_is_wanted_needs_no_mending_and_is_spoken_of_as_one() -> None:
    advice = advise(ask(stand_in(drift=2.0, drift_sd=0.1, target_drift=2.0)))
    assert advice.recommended.remedy is Remedy.CARRY_ON
    assert "spiral" in tell(advice).why
    stray = advise(ask(stand_in(drift=5.0, drift_sd=0.1, target_drift=2.0, offset=4.0)))
    # her target stays: 128 + (5 - 2) stitches slide 2 a round
    assert stray.recommended.details["stitches"] == 131
    assert stray.recommended.details["predicted_drift"] == pytest.approx(2.0, abs=0.1)


def test_what_she_was_told_stands_until_another_is_better_by_a_margin() -> None:
    kept = 0
    for offset in (3.2, 4.0, 5.0, 6.0, 7.0, 8.0):
        situation = ask(stand_in(drift=0.0, drift_sd=0.1, offset=offset), multiple=0)
        fresh = advise(situation)
        least = min(o.expected_cost for o in fresh.options)
        for option in fresh.options[1:]:
            if option.expected_cost - least < 2.0 and option.remedy is not Remedy.KNIT_MORE_FIRST:
                again = advise(situation, previous=option.remedy).recommended
                assert again.remedy is option.remedy
                kept += 1
    assert kept


SAYABLE = {Remedy.CARRY_ON, Remedy.STACK_FROM_HERE}


def accounts_of(share: float, *told: tuple[float, float, tuple[Happening, ...]]):
    shares = (1 - share, share)
    return {
        "accounts": tuple(
            AccountSummary(p, happened, estimate(drift, 0.1), estimate(offset, 0.3))
            for p, (drift, offset, happened) in zip(shares, told, strict=True)
        ),
        "account_drifts": tuple(
            (p, drift, offset) for p, (drift, offset, _) in zip(shares, told, strict=True)
        ),
    }


def test_two_accounts_that_ask_for_different_things_are_a_question_first() -> None:
    # sliding on by 4 all along, or a needle changed at round 7 and sliding back by 4 since
    told = accounts_of(0.45, (4.0, 6.0, ()), (-4.0, 6.0, (Happening("drift", 7),)))
    fit_ = stand_in(drift=0.4, drift_sd=4.0, offset=6.0, **told)
    advice = advise(ask(fit_))
    asked = advice.question
    assert asked is not None
    assert (asked.kind, asked.round) == ("drift", 7)
    words = tell(advice)
    assert "from round 7 on? If so: " in words.question
    # a plan, as a knitter says it, and no name of a kind of remedy
    assert not any(f"so: {remedy}." in words.question for remedy in set(Remedy) - SAYABLE)
    assert re.search(
        r"If so: change to 12[345] stitches.* If not: change to 13[123] ", words.question
    )
    assert words.question.endswith(".")
    # nothing that one of the two makes worse
    assert advice.recommended.remedy not in (Remedy.CHANGE_STITCH_COUNT, Remedy.CHANGE_NEEDLE)
    # what she would do by one answer or the other, or do now, waits for it
    waits = {o.remedy for o in advice.options if o.refusal is Refusal.WORSE_IN_ONE_ACCOUNT}
    assert waits >= {Remedy.CHANGE_STITCH_COUNT, Remedy.CHANGE_TENSION, Remedy.TAPESTRY}


def test_two_accounts_that_ask_for_the_same_are_no_question() -> None:
    told = accounts_of(0.45, (1.0, 3.5, ()), (1.2, 3.5, (Happening("drift", 7),)))
    fit_ = stand_in(drift=1.1, drift_sd=0.2, offset=3.5, **told)
    assert advise(ask(fit_)).question is None


def test_a_log_that_reads_either_way_round_is_a_question() -> None:
    other = AlternativeReading(drift=-32.0, probability=0.46, taken=32.0)
    advice = advise(ask(stand_in(drift=32.0, drift_sd=0.5, offset=90.0, alternatives=(other,))))
    assert advice.question is not None
    assert advice.question.kind == "repeat"
    assert advice.recommended.remedy is Remedy.KNIT_MORE_FIRST


def test_a_log_that_reads_either_way_round_is_left_alone_where_no_round_is_left_to_wait() -> None:
    other = AlternativeReading(drift=-32.0, probability=0.46, taken=32.0)
    fit_ = stand_in(drift=32.0, drift_sd=0.5, offset=90.0, alternatives=(other,))
    advice = advise(ask(fit_, rounds_planned=fit_.last_round + 1))
    assert advice.question is not None
    assert advice.recommended.remedy is Remedy.CARRY_ON


def test_a_slide_of_nearly_half_a_repeat_is_asked_about_however_likely() -> None:
    # 0.45 of 128 is 57.6; of a slower one another way round at one in ten is no question
    def asked(drift: float) -> bool:
        other = AlternativeReading(drift=drift - 128.0, probability=0.1, taken=drift)
        return advise(ask(stand_in(drift, 0.5, drift, alternatives=(other,)))).question is not None

    assert [asked(drift) for drift in (-58.0, 57.0, 58.0)] == [True, False, True]


@pytest.mark.parametrize(
    ("waiting", "spanned", "chosen"),
    [
        # as good but for 2 minutes, the margin; twice that once four or five rounds are seen
        (17.9, 3, Remedy.KNIT_MORE_FIRST),
        (18.0, 3, Remedy.CARRY_ON),
        (17.9, 4, Remedy.CARRY_ON),
        (15.9, 4, Remedy.KNIT_MORE_FIRST),
    ],
)
def test_a_decision_is_put_off_where_that_is_worth_more_than_a_margin(
    waiting: float, spanned: int, chosen: Remedy
) -> None:
    best = {Remedy.CARRY_ON: 0, Remedy.KNIT_MORE_FIRST: 1}
    cost, in_place = np.array([20.0, waiting]), np.array([9.0, 9.0])
    assert _settle(best, cost, in_place, spanned, out=False, previous=None) is chosen


def test_an_asked_tension_that_holds_is_carried_on() -> None:
    fit_ = stand_in(
        drift=0.0,
        drift_sd=0.1,
        offset=0.5,
        response_sd=0.05,
        tension_asked_percent=1.5,
        tension=(TensionAsked(4, 1.5),),
    )
    advice = advise(ask(fit_))
    assert advice.recommended.remedy is Remedy.CARRY_ON
    assert tell(advice).title == "Carry on, as loose as now"


@pytest.mark.parametrize("tolerance", [0.0, -1.0, float("nan"), float("inf")])
def test_a_tolerance_that_cannot_be_is_refused_in_one_sentence(tolerance: float) -> None:
    with pytest.raises(AdviceError, match=r"^A tolerance of .* cannot be met: type .*\.$"):
        advise(ask(stand_in(), tolerance=tolerance))


def test_a_stitch_count_or_multiple_that_cannot_be_is_refused() -> None:
    with pytest.raises(AdviceError, match="at least 2 stitches"):
        advise(replace(ask(stand_in()), stitches=1))
    with pytest.raises(AdviceError, match="multiple must be"):
        advise(ask(stand_in(), multiple=-2))


def test_a_log_of_one_round_is_advised_on() -> None:
    log = DriftLog(readings=(Reading(1, 37.0),), stints=(Stint(1, 128, 4.5),))
    advice = advise(ask(fit(log), gauge=Gauge(2.0), repeat_length_mm=None))
    assert advice.recommended.remedy is Remedy.KNIT_MORE_FIRST
    assert advice.look_again_round in (4, 5)


def why_not_stack(**said: object) -> Refusal | None:
    advice = advise(ask(stand_in(drift_sd=0.2, response_sd=0.05, rounds=12, **said)))
    (option,) = [o for o in advice.options if o.remedy is Remedy.STACK_FROM_HERE]
    return option.refusal


def test_what_is_in_place_is_given_no_other_place() -> None:
    assert why_not_stack(drift=1.0, offset=2.9) is Refusal.NEAR_PLACE
    assert why_not_stack(drift=1.0, offset=4.0) is None


def test_a_slide_that_is_only_what_is_asked_asks_for_no_other_place() -> None:
    # 2 % answered by 0.6 takes 1.5 stitches of 128: of itself the work does not slide
    asked = {"tension": (TensionAsked(8, 2.0),), "tension_asked_percent": 2.0}
    assert why_not_stack(drift=-1.5, offset=-4.0, **asked) is Refusal.NEAR_PLACE
    assert why_not_stack(drift=-1.5, offset=-4.0) is None
