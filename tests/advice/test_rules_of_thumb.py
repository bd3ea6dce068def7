"""On the ordinary case the advice agrees with what knitters do anyway.

The rules are common practice, with no source: look after four or five rounds; five or more
stitches off, change needle; less, knit about twenty stitches again at another tension, or
even out over one to three inches with a tapestry needle; fuzzy is fine.
"""

import pytest

from knitlog.advice import Remedy, advise

from .stand_in import ask, stand_in


@pytest.mark.parametrize(("drift", "needle"), [(9.0, 5.0), (-9.0, 4.0)])
def test_five_or_more_off_every_round_changes_the_needle(drift: float, needle: float) -> None:
    # half a needle step and more, the pattern fixed: nine stitches a round on 128
    advice = advise(
        ask(
            stand_in(drift=drift, drift_sd=0.5, offset=drift, rounds=4),
            multiple=0,
            needles_owned_mm=(4.0, 4.5, 5.0),
        )
    )
    assert advice.recommended.remedy is Remedy.CHANGE_NEEDLE
    assert advice.recommended.details["needle_mm"] == needle


@pytest.mark.parametrize("offset", [3.5, -3.5])
def test_less_than_five_off_and_not_sliding_is_knit_again_or_evened_out(offset: float) -> None:
    advice = advise(ask(stand_in(drift=0.0, drift_sd=0.1, offset=offset), multiple=0))
    assert advice.recommended.remedy in (Remedy.RIP_BACK, Remedy.TAPESTRY)
    details = advice.recommended.details
    assert details["taken_out_stitches"] * offset > 0
    if advice.recommended.remedy is Remedy.TAPESTRY:
        # one to three inches at 2 stitches to the centimetre
        assert 25 <= details["over_mm"] <= 76.2
    else:
        # about twenty stitches
        assert 20 <= details["over_stitches"] <= 40


def test_a_little_off_is_knit_again_over_about_twenty_stitches() -> None:
    advice = advise(ask(stand_in(drift=0.0, drift_sd=0.1, offset=2.4), multiple=0, tolerance=2.0))
    assert advice.recommended.remedy is Remedy.RIP_BACK
    assert 20 <= advice.recommended.details["over_stitches"] <= 30


def test_a_look_after_four_or_five_rounds() -> None:
    early = advise(ask(stand_in(drift=2.0, drift_sd=1.5, offset=2.0, rounds=2)))
    assert early.look_again_round in (4, 5)


def test_fuzzy_is_fine_near_the_end() -> None:
    advice = advise(
        ask(stand_in(drift=1.0, drift_sd=0.2, offset=4.0), multiple=0, rounds_planned=10)
    )
    assert advice.recommended.remedy is Remedy.CARRY_ON


def test_where_the_count_goes_before_the_needle_the_sentence_says_why() -> None:
    # five and more off, yet a needle step moves twice what there is to mend
    advice = advise(
        ask(
            stand_in(drift=2.5, drift_sd=0.3, offset=7.5, rounds=4),
            needles_owned_mm=(4.0, 4.5, 5.0),
        )
    )
    assert advice.recommended.remedy is Remedy.CHANGE_STITCH_COUNT
    # (5 + 2.2) / (4.5 + 2.2) on 128 stitches
    assert "a step to 5 mm moves about 9 stitches a round" in advice.why


def test_where_a_needle_would_be_too_much_the_fix_says_so() -> None:
    advice = advise(
        ask(
            stand_in(drift=0.3, drift_sd=0.1, offset=5.5),
            multiple=0,
            needles_owned_mm=(4.0, 4.5, 5.0),
        )
    )
    assert advice.recommended.remedy in (Remedy.RIP_BACK, Remedy.TAPESTRY)
    assert "another needle would be too much" in advice.why
