"""Yarn per stitch before the first round: hand arithmetic and properties."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knitlog.plan.checks import PlanError
from knitlog.plan.normal import Z95, chance_within, normal_estimate, ratio_estimate
from knitlog.plan.stitch_yarn import (
    RULER_MM,
    STITCH_SHARE,
    STRAIGHTENING_SHARE,
    SWATCH_SHARE,
    UNRAVELLED_ENDS_STITCHES,
    combine,
    from_gauge,
    from_tags,
    from_unravelling,
)
from knitlog.typed.measures import parse_gauge
from knitlog.yarn.gauge import Gauge


def test_from_gauge_by_hand() -> None:
    # 20 stitches in 10 cm are 2 a cm; wet relaxed Kw 4.1: 4.1 / 2 = 2.05 cm
    found = from_gauge(parse_gauge("20 st/10cm"))
    assert found.mean == pytest.approx(20.5)
    # root(0.08^2 + 0.015^2) = 0.0814; 0.0814 x 20.5 = 1.669
    assert found.sd == pytest.approx(1.669, abs=1e-3)


def test_from_unravelling_by_hand() -> None:
    # 40 stitches gave 478 and 482 mm: mean 480, 480 / 40 = 12.0
    found = from_unravelling(40, [478, 482])
    assert found.mean == pytest.approx(12.0)
    # one trial: ruler 4/480 = 0.008333, ends 0.4/40 = 0.01, stitches 0.06/root 40 = 0.009487
    #   root sum = 0.016105; two trials 0.016105 / root 2 = 0.011388
    # with 0.01 and 0.015: root(0.011388^2 + 0.01^2 + 0.015^2) = 0.021324; x 12 = 0.2559
    assert found.sd == pytest.approx(0.2559, abs=1e-4)


def test_more_stitches_and_more_trials_make_it_surer() -> None:
    few = from_unravelling(20, [240])
    more = from_unravelling(60, [720])
    again = from_unravelling(60, [720, 720, 720])
    assert few.sd > more.sd > again.sd


def test_trials_that_scatter_are_trusted_less() -> None:
    steady = from_unravelling(40, [480, 480, 480])
    wild = from_unravelling(40, [440, 480, 520])
    assert wild.mean == pytest.approx(steady.mean)
    # scatter 40 mm on 480 over three trials: 0.0833 / root 3 = 0.0481; with 0.018: 0.0514
    assert wild.sd / wild.mean == pytest.approx(0.0514, abs=1e-3)


def test_from_tags_by_hand() -> None:
    # 127 stitches to one repeat of 1524 mm: 1524 / 127 = 12.0
    found = from_tags([127], 1524)
    # the mean lies higher by the spread squared: 0.5/127 = 0.003937, 0.06/root 127 = 0.005324
    #   root sum 0.006622, squared 0.0000438
    assert found.mean == pytest.approx(12.0 * 1.0000438, rel=1e-7)
    # with 0.015: 0.016397; x 12 = 0.1968
    assert found.sd == pytest.approx(0.1968, abs=1e-4)


def test_the_better_way_has_the_smaller_spread() -> None:
    s = 12.0
    gauge = from_gauge(Gauge(41 / s))
    unravelled = from_unravelling(40, [40 * s])
    tags = from_tags([1524 / s], 1524)
    assert gauge.mean == pytest.approx(unravelled.mean) == pytest.approx(tags.mean, rel=1e-3)
    assert gauge.sd > unravelled.sd > tags.sd


@given(st.integers(10, 200), st.floats(3, 40))
def test_unravelling_is_a_quotient(stitches: int, s: float) -> None:
    found = from_unravelling(stitches, [stitches * s])
    assert found.mean == pytest.approx(s)


def test_unravelling_holds_the_truth_in_95_of_100_cases() -> None:
    # knitters drawn from the very errors assumed: the intervals must then be right
    rng = np.random.default_rng(7)
    stitches, s, trials, held = 40, 12.0, 2, 0
    runs = 4000
    for _ in range(runs):
        swatch = s * (1 + rng.normal(0, math.hypot(SWATCH_SHARE, STRAIGHTENING_SHARE)))
        lengths = [
            swatch
            * (
                stitches
                + rng.normal(0, UNRAVELLED_ENDS_STITCHES)
                + rng.normal(0, STITCH_SHARE * math.sqrt(stitches))
            )
            + rng.normal(0, RULER_MM)
            for _ in range(trials)
        ]
        found = from_unravelling(stitches, lengths)
        held += found.low95 <= s <= found.high95
    # binomial: 0.95 within 3 x root(0.95 x 0.05 / 4000) = 0.0103
    assert held / runs == pytest.approx(0.95, abs=0.0103)


def test_combine_by_hand() -> None:
    # 12.0 sd 0.3 and 12.3 sd 0.4: weights 11.111 and 6.25
    #   mean (133.333 + 76.875)/17.361 = 12.108, sd 1/root 17.361 = 0.24
    both = combine([normal_estimate(12.0, 0.3), normal_estimate(12.3, 0.4)])
    assert both.estimate.mean == pytest.approx(12.108, abs=1e-3)
    assert both.estimate.sd == pytest.approx(0.24)
    assert both.shares == pytest.approx((0.64, 0.36))
    assert both.disagreement == 1
    assert not both.disagrees


def test_ways_that_disagree_widen_the_answer_and_say_so() -> None:
    # 11.0 and 13.0, sd 0.2 each: mean 12, Q = 25 + 25 = 50, Birge ratio root 50 = 7.07
    #   sd 0.2/root 2 x 7.07 = 1.0: half their distance
    both = combine([normal_estimate(11.0, 0.2), normal_estimate(13.0, 0.2)])
    assert both.disagreement == pytest.approx(7.0711, abs=1e-4)
    assert both.estimate.sd == pytest.approx(1.0)
    assert both.disagrees
    assert (both.lowest_mm, both.highest_mm) == (11.0, 13.0)


estimates = st.builds(ratio_estimate, st.floats(5, 30), st.floats(0.005, 0.2))


@given(st.lists(estimates, min_size=1, max_size=5), st.randoms())
def test_combining_lies_between_and_does_not_mind_the_order(found: list, random) -> None:  # type: ignore[type-arg,no-untyped-def]
    both = combine(found)
    means = [e.mean for e in found]
    assert min(means) - 1e-9 <= both.estimate.mean <= max(means) + 1e-9
    assert sum(both.shares) == pytest.approx(1)
    shuffled = list(found)
    random.shuffle(shuffled)
    again = combine(shuffled)
    assert again.estimate.mean == pytest.approx(both.estimate.mean)
    assert again.estimate.sd == pytest.approx(both.estimate.sd)


def test_a_way_alone_stays_as_it_is() -> None:
    one = from_tags([127, 128], 1524)
    assert combine([one]).estimate.mean == pytest.approx(one.mean)
    assert combine([one]).estimate.sd == pytest.approx(one.sd)


def test_what_was_not_measured_is_asked_for() -> None:
    for call in (
        lambda: from_unravelling(40, []),
        lambda: from_unravelling(0, [480]),
        lambda: from_unravelling(40, [-1]),
        lambda: from_tags([], 1524),
        lambda: from_tags([127], 0),
        lambda: combine([]),
        lambda: combine([normal_estimate(12, 0)]),
    ):
        with pytest.raises(PlanError, match=r"\w+ \w+"):
            call()


def test_normal_chances_against_the_table() -> None:
    # standard normal table: within 1, 1.96 and 2.576 of 0: 68.27 %, 95 %, 99 %
    assert chance_within(0, 1, 1) == pytest.approx(0.6827, abs=1e-4)
    assert chance_within(0, 1, 1.959964) == pytest.approx(0.95, abs=1e-6)
    assert chance_within(0, 1, 2.575829) == pytest.approx(0.99, abs=1e-6)
    assert pytest.approx(1.959964, abs=1e-6) == Z95
    assert chance_within(2, 0, 3) == 1
    assert chance_within(4, 0, 3) == 0


def test_a_quotient_never_reaches_below_zero() -> None:
    # log-normal with mean 10 and cv 1: sigma^2 = ln 2, median 7.0711
    #   interval 7.0711 x e^(-+ 1.96 x 0.83255) = 1.383 and 36.15
    wide = ratio_estimate(10, 1.0)
    assert wide.low95 == pytest.approx(1.383, abs=1e-3)
    assert wide.high95 == pytest.approx(36.15, abs=0.01)
