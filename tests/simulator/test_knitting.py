"""The yarn-laying knitter, held against sums worked by hand."""

from dataclasses import replace

import numpy as np
import pytest

from knitlog.drift import Fix, Stint
from tests.simulator import Hand, Knitting, Work, hand_for, knit, percent

EVEN = {"tension_noise_sd": 0.0, "reading_sd": 0.0, "miss_stitches": 0.0, "miss_share": 0.0}
"""A hand without a slip."""
WORK = Work(stitches=128, repeat_length_mm=1536.0)
"""12 mm a stitch."""


def read(knitting: Knitting, rounds: int) -> list[float]:
    return [r.stitch for _ in range(rounds) for r in knitting.knit_round()]


def knit_offsets(knitting: Knitting, rounds: int) -> list[float]:
    read(knitting, rounds)
    return knitting.offsets


def test_colours_stack_where_a_round_takes_its_repeats() -> None:
    # N s = k L
    for repeats, length in ((1, 1536.0), (2, 768.0), (3, 512.0)):
        work = replace(WORK, repeats=repeats, repeat_length_mm=length)
        knitting = Knitting(Hand(yarn_mm=12.0, stitch_percent=0.0, reading_sd=0.0), work, 1)
        assert read(knitting, 10) == pytest.approx([40.0] * 10)
        assert knitting.drift == pytest.approx(0.0)


def test_two_percent_less_yarn_slides_by_two_ninety_eighths_of_a_round() -> None:
    hand = Hand(yarn_mm=0.98 * 12.0, stitch_percent=0.0, reading_sd=0.0)
    knitting = Knitting(hand, WORK, 1)
    # 128 x 0.02 / 0.98 = 2.612 stitches
    assert np.diff(read(knitting, 10)) == pytest.approx([128 * 0.02 / 0.98] * 9)
    assert knitting.drift == pytest.approx(2.612244898)
    assert knitting.offset == pytest.approx(9 * 2.612244898)


def test_between_two_readings_lie_the_rest_of_one_round_and_the_beginning_of_the_next() -> None:
    """(N - x[r]) + x[r+1] stitches, whatever N becomes, took k L; a column keeps its share."""
    knitting = Knitting(hand_for(WORK, 2.0, **EVEN), WORK, 1)
    before = read(knitting, 6)
    knitting.change_stitches(135)
    after = read(knitting, 3)
    # M = N + d = 130 stitches of yarn
    assert before[-1] == pytest.approx(50.0)
    assert after[0] == pytest.approx(130 - (128 - 50.0))  # 52: as if nothing had been changed
    assert after[1] == pytest.approx(130 - (135 - 52.0))  # 47
    assert after[2] == pytest.approx(42.0)
    assert knitting.places == pytest.approx([40.0 * 135 / 128])
    assert knitting.drift == pytest.approx(130 - 135)
    assert knitting.to_drift_log().stints == (Stint(1, 128, 4.5), Stint(7, 135, 4.5))


def test_another_needle_is_felt_from_the_beginning_of_its_round() -> None:
    knitting = Knitting(hand_for(WORK, 0.0, **EVEN), WORK, 1)
    read(knitting, 6)
    knitting.change_needle(5.0)
    first, second = read(knitting, 2)
    # (5.0 + 2.2) / (4.5 + 2.2) of the yarn; 88 stitches of the old loop are left of the repeat
    factor = 7.2 / 6.7
    assert first == pytest.approx(40 / factor)
    assert second == pytest.approx(first + 128 / factor - 128)
    assert knitting.drift == pytest.approx(128 / factor - 128)


def test_her_answer_to_a_needle_is_her_own() -> None:
    hand = hand_for(WORK, **EVEN, needle_answer=0.5, needle_percent=((5.0, 1.0),))
    knitting = Knitting(hand, WORK, 1)
    knitting.change_needle(5.0)
    assert knitting.now_mm == pytest.approx(12.0 * (7.2 / 6.7) ** 0.5 * 1.01)


@pytest.mark.parametrize("how", ["ease", "reknit"])
def test_yarn_worked_in_comes_off_the_next_reading(how: str) -> None:
    knitting = Knitting(hand_for(WORK, 1.0, **EVEN), WORK, 1)
    read(knitting, 5)
    used = knitting._strand.used
    getattr(knitting, how)(5.0, 25)
    stitch = 1536 / 129
    assert knitting._strand.used - used == pytest.approx(5 * stitch)
    last = np.diff(knitting._strand.ends[-1])
    # each of the 25 a fifth larger, the others as they were
    assert last[-25:] == pytest.approx([1.2 * stitch] * 25)
    assert last[:-25] == pytest.approx([stitch] * (127 - 25))
    assert knitting.offset == pytest.approx(4 - 5)
    assert read(knitting, 2) == pytest.approx([40.0, 41.0])
    (fix,) = knitting.to_drift_log().fixes
    assert (fix.after_round, fix.taken_out) == (5, 5.0)


def test_stitches_knitted_again_have_slips_of_their_own() -> None:
    moved = []
    for seed in range(800):
        knitting = knit(hand_for(WORK, **{**EVEN, "tension_noise_sd": 0.7}), WORK, seed, rounds=2)
        before = knitting._strand.used
        knitting.reknit(4.0, 20)
        moved.append((knitting._strand.used - before) / 12.0)
    # old slips go, new ones come: sqrt(2 x 20) stitches of 0.7 / sqrt(128)
    assert np.mean(moved) == pytest.approx(4.0, abs=0.05)
    assert np.std(moved) == pytest.approx(0.7 * (2 * 20 / 128) ** 0.5, rel=0.1)


def test_a_fix_does_her_share_and_misses() -> None:
    hand = hand_for(
        WORK, tension_noise_sd=0.0, miss_stitches=0.3, miss_share=0.1, fix_shares=(("pulled", 0.5),)
    )
    moved = []
    for seed in range(800):
        knitting = knit(hand, WORK, seed, rounds=1)
        knitting.ease(8.0, 40, kind="pulled")
        moved.append(-knitting.offset)
    assert np.mean(moved) == pytest.approx(4.0, abs=0.1)
    assert np.std(moved) == pytest.approx(np.hypot(0.3, 0.8), rel=0.1)


def test_a_tension_asked_is_given_in_her_share() -> None:
    knitting = Knitting(hand_for(WORK, 2.0, **EVEN, answer=0.5, answer_sd=0.0), WORK, 1)
    read(knitting, 3)
    knitting.ask_tension(2.0)
    # s (1 + 0.5 x 0.02); the drift by about -(N + d) x 0.01
    assert knitting.drift == pytest.approx(130 / 1.01 - 128)
    assert np.diff(read(knitting, 4))[1:] == pytest.approx([130 / 1.01 - 128] * 2)
    knitting.ask_tension(0.0)
    assert knitting.drift == pytest.approx(2.0)


def test_the_place_taken_anew() -> None:
    knitting = Knitting(hand_for(WORK, 2.0, **EVEN), WORK, 1)
    read(knitting, 4)
    assert (knitting.off_by[-1], knitting.in_place) == (pytest.approx(6.0), False)
    knitting.new_home()
    assert knitting.places == pytest.approx([46.0])
    assert knitting.offset == pytest.approx(0.0)
    read(knitting, 1)
    assert knitting.offset == pytest.approx(2.0)
    assert knitting.in_place


def test_begun_again_the_log_is_new_and_the_hand_is_not() -> None:
    knitting = Knitting(hand_for(WORK, 2.0, **EVEN, tightening_percent=0.1), WORK, 1)
    read(knitting, 6)
    knitting.start_again(130, 4.5)
    assert knitting.now_mm == pytest.approx(1536 / 130 * 0.995)
    assert read(knitting, 1) == pytest.approx([40.0 * 130 / 128])
    assert (knitting.round, knitting.rounds_in_all) == (1, 7)
    assert knitting.to_drift_log().stints == (Stint(1, 130, 4.5),)


def test_flat_rows_are_read_from_the_right_edge() -> None:
    work = replace(WORK, flat=True)
    assert read(Knitting(hand_for(work, **EVEN), work, 1), 4) == pytest.approx([40, 88, 40, 88])


def test_purl_rows_take_more_yarn_and_leave_the_mean() -> None:
    work = replace(WORK, flat=True, places=(64.0,))
    knitting = Knitting(hand_for(work, 0.0, **EVEN, purl_percent=2.0), work, 1)
    rows = read(knitting, 4)
    along = [rows[0], 128 - rows[1], rows[2], 128 - rows[3]]
    # half of a knit row and half of a purl row to every mark: 64 x 0.99 + x 1.01 = 128
    assert along[1] == pytest.approx((128 - 64 * 0.99) / 1.01)
    assert along[2] == pytest.approx((128 - (128 - along[1]) * 1.01) / 0.99)
    assert knitting.drift == pytest.approx(0.0)


def test_every_round_of_a_pattern_has_its_own_appetite() -> None:
    hand = hand_for(WORK, 0.0, **EVEN, pattern_percent=(3.0, 0.0, 0.0, 0.0))
    knitting = Knitting(hand, replace(WORK, places=(127.0,)), 1)
    steps = np.diff(knit_offsets(knitting, 9))
    # the mean, 0.75 %, is left out; read at the end of a round a step is that round's, nearly
    plain, hungry = 128 / 0.9925 - 128, 128 / 1.0225 - 128
    assert steps[:4] == pytest.approx([plain, plain, plain, hungry], abs=0.1)
    assert steps[4:] == pytest.approx(steps[:4], abs=0.01)
    assert abs(knitting.offset) < 0.2


def test_a_late_mark_leaves_its_round_empty_and_is_followed_over_the_edge() -> None:
    work = replace(WORK, places=(120.0,))
    knitting = Knitting(hand_for(work, 3.0, **EVEN), work, 1)
    told = [[r.stitch for r in knitting.knit_round()] for _ in range(6)]
    assert [len(t) for t in told] == [1, 1, 1, 0, 1, 1]
    # marks lie 131 stitches apart: 120, 123, 126, then 129 - 128 = 1 of the round after
    assert [t[0] for t in told if t] == pytest.approx([120, 123, 126, 1, 4])
    assert knitting.offsets == pytest.approx([0, 3, 6, 9, 12, 15])
    assert knitting.off_by == pytest.approx([0, 3, 6, 9, 12, 15])


def test_with_two_repeats_the_other_mark_is_half_a_round_away() -> None:
    work = replace(WORK, repeats=2, repeat_length_mm=768.0, places=(120.0,))
    knitting = Knitting(hand_for(work, 3.0, **EVEN), work, 1)
    # M = 131: marks 65.5 apart
    assert read(knitting, 5) == pytest.approx([120, 123, 126, 63.5, 66.5])
    early = Knitting(hand_for(work, -30.0, **EVEN), work, 1)
    # marks 49 apart: 90 and 139, then 60 and 109, of which she follows the one nearer to 90
    assert read(early, 3) == pytest.approx([120, 90, 109])
    assert early.off_by == pytest.approx([0, 19, -11])


def test_several_marks_a_round_share_the_drift() -> None:
    work = replace(WORK, places=(30.0, 94.0))
    knitting = Knitting(hand_for(work, 1.5, **EVEN), work, 1)
    assert read(knitting, 3) == pytest.approx([30, 94, 31.5, 95.5, 33, 97])
    assert [r.change for r in knitting.to_drift_log().readings] == [1, 2, 1, 2, 1, 2]


def test_what_comes_next_is_foretold() -> None:
    knitting = Knitting(hand_for(WORK, 2.0, **EVEN), WORK, 1)
    read(knitting, 1)
    assert knitting.expected_next == pytest.approx(42.0)
    for change in (
        lambda: knitting.change_stitches(135),
        lambda: knitting.ease(3.0, 20),
        lambda: knitting.change_needle(5.0),
    ):
        change()
        foretold = knitting.expected_next
        assert read(knitting, 1) == pytest.approx([foretold])


LONG = Work(stitches=400, repeat_length_mm=4800.0, rounds=4_000, places=(200.0,))


def test_slips_of_stitches_and_of_rounds_have_the_spread_and_memory_they_are_said_to_have() -> None:
    """AR(1): neighbours correlate by rho, those two apart by rho squared (Box, Jenkins &
    Reinsel, Time Series Analysis, 4th ed., 3.2.3; from memory)."""
    steps = np.diff(knit(hand_for(LONG, tension_noise_sd=0.7), LONG, 3).offsets)
    assert steps.std() == pytest.approx(0.7, rel=0.04)
    assert abs(np.corrcoef(steps[:-1], steps[1:])[0, 1]) < 0.05
    # read at the end of the round a step is one round's
    edge = replace(LONG, places=(399.0,), rounds=4_000)
    hand = hand_for(edge, tension_noise_sd=0.0, round_percent=0.2, memory=0.6)
    steps = np.diff(knit(hand, edge, 3).offsets)
    assert steps.std() == pytest.approx(0.8, rel=0.06)
    for apart, wanted in ((1, 0.6), (2, 0.36)):
        assert np.corrcoef(steps[:-apart], steps[apart:])[0, 1] == pytest.approx(wanted, abs=0.05)


def test_sittings_creep_tightening_and_what_changes_at_once() -> None:
    plain = {"tension_noise_sd": 0.0}
    made = knit(hand_for(LONG, **plain, sitting_percent=0.1, rounds_a_sitting=5), LONG, 5)
    by_sitting = np.diff(made.offsets)[4:-5].reshape(-1, 5)[:, 1:]
    assert np.ptp(by_sitting, axis=1).max() == pytest.approx(0.0, abs=1e-6)
    assert by_sitting[:, 0].std() == pytest.approx(0.4, rel=0.1)
    creeping = hand_for(WORK, **plain, creep_percent=0.05)
    creeps = [knit(creeping, WORK, seed, rounds=10).creep for seed in range(500)]
    assert np.std(creeps) == pytest.approx(0.05 * 9**0.5, rel=0.1)
    # 1.5 stitches a round tighter over the log
    tight = hand_for(WORK, **plain, tightening_percent=percent(1.5) / 59)
    assert knit(tight, WORK, 1).drift == pytest.approx(1.5, rel=0.02)
    sudden = hand_for(WORK, **plain, sudden=((11, -percent(2.0)),))
    assert knit(sudden, WORK, 1, rounds=10).drift == pytest.approx(0.0)
    assert knit(sudden, WORK, 1, rounds=11).drift == pytest.approx(2.0, rel=0.02)


def test_dyed_repeats_that_vary_move_every_later_mark() -> None:
    # a share v of k repeats of M / k stitches: v M / sqrt(k)
    work = replace(LONG, repeats=4, repeat_length_mm=1200.0, repeat_variation=0.002)
    steps = np.diff(knit(hand_for(work, tension_noise_sd=0.0), work, 4).offsets)
    assert steps.std() == pytest.approx(0.002 * 400 / 2, rel=0.04)


def test_miscounts_missing_rounds_and_rounding_come_as_they_are_said_to() -> None:
    hand = hand_for(LONG, tension_noise_sd=0.0, reading_sd=0.0)
    made = knit(replace(hand, miscount_rate=0.1, missing_rate=0.25), LONG, 6)
    logged = made.to_drift_log().readings
    assert (logged[0].round, logged[-1].round) == (1, 4_000)
    # three standard errors of a share
    assert len(logged) / 4_000 == pytest.approx(0.75, abs=3 * (0.25 * 0.75 / 4_000) ** 0.5)
    assert len(made.miscounts) / len(logged) == pytest.approx(0.1, abs=3 * (0.09 / 3_000) ** 0.5)
    wrong = {number for number, _ in made.miscounts}
    assert all((5 <= abs(r.stitch - 200) <= 20) == (r.round in wrong) for r in logged)
    halves = knit(hand_for(WORK, rounding=0.5), WORK, 2).to_drift_log()
    assert all((2 * r.stitch) % 1 == 0 for r in halves.readings)


def test_the_same_seed_has_the_same_luck_whatever_is_decided() -> None:
    hand = hand_for(WORK, 1.0)
    assert knit(hand, WORK, 7).to_drift_log() == knit(hand, WORK, 7).to_drift_log()
    assert knit(hand, WORK, 7).to_drift_log() != knit(hand, WORK, 8).to_drift_log()
    left, eased = Knitting(hand, WORK, 7), Knitting(replace(hand, miss_stitches=0.0), WORK, 7)
    for knitting in (left, eased):
        read(knitting, 10)
    eased.ease(-2.0, 10)
    assert eased.to_drift_log().fixes == (Fix(10, -2.0),)
    apart = np.subtract(read(eased, 10), read(left, 10))
    # the share of the miss aside, the two stay together
    assert np.ptp(apart) < 0.3


def test_a_knot_cut_out_and_a_change_nobody_logged() -> None:
    knitting = Knitting(hand_for(WORK, **EVEN), WORK, 1)
    read(knitting, 3)
    knitting.cut_out(6.0)
    assert knitting.offset == pytest.approx(-6.0)
    assert read(knitting, 1) == pytest.approx([34.0])
    knitting.change_needle(5.0, logged=False)
    assert knitting.drift == pytest.approx(128 * 6.7 / 7.2 - 128)
    assert knitting.to_drift_log().stints == (Stint(1, 128, 4.5),)
