"""What the game charges, by hand from the table of costs."""

import numpy as np
import pytest

from knitlog.advice import Manner, Plan, Refusal, Remedy, advise

from .stand_in import ask, game, stand_in

CARRY_ON = Plan(Remedy.CARRY_ON, Manner.AS_USUAL)


@pytest.mark.parametrize(("multiple", "anew"), [(1, 0.0), (4, 20.0)])
def test_stitches_added_cost_their_line_their_place_and_each_its_own(
    multiple: int, anew: float
) -> None:
    # 3 minutes to work out, 0.5 a stitch, the pattern set up anew where there is one (20), and
    # what a line of increases is worth (12): none where the count stays
    played = game(CARRY_ON, ask(stand_in(), multiple=multiple))
    played._pay_for_change(0, CARRY_ON, np.array([0.0, 1.0, 4.0, 0.0]))
    assert played.work[0] == pytest.approx([0.0, 3.5 + anew, 5.0 + anew, 0.0])
    assert played.cost[0] == pytest.approx([0.0, 15.5 + anew, 17.0 + anew, 0.0])


def test_rounds_ripped_out_take_what_they_were_worth_with_them() -> None:
    # 0 to 10 stitches off in eight even steps of 10 / 7: five lie beyond 3, at 2 minutes each
    assert game(CARRY_ON, ask(stand_in(offset=10.0)))._gone_with_the_ripped() == pytest.approx(10.0)


@pytest.mark.parametrize(
    ("offset", "drift", "refusal"),
    [(0.2, 0.0, Refusal.TOO_SMALL), (8.0, -2.0, Refusal.AGAINST_THE_SLIDE), (6.0, 2.0, None)],
)
@pytest.mark.parametrize("remedy", [Remedy.RIP_BACK, Remedy.TAPESTRY])
def test_a_fix_is_refused_where_nothing_is_off_or_the_slide_brings_it_back(
    remedy: Remedy, offset: float, drift: float, refusal: Refusal | None
) -> None:
    options = advise(ask(stand_in(drift=drift, offset=offset))).options
    assert next(o.refusal for o in options if o.remedy is remedy) is refusal


def test_a_fix_moves_the_colours_as_near_as_hands_do_and_is_paid_for() -> None:
    played = game(CARRY_ON, ask(stand_in(offset=10.0)))
    played.p_oo[:], played.cost[:], played.work[:] = 0.7, 1.0, 5.0
    before, thought = played.offset.copy(), played.offset_hat.copy()
    played.land(2, np.array([0]), np.full((1, 4), 3.0), np.full((1, 4), 4.0))
    # a hand misses three stitches by 0.3 and 0.15 of them, two spreads at right angles: 0.2925
    miss = (0.3**2 + 0.45**2) ** 0.5
    assert played.offset == pytest.approx(before - 3.0 - miss * played.luck.landing[2])
    assert played.offset_hat == pytest.approx(thought - 3.0)
    assert played.p_oo[0, 0] == pytest.approx(0.7 + 0.2925)
    assert played.work == pytest.approx(np.full((1, 4), 9.0))
    assert played.cost == pytest.approx(np.full((1, 4), 5.0))


def test_a_place_is_not_taken_anew_before_the_hand_has_had_a_while() -> None:
    # thirty off and level: bringing it back at the hand's 2.3 a round would leave some twelve
    # rounds out of place at 2 minutes each, a new place costs 6; six rounds are waited for
    mind = Plan(Remedy.CHANGE_TENSION, Manner.MIND_TENSION, wait=8)
    played = game(mind, ask(stand_in(offset=30.0)), rounds=40)
    off = np.full((1, 4), 30.0)
    assert [bool(played._overdue(t, off).all()) for t in (8, 14, 15)] == [False, False, True]
    assert not played._overdue(15, off / 10).any()  # in place
