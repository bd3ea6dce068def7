"""On the ordinary case the advice agrees with what knitters do anyway.

The rules are common practice, with no source: look after four or five rounds; five or more
stitches off a round, change needle; less, a shade looser or tighter, about twenty stitches knit
again, or evened out over one to three inches with a tapestry needle; fuzzy is fine.
"""

import pytest

from knitlog.advice import Costs, Remedy, advise
from knitlog.report.advice_words import tell

from .stand_in import ask, stand_in

GENTLE = (Remedy.CHANGE_TENSION, Remedy.RIP_BACK, Remedy.TAPESTRY)


@pytest.mark.parametrize("multiple", [0, 1, 4])
@pytest.mark.parametrize(("drift", "needle"), [(9.0, 5.0), (-9.0, 4.0)])
def test_five_or_more_off_every_round_changes_the_needle(drift, needle, multiple) -> None:
    # half a needle step and more: nine stitches a round on 128
    advice = advise(
        ask(
            stand_in(drift=drift, drift_sd=0.5, offset=drift, rounds=4),
            multiple=multiple,
            needles_owned_mm=(4.0, 4.5, 5.0),
        )
    )
    assert advice.recommended.remedy is Remedy.CHANGE_NEEDLE
    assert advice.recommended.details["needle_mm"] == needle


@pytest.mark.parametrize("offset", [3.5, -3.5, 4.5])
def test_less_than_five_off_and_not_sliding_is_the_gentle_means(offset: float) -> None:
    advice = advise(ask(stand_in(drift=0.0, drift_sd=0.1, offset=offset), multiple=0))
    option = advice.recommended
    assert option.remedy in GENTLE
    if option.remedy is Remedy.CHANGE_TENSION:
        assert float(option.details["tension_percent"]) * offset > 0
    else:
        assert float(option.details["taken_out_stitches"]) * offset > 0


def test_a_hand_that_does_not_answer_leaves_twenty_stitches_or_the_tapestry_needle() -> None:
    fit = stand_in(drift=0.0, drift_sd=0.1, offset=4.0, response=0.06, response_sd=0.01)
    option = advise(ask(fit, multiple=0)).recommended
    assert option.remedy in (Remedy.RIP_BACK, Remedy.TAPESTRY)
    if option.remedy is Remedy.TAPESTRY:
        # one to three inches at 2 stitches to the centimetre
        assert 25 <= option.details["over_mm"] <= 76.2
    else:
        assert 20 <= option.details["over_stitches"] <= 45


@pytest.mark.parametrize("drift", [1.0, -1.0])
def test_one_a_round_is_the_hands(drift: float) -> None:
    option = advise(ask(stand_in(drift=drift, drift_sd=0.2, offset=2 * drift))).recommended
    assert option.remedy is Remedy.CHANGE_TENSION
    assert float(option.details["tension_percent"]) * drift > 0


def test_a_look_after_four_or_five_rounds() -> None:
    early = advise(ask(stand_in(drift=2.0, drift_sd=1.5, offset=2.0, rounds=2)))
    assert early.look_again_round in (4, 5)


def test_fuzzy_is_fine_near_the_end() -> None:
    fit = stand_in(drift=1.0, drift_sd=0.2, offset=4.0)
    assert advise(ask(fit, multiple=0, rounds_planned=10)).recommended.remedy is Remedy.CARRY_ON


def test_where_the_count_goes_before_the_needle_the_sentence_says_why() -> None:
    # five a round, yet the next needle moves nine: (5 + 2.2) / (4.5 + 2.2) on 128 stitches
    situation = ask(
        stand_in(drift=5.0, drift_sd=0.3, offset=20.0, rounds=4), needles_owned_mm=(4.0, 4.5, 5.0)
    )
    advice = advise(situation)
    assert advice.recommended.remedy is Remedy.CHANGE_STITCH_COUNT
    assert "would be the usual answer, but 5 mm moves about 9 stitches a round" in tell(advice).why


def test_where_there_is_no_needle_the_sentence_says_so() -> None:
    advice = advise(ask(stand_in(drift=6.0, drift_sd=0.3, offset=24.0, rounds=4)))
    assert advice.recommended.remedy is Remedy.CHANGE_STITCH_COUNT
    assert "another needle would be the usual answer, but none is at hand" in tell(advice).why


def test_her_own_prices_decide() -> None:
    fit = stand_in(drift=0.0, drift_sd=0.05, offset=4.0, response=0.06, response_sd=0.01)
    handy = advise(ask(fit, multiple=0, costs=Costs(tapestry_fix_minutes=1.0)))
    clumsy = advise(ask(fit, multiple=0, costs=Costs(tapestry_fix_minutes=60.0)))
    unbothered = advise(ask(fit, multiple=0, costs=Costs(round_out_of_tolerance_minutes=0.0)))
    assert handy.recommended.remedy is Remedy.TAPESTRY
    assert clumsy.recommended.remedy is not Remedy.TAPESTRY
    assert unbothered.recommended.remedy is Remedy.CARRY_ON
