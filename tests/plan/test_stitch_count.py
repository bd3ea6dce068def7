"""The stitch-count finder: hand arithmetic and properties."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.plan.checks import PlanError
from knitlog.plan.normal import normal_estimate
from knitlog.plan.stitch_count import (
    StitchCountQuestion,
    candidate_for,
    chance_of_stacking,
    find_stitch_counts,
    predicted_drift,
    thickness_of,
    yarn_per_stitch_on,
)
from knitlog.typed.measures import parse_gauge
from knitlog.yarn.gauge import Gauge

SURE = normal_estimate(24.0, 0.0)
KNOWN = normal_estimate(24.0, 0.24)
"""24 mm a stitch, give or take 1 %."""


def question(**changes: object) -> StitchCountQuestion:
    facts: dict[str, object] = {
        "yarn_per_stitch": KNOWN,
        "repeat_length_mm": 1524.0,
        "needle_mm": 5.0,
        "gauge": Gauge(1.7),
        **changes,
    }
    return StitchCountQuestion(**facts)  # type: ignore[arg-type]


def test_drift_by_hand() -> None:
    # 2 x 1524 / 24 = 127: on 128 stitches a drift of -1
    assert predicted_drift(SURE, 128, 2, 1524).mean == pytest.approx(-1)
    # known to 1 %: the mean of 1/s lies 1 in 10,000 higher, 127.0127; 1 % of it 1.27
    found = predicted_drift(KNOWN, 128, 2, 1524)
    assert found.mean == pytest.approx(-0.9873)
    assert found.sd == pytest.approx(1.27013, abs=1e-5)


def test_drift_against_drawn_yarn() -> None:
    # s drawn log-normal with mean 24 and spread 5 %: drift's mean and spread by counting
    sigma = math.sqrt(math.log1p(0.05**2))
    drawn = np.random.default_rng(1).lognormal(math.log(24) - sigma**2 / 2, sigma, 400_000)
    drift = 2 * 1524 / drawn - 128
    found = predicted_drift(normal_estimate(24, 1.2), 128, 2, 1524)
    assert found.mean == pytest.approx(drift.mean(), abs=0.05)
    assert found.sd == pytest.approx(drift.std(), rel=0.01)


def test_chance_by_hand() -> None:
    # drift -1 sd 1.27, unevenness 0.7, four rounds: mean -4, sd root(5.08^2 + 4 x 0.49) = 5.27
    #   P(-3 < x < 3) = Phi(7/5.27) - Phi(1/5.27) = Phi(1.328) - Phi(0.190) = 0.9079 - 0.5753
    chance = chance_of_stacking(normal_estimate(-1, 1.27), 0, 3, 5, 0.7)
    assert chance == pytest.approx(0.3326, abs=1e-3)


def test_chance_against_knitted_rounds() -> None:
    rng = np.random.default_rng(5)
    size = 200_000
    drift = rng.normal(0.4, 0.5, size)
    offset = 4 * drift + rng.normal(0, 0.7, (size, 4)).sum(axis=1)
    share = np.mean(np.abs(offset) <= 3)
    found = chance_of_stacking(normal_estimate(0.4, 0.5), 0, 3, 5, 0.7)
    # three standard errors of a share of 200,000
    assert found == pytest.approx(share, abs=0.0034)


def test_candidates_by_hand() -> None:
    # k = 1: 63.5 stitches; k = 2: 127; k = 3: 190.5; k = 4: 254 (each plus 1 in 10,000)
    found = find_stitch_counts(question(multiple=1)).candidates
    assert {(c.stitches, c.repeats) for c in found} == {
        (63, 1),
        (64, 1),
        (127, 2),
        (128, 2),
        (190, 3),
        (191, 3),
        (254, 4),
        (255, 4),
    }
    best = find_stitch_counts(question(repeats=(2,))).candidates[0]
    assert best.stitches == 127
    assert best.drift.mean == pytest.approx(0.0127, abs=1e-4)
    assert best.target_yarn_per_stitch_mm == pytest.approx(24.0)


def test_the_pattern_multiple_is_kept() -> None:
    # 127 lies between 120 and 128 for a multiple of 8, between 121 and 129 for 8 plus 1
    assert {
        c.stitches for c in find_stitch_counts(question(repeats=(2,), multiple=8)).candidates
    } == {
        120,
        128,
    }
    plus = find_stitch_counts(question(repeats=(2,), multiple=8, extra=1)).candidates
    assert {c.stitches for c in plus} == {121, 129}


def test_the_wanted_size_is_kept() -> None:
    # 1.7 stitches a cm: 5.882 mm each; 128 are 753 mm, 127 are 747
    found = find_stitch_counts(question(wanted_size_mm=750.0, size_room_percent=2))
    assert found.fits
    assert {c.stitches for c in found.candidates} == {127, 128}
    assert found.candidates[0].size_mm == pytest.approx(127 * 10 / 1.7)
    assert found.candidates[0].size_off_percent == pytest.approx(
        100 * (747.0588 / 750 - 1), abs=1e-3
    )


def test_a_size_no_whole_repeat_makes_says_what_is_near() -> None:
    # one repeat is 63.5 stitches, 37 cm; two 75 cm: 55 cm lies between
    found = find_stitch_counts(question(wanted_size_mm=550.0, size_room_percent=5))
    assert not found.fits
    # 63.5 stitches of 5.882 mm are 37 cm, 127 are 75: 63 and 64 are 18 cm off, 127 and 128 19.7
    assert [c.stitches for c in found.candidates[:4]] == [64, 63, 127, 128]
    assert found.candidates[0].size_off_percent == pytest.approx(100 * (64 / 1.7 / 55 - 1))


def test_the_surer_yarn_has_the_better_chance() -> None:
    guess = find_stitch_counts(
        question(yarn_per_stitch=normal_estimate(24, 2), repeats=(2,))
    ).candidates[0]
    known = find_stitch_counts(question(repeats=(2,))).candidates[0]
    sure = find_stitch_counts(question(yarn_per_stitch=SURE, repeats=(2,))).candidates[0]
    assert guess.chance_in_tolerance < known.chance_in_tolerance < sure.chance_in_tolerance
    assert sure.chance_in_tolerance > 0.95


def test_the_likeliest_comes_first() -> None:
    found = find_stitch_counts(question(other_needles_mm=(4.5, 5.5), multiple=4)).candidates
    chances = [c.chance_in_tolerance for c in found]
    assert chances == pytest.approx(sorted(chances, reverse=True), abs=1e-3)
    assert found[0].needle_mm == 5.0


def test_another_needle_by_hand() -> None:
    # y = 24 / pi - 5 = 2.639 mm; to 5.5: 8.139 / 7.639 = 1.06545; 25.571 mm
    asked = question(other_needles_mm=(5.5,))
    assert thickness_of(asked) == pytest.approx(2.639, abs=1e-3)
    found = yarn_per_stitch_on(asked, 5.5)
    assert found.mean == pytest.approx(25.571, abs=1e-3)
    # a step believed to 35 %: 0.35 x ln 1.06545 = 2.219 %; with 1 %: 2.434 %
    assert found.sd / found.mean == pytest.approx(0.02434, abs=1e-5)
    # the stitch grows as its yarn does: 5.882 x 1.06545 = 6.267 mm; 119 of them
    c = candidate_for(asked, 119, 2, 5.5)
    assert c.size_mm == pytest.approx(119 * 10 / 1.7 * 1.06545, rel=1e-4)


def test_a_tight_hand_still_has_a_yarn_thickness() -> None:
    # 12 mm round a 5 mm needle is less than once round: the least is taken
    tight = question(yarn_per_stitch=normal_estimate(12, 0.1))
    assert thickness_of(tight) == 0.5
    assert thickness_of(question(yarn_thickness_mm=3.3)) == 3.3


def test_a_spiral_leaves_so_many_stitches_out() -> None:
    # wanted +2 a round: 127 - 2 = 125 stitches, and yarn 2 x 1524 / 127
    best = find_stitch_counts(question(repeats=(2,), wanted_drift=2.0)).candidates[0]
    assert best.stitches == 125
    assert best.drift.mean == pytest.approx(2.0127, abs=1e-4)
    assert best.target_yarn_per_stitch_mm == pytest.approx(24.0)
    stacked = find_stitch_counts(question(repeats=(2,))).candidates[0]
    assert best.chance_in_tolerance == pytest.approx(stacked.chance_in_tolerance, abs=0.01)


def test_a_spiral_faster_than_the_round_is_refused() -> None:
    with pytest.raises(PlanError, match="leaves no round"):
        find_stitch_counts(question(repeats=(1,), wanted_drift=200.0))


def test_an_uneven_hand_stacks_less_often() -> None:
    even, uneven = (
        find_stitch_counts(
            question(repeats=(2,), yarn_per_stitch=SURE, tension_noise_sd=w)
        ).candidates[0]
        for w in (0.0, 1.5)
    )
    # 127 exactly, no unevenness: certain; 1.5 over 4 rounds is 3: P(|z| < 1) = 68.27 %
    assert even.chance_in_tolerance == 1.0
    assert uneven.chance_in_tolerance == pytest.approx(0.6827, abs=1e-4)


def test_without_a_gauge_the_size_comes_from_the_yarn() -> None:
    # wet relaxed Kw 4.1: a stitch is 24 / 4.1 = 5.854 mm wide
    found = find_stitch_counts(question(gauge=None, repeats=(2,))).candidates[0]
    assert found.size_mm == pytest.approx(127 * 24 / 4.1)


def test_what_to_do_if_it_does_not() -> None:
    found = find_stitch_counts(
        question(repeats=(2,), multiple=4, other_needles_mm=(4.5, 5.5))
    ).candidates[0]
    assert found.stitches == 128
    way = found.contingency
    assert (way.judge_after_round, way.stitch_step, way.act_on_stitches_if_drift) == (5, 4, 2)
    assert (way.smaller_needle_mm, way.larger_needle_mm) == (4.5, 5.5)
    # 128 / 1.06545 - 128 = -7.86; down: 128 x 7.639/7.139 - 128 = 8.96
    assert way.larger_needle_drift_change == pytest.approx(-7.86, abs=0.01)
    assert way.smaller_needle_drift_change == pytest.approx(8.96, abs=0.01)


def test_the_likelier_side_is_said() -> None:
    wide = candidate_for(question(), 120, 2, 5.0)  # 127 - 120: 7 past, spread 1.3
    assert wide.contingency.likelier == "past"
    assert candidate_for(question(), 134, 2, 5.0).contingency.likelier == "short"
    assert candidate_for(question(), 127, 2, 5.0).contingency.likelier == "either"


def test_with_one_needle_the_usual_sizes_are_proposed() -> None:
    way = candidate_for(question(), 127, 2, 5.0).contingency
    assert (way.smaller_needle_mm, way.larger_needle_mm) == (4.5, 5.5)


@given(
    st.floats(5, 30),
    st.floats(600, 4000),
    st.integers(1, 24),
    st.sampled_from([1, 2, 3]),
    st.floats(-4, 4),
)
def test_every_candidate_keeps_the_multiple_and_its_own_arithmetic(
    s: float, repeat: float, multiple: int, repeats: int, wanted: float
) -> None:
    asked = question(
        yarn_per_stitch=normal_estimate(s, 0),
        repeat_length_mm=repeat,
        multiple=multiple,
        repeats=(repeats,),
        wanted_drift=wanted,
        gauge=None,
    )
    try:
        found = find_stitch_counts(asked).candidates
    except PlanError:
        # the whole round is smaller than one multiple
        assert repeats * repeat / s < 2 * multiple + 5
        return
    exact = repeats * repeat / s
    for c in found:
        assert c.stitches % multiple == 0
        # d = k L / s - N
        assert c.drift.mean == pytest.approx(repeats * repeat / s - c.stitches)
        # no allowed count lies nearer on the same side
        assert abs(exact - wanted - c.stitches) <= multiple + 1e-6
        assert 0 <= c.chance_in_tolerance <= 1
        # knitted at the target, the drift is the wanted one
        at_target = repeats * repeat / c.target_yarn_per_stitch_mm - c.stitches
        assert at_target == pytest.approx(wanted, abs=1e-6)


def test_the_worked_gauge_gives_a_first_guess() -> None:
    # from the gauge alone the spread is so wide that the chance is slight
    found = find_stitch_counts(
        question(
            yarn_per_stitch=normal_estimate(20.8, 1.7), gauge=parse_gauge("20 st/4in"), repeats=(2,)
        )
    )
    assert found.candidates[0].chance_in_tolerance < 0.1


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"repeat_length_mm": 0.0}, "length of the repeat"),
        ({"needle_mm": -1.0}, "needle size"),
        ({"other_needles_mm": (0.0,)}, "needle size"),
        ({"wanted_size_mm": 0.0}, "wanted size"),
        ({"size_room_percent": -1.0}, "room in the size"),
        ({"tolerance": -1.0}, "tolerance"),
        ({"repeats": ()}, "how many repeats"),
        ({"repeats": (0,)}, "repeats a round"),
        ({"multiple": -1}, "pattern multiple"),
        ({"multiple": 0}, "stitch count is fixed there is none to find"),
        ({"extra": -1}, "beyond the multiple"),
        ({"by_round": 1}, "one round alone"),
        ({"yarn_per_stitch": normal_estimate(0, 1)}, "yarn per stitch"),
    ],
)
def test_senseless_questions_are_refused(changes: dict[str, object], says: str) -> None:
    with pytest.raises(PlanError, match=says):
        find_stitch_counts(question(**changes))
