"""Numbers of the plan room worked by hand, at the edges where a slip would not show elsewhere."""

import math

import numpy as np
import pytest

from knitlog.plan.colour_checks import Finding, check_colour_run, is_palindrome
from knitlog.plan.contingency import Contingency, Side, plan_contingency
from knitlog.plan.joining import drift_with_new_repeat, plan_join
from knitlog.plan.normal import (
    chance_above,
    chance_within,
    normal_estimate,
    ratio_estimate,
)
from knitlog.plan.run_notation import TapeMark, lettered, run_from_marks
from knitlog.plan.stitch_colours import knit_fabric, yarn_positions
from knitlog.plan.stitch_yarn import (
    combine,
    from_gauge,
    from_tags,
)
from knitlog.plan.yarn_enough import (
    rounds_left_by_length,
    rounds_left_by_weight,
    skeins_needed,
)
from knitlog.plan.yarn_path import YarnPath, carry_on
from knitlog.yarn.colours import ColourRun, ColourSegment
from knitlog.yarn.gauge import Gauge
from tests.plan.paths import stacked_share


def test_chances_of_a_narrow_normal() -> None:
    # standard normal table: 15.87 % lies above 1 sd, 2.28 % above 2, 68.27 % within 1
    assert chance_above(0, 0.5, 0.5) == pytest.approx(0.1587, abs=1e-4)
    assert chance_above(1, 0.5, 0) == pytest.approx(0.9772, abs=1e-4)
    assert chance_within(0, 0.25, 0.25) == pytest.approx(0.6827, abs=1e-4)
    # off centre: Phi(2) - Phi(-4)
    assert chance_within(0.5, 0.5, 1.5) == pytest.approx(0.97722, abs=1e-5)


def test_a_thing_known_exactly_is_certain_on_its_edge() -> None:
    assert (chance_above(5, 0, 5), chance_above(5, 0, 5.01)) == (1.0, 0.0)
    assert (chance_within(-3, 0, 3), chance_within(-3.01, 0, 3)) == (1.0, 0.0)


def test_a_quotients_interval_by_hand() -> None:
    # mean 20, cv 0.5: sigma^2 = ln 1.25 = 0.223144, median 20 e^(-0.111572) = 17.8885,
    # e^(1.959964 x 0.472381) = 2.52401
    found = ratio_estimate(20, 0.5)
    assert (found.mean, found.sd) == (20, 10)
    assert found.low95 == pytest.approx(17.88854 / 2.52401, abs=1e-3)
    assert found.high95 == pytest.approx(17.88854 * 2.52401, abs=1e-3)


def test_yarn_from_a_gauge_of_two_a_centimetre() -> None:
    # 10 Kw / 2 with Munden's Kw 4.1 (Journal of the Textile Institute 50, 1959, T448)
    assert from_gauge(Gauge(2.0)).mean == pytest.approx(20.5)


def test_two_counts_between_tags_by_hand() -> None:
    # 126 and 128: 127 on average, 1524 / 127 = 12; of one count root(0.003937^2 + 0.005324^2) =
    # 0.006622, of two 0.006622 / root 2 = 0.004682; half 0.006622^2 raises the mean
    found = from_tags([126, 128], 1524)
    assert found.mean == pytest.approx(12 * (1 + 0.006622**2 / 2), rel=1e-7)
    # with 0.015: root(0.004682^2 + 0.015^2) = 0.015714
    assert found.sd / found.mean == pytest.approx(0.015714, abs=1e-6)


def test_counts_between_tags_that_scatter() -> None:
    # 117, 127, 137: sd 10 on 127 = 0.07874, more than assumed; / root 3 = 0.04546
    # with 0.015: 0.04787; the mean rises by 0.07874^2 / 3
    found = from_tags([117, 127, 137], 1524)
    assert found.sd / found.mean == pytest.approx(0.04787, abs=1e-5)
    assert found.mean == pytest.approx(12 * (1 + 0.07874**2 / 3), rel=1e-6)


def test_three_ways_that_disagree_a_little() -> None:
    # 11.5, 12.0, 12.5, sd 0.25 each: Q = 2 x (0.5 / 0.25)^2 = 8, over 2 degrees: Birge root 4 = 2
    # sd 0.25 / root 3 x 2 = 0.288675
    three = combine([normal_estimate(mean, 0.25) for mean in (11.5, 12.0, 12.5)])
    assert three.disagreement == pytest.approx(2.0)
    assert three.estimate.sd == pytest.approx(0.288675, abs=1e-6)
    assert three.shares == pytest.approx((1 / 3, 1 / 3, 1 / 3))


TWELVE = normal_estimate(12.0, 0.24)
"""12 mm a stitch, give or take 2 %: 1.5 m a round of 125."""


def test_a_scrap_by_two_weighings() -> None:
    # half a gram took 10 rounds, 49.5 g are left: 990 rounds
    assert rounds_left_by_weight(50, 49.5, 10).rounds_left.mean == pytest.approx(990)
    # 50 g took 40 rounds, 0.01 g is left: 0.008 rounds; 0.3 x 40 x (1/50 + 0.01/2500) = 0.240048
    # and 0.3 x 40 x 0.01/2500 = 0.000048
    last = rounds_left_by_weight(50.01, 0.01, 40)
    assert last.rounds_left.mean == pytest.approx(0.008)
    assert last.rounds_left.sd == pytest.approx(0.240048, abs=1e-6)
    assert last.weight_per_round_g is not None
    # 1.25025 g a round would be 50.01 / 40; it is 50 / 40, root 2 x 0.3 / 50 of it its spread
    assert last.weight_per_round_g.mean == pytest.approx(1.25)
    assert last.weight_per_round_g.sd == pytest.approx(1.25 * math.sqrt(2) * 0.3 / 50)
    assert last.length_per_round_mm is None


def test_less_than_a_millimetre_left_has_its_spread_still() -> None:
    # 0.5 mm give or take 0.5: as unsure as it is long
    left = rounds_left_by_length(0.5, 125, TWELVE, 0.5)
    assert left.rounds_left.sd / left.rounds_left.mean == pytest.approx(math.hypot(1, 0.02))


def test_many_skeins() -> None:
    # 1300 rounds of 1.5 m are 1950 m; 5 skeins of 400 m make 1333 rounds, spread
    # root(2^2 + 3^2) = 3.606 % = 48: (1333 - 1300) / 48 = 0.69 sd, 75 %; the sixth makes it sure
    assert skeins_needed(1300, 125, TWELVE, 400_000) == 6


def test_another_repeat_moves_a_drift_there_was() -> None:
    # (128 + 3) x 1540 / 1524 - 128 = 4.37533
    assert drift_with_new_repeat(3, 128, 1524, 1540) == pytest.approx(4.37533, abs=1e-5)


def run_of(*lengths: float, palindrome: bool = False) -> ColourRun:
    return ColourRun(
        tuple(ColourSegment(f"c{i}", mm, "#cc6677") for i, mm in enumerate(lengths)), palindrome
    )


def test_the_usual_tail_is_15_cm() -> None:
    # let go at 800 - 150 = 650; the new begins at 100: 650 - 100 - 150 = 400
    run = run_of(300, 450, 250)
    assert plan_join(run, 800, 100).cut_mm == plan_join(run, 800, 100, tail_mm=150).cut_mm == 400
    assert plan_join(run, 800, 100).tail_mm == 150


def test_from_the_other_end_only_where_that_wastes_less() -> None:
    # 300 450 250 and back, 1450 mm: other end at 1000 reads as (300 - 1000) mod 1450 = 750.
    # From a start at 750 as well both ends want the same cut, and the beginning is kept
    run = run_of(300, 450, 250, palindrome=True)
    plan = plan_join(run, 800, 750, new_other_end_mm=1000)
    assert plan.cut_mm == 1200
    assert not plan.from_other_end


@pytest.mark.parametrize(
    ("turn_mm", "finding"),
    # colours of 1000 mm in all; with 2 % of measuring and 5 % of relaxing a reel agrees that
    # turns from 1000 / 1.02 = 980.4 to 1000 / 0.93 = 1075.3 mm, twice those for half a run, and
    # half for a double one
    [
        (981, Finding.SUM_AGREES),
        (980, Finding.SUM_LONG),
        (1075, Finding.SUM_AGREES),
        (1076, Finding.SUM_SHORT),
        (1961, Finding.SUM_HALF),
        (1960, Finding.SUM_SHORT),
        (2150, Finding.SUM_HALF),
        (2151, Finding.SUM_SHORT),
        (491, Finding.SUM_DOUBLE),
        (490, Finding.SUM_LONG),
        (537, Finding.SUM_DOUBLE),
        (538, Finding.SUM_LONG),
    ],
)
def test_where_the_sum_stops_agreeing_with_the_reel(turn_mm: float, finding: Finding) -> None:
    first, *_ = check_colour_run(run_of(400, 600), turn_mm)
    assert first.finding is finding
    assert first.difference_mm == 1000 - turn_mm


def findings_of(*names: str) -> dict[Finding, bool]:
    run = ColourRun(tuple(ColourSegment(name, 100, "#cc6677") for name in names))
    return {found.finding: found.serious for found in check_colour_run(run)}


def test_what_is_found_in_short_runs() -> None:
    # two colours alike stand side by side both ways round; two that differ are no palindrome
    # worth a word, three that come back are
    assert findings_of("rose", "Rose") == {Finding.SAME_NEIGHBOURS: True}
    assert findings_of("rose", "moss") == {}
    assert findings_of("rose", "moss", "snow") == {}
    assert findings_of("rose", "moss", "snow", "moss") == {Finding.PALINDROME: False}
    assert findings_of("rose", "moss", "rose", "moss", "snow") == {Finding.TWIN_CHANGES: False}


def test_lengths_of_a_palindrome_may_differ_by_a_twentieth() -> None:
    def run(coming_back: float) -> ColourRun:
        names = ("rose", "moss", "snow", "moss")
        lengths = (300, 200, 100, coming_back)
        pairs = zip(names, lengths, strict=True)
        return ColourRun(tuple(ColourSegment(name, mm, "#cc6677") for name, mm in pairs))

    assert is_palindrome(run(190))
    assert not is_palindrome(run(189))


def test_a_tape_read_from_its_beginning() -> None:
    marks = [TapeMark("rose", 320), TapeMark("moss", 770)]
    plain, folded = run_from_marks(marks), run_from_marks(marks, palindrome=True)
    assert [s.length_mm for s in plain.segments] == [320, 450]
    assert (plain.palindrome, folded.palindrome) == (False, True)


def test_letters_of_a_chart() -> None:
    # each its own first letter, else its next, else the alphabet's first that is free
    assert lettered(["rose", "Rose", "red", "or", "o"]) == ("R", "R", "E", "O", "A")
    assert lettered(["1 moss", "_"]) == ("1", "A")
    # 62 letters and figures, then a star for all that are left
    assert lettered([f"_{n * '.'}" for n in range(64)])[60:] == ("y", "z", "*", "*")


def test_where_each_round_begins_along_the_yarn() -> None:
    # k L = 2 x 600 = 1200 mm. Round 1: 100 stitches, drift 20: 10 mm each; round 2: 120, drift 0:
    # 10 mm; round 3: 120, drift -20: 12 mm. Offset 3: it begins 30 mm early
    path = YarnPath(
        np.array([3.0, 23.0, 23.0]),
        np.array([20.0, 0.0, -20.0]),
        np.array([100, 120, 120]),
        np.zeros(3),
    )
    begins, each = yarn_positions(path, 2, 600.0, start_mm=50.0)
    assert each.tolist() == [10, 10, 12]
    assert begins.tolist() == [20, 1020, 2220]


def test_a_stitch_whose_middle_is_a_colour_change_shows_the_colour_that_begins() -> None:
    # 10 mm a stitch: the fourth's middle lies at 35 mm, where the second colour begins
    fabric = knit_fabric(run_of(35, 65), carry_on(0, 0, 10, 1))
    assert fabric.cells.tolist() == [[0, 0, 0, 1, 1, 1, 1, 1, 1, 1]]


def contingency(needles_mm: tuple[float, ...], drift: float = 0.0) -> Contingency:
    return plan_contingency(
        stitches=128,
        drift=normal_estimate(drift, 1.0),
        wanted_drift=0.5,
        tolerance=3.0,
        by_round=5,
        multiple=6,
        needle_mm=5.0,
        needles_mm=needles_mm,
        yarn_thickness_mm=2.0,
    )


def test_the_way_out_is_by_the_needles_she_owns() -> None:
    # 7 mm of loop either way: to 6 mm 128 x 7 / 8 - 128 = -16, to 4 mm 128 x 7 / 6 - 128 = 21.333
    way = contingency((4.0, 5.0, 6.0))
    assert (way.smaller_needle_mm, way.larger_needle_mm) == (4.0, 6.0)
    assert way.larger_needle_drift_change == pytest.approx(-16)
    assert way.smaller_needle_drift_change == pytest.approx(21.3333, abs=1e-4)
    assert (way.judge_after_round, way.act_if_moved, way.stitch_step) == (5, 3.0, 6)
    assert way.act_on_stitches_if_drift == 3.0
    # nothing smaller in her case; one needle alone leaves the usual sizes
    assert contingency((5.0, 6.0)).smaller_needle_mm is None
    assert contingency((5.0, 6.0)).smaller_needle_drift_change is None
    assert contingency((5.0, 5.0)).larger_needle_mm == 5.5


def test_the_likelier_side_is_told_once_it_is_a_spread_off() -> None:
    # wanted is 0.5, spread 1: 1.5 is one spread past it
    sides = [contingency((5.0,), drift).likelier for drift in (1.5, 1.49, -0.49, -0.5)]
    assert sides == [Side.PAST, Side.EITHER, Side.EITHER, Side.SHORT]


def test_a_round_one_stitch_wider_ends_one_stitch_later() -> None:
    # eleven stitches of 10 mm on a repeat of 100: the eleventh is the repeat's first again
    run = run_of(30, 50, 20)
    fabric = knit_fabric(run, carry_on(0, -1, 11, 2))
    assert fabric.cells.tolist() == [
        [0, 0, 0, 1, 1, 1, 1, 1, 2, 2, 0],
        [0, 0, 1, 1, 1, 1, 1, 2, 2, 0, 0],
    ]
    # 8 of 11 sit on their own: the changes at 2|3, 7|8 and 9|10 have moved by one
    assert stacked_share(fabric) == pytest.approx(8 / 11)
    assert (fabric.rounds, fabric.stitches) == (2, 11)
