from dataclasses import replace

import pytest

from knitlog.advice.choice import believed
from knitlog.advice.costs import Costs
from knitlog.advice.workings import (
    change_minutes,
    change_price,
    counts_that_lead_back,
    size_change_percent,
    workings,
)

from .stand_in import ask, stand_in


def open_to(fit, **facts):
    situation = ask(fit, **facts)
    return workings(situation, believed(situation, fit.draws(200, 0)))


def test_the_present_way_comes_first() -> None:
    first = open_to(stand_in(drift=2.0)).open[0]
    assert (first.needle_mm, first.stitches) == (4.5, 128)


def test_the_count_that_stops_the_drift_is_among_them() -> None:
    # N + d stays: 128 + 3 stitches have no drift
    found = open_to(stand_in(drift=3.0)).open
    assert min(abs(w.drift(0.0)) for w in found if w.stitches == 131) == pytest.approx(
        0.0, abs=0.01
    )


@pytest.mark.parametrize("multiple", [2, 4, 8])
def test_the_pattern_multiple_is_kept(multiple: int) -> None:
    found = open_to(stand_in(drift=5.0), multiple=multiple, needles_owned_mm=(4.0, 4.5, 5.0)).open
    assert len(found) > 1
    assert all(w.stitches % multiple == 0 for w in found)


def test_a_fixed_count_stays() -> None:
    found = open_to(stand_in(drift=5.0), multiple=0, needles_owned_mm=(4.0, 4.5, 5.0)).open
    assert {w.stitches for w in found} == {128}
    assert {w.needle_mm for w in found} == {4.0, 4.5, 5.0}


def test_only_needles_she_owns() -> None:
    found = open_to(stand_in(drift=9.0), multiple=0, needles_owned_mm=(3.5, 4.5)).open
    assert {w.needle_mm for w in found} <= {3.5, 4.5}


def test_the_size_she_allows_is_kept_and_what_is_too_big_is_remembered() -> None:
    found = open_to(
        stand_in(drift=9.0),
        multiple=0,
        needles_owned_mm=(4.5, 5.0),
        max_size_change_percent=5.0,
    )
    assert {w.needle_mm for w in found.open} == {4.5}
    assert [w.needle_mm for w in found.too_big] == [5.0]


def test_a_larger_needle_is_wider_by_the_loop_law() -> None:
    # (5 + 2.2) / (4.5 + 2.2) = 1.0746 (Munden: width goes with loop length)
    situation = ask(stand_in())
    assert size_change_percent(situation, 5.0, 128) == pytest.approx(7.46, abs=0.01)
    assert size_change_percent(situation, 4.5, 132) == pytest.approx(3.125)


def test_a_change_of_both_costs_both() -> None:
    situation = ask(stand_in(drift=5.0), needles_owned_mm=(4.5, 5.0))
    found = workings(situation, believed(situation, situation.fit.draws(200, 0))).open
    now = found[0]
    both = next(w for w in found if w.needle_mm == 5.0 and w.stitches != 128)
    costs = situation.costs
    assert change_minutes(now, both, costs) == pytest.approx(
        costs.needle_change_minutes
        + costs.count_change_minutes
        + costs.count_change_minutes_per_stitch * abs(both.stitches - 128)
    )
    assert change_minutes(now, now, costs) == 0.0


def test_another_needle_leaves_a_line_that_is_priced_but_is_no_work() -> None:
    found = open_to(stand_in(drift=3.0), needles_owned_mm=(4.5, 5.0)).open
    now, costs = found[0], Costs(gauge_line_minutes=2.5)
    needle = next(w for w in found if w.needle_mm == 5.0)
    count = next(w for w in found if w.needle_mm == 4.5 and w.stitches != now.stitches)
    assert change_price(now, needle, costs) == change_minutes(now, needle, costs) + 2.5
    assert change_price(now, count, costs) == change_minutes(now, count, costs)


def test_colours_far_off_are_led_back_by_the_slide_that_costs_least() -> None:
    # 2 minutes a round out for 50 / d rounds, and d stitches in and out again at half a minute:
    # 100 / d + d is least at d = 10, and 128 + 10 stitches slide back by 10 a round
    situation = ask(stand_in(drift=0.0))
    assert counts_that_lead_back(situation, 50.0, 128.0)[-1] == 138
    assert counts_that_lead_back(situation, -50.0, 128.0)[0] == 118
    # sqrt(2 * 4 / (2 * 0.5)) = 2.8; and where stitches cost nothing, all of it in one round
    assert counts_that_lead_back(situation, 4.0, 128.0)[-1] == 131
    free = replace(situation, costs=Costs(count_change_minutes_per_stitch=0.0))
    assert counts_that_lead_back(free, 50.0, 128.0)[-1] == 178


def test_nothing_leads_back_what_is_in_place_or_may_not_change() -> None:
    assert counts_that_lead_back(ask(stand_in()), 2.9, 128.0) == ()
    assert counts_that_lead_back(ask(stand_in(), multiple=0), 50.0, 128.0) == ()


def test_what_leads_back_is_still_a_round() -> None:
    few = replace(ask(stand_in(), tolerance=0.5), stitches=3)
    # the steepest would leave one stitch
    assert counts_that_lead_back(few, -1.9, 3.0) == (2,)


def test_what_leads_back_keeps_the_multiple() -> None:
    counts = counts_that_lead_back(ask(stand_in(), multiple=8), 60.0, 128.0)
    assert counts
    assert all(count % 8 == 0 for count in counts)
