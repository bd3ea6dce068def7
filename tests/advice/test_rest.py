from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from knitlog.advice import Costs, Limits
from knitlog.advice.fixes import fix_ways
from knitlog.advice.rest import LONGEST, Rest, Scene, rest_of_project

COSTS, LIMITS = Costs(), Limits()


def scene(drift, change=None, **other) -> Scene:
    drift = np.atleast_2d(np.asarray(drift, dtype=float))
    minutes = np.zeros((len(drift), len(drift))) if change is None else change
    said = {
        "drift": drift,
        "change_price": minutes,
        "later_price": minutes,
        "home_share": 0.5,
        "tolerance": 3.0,
        "tension_sd": 0.8,
        "offset_sd": 0.01,
        "ways": fix_ways(128, 15, COSTS, LIMITS),
        "round_out_minutes": 2.0,
        "limits": LIMITS,
        "offset_now": 0.0,
    }
    return Scene(**{**said, **other})


def dear(costs: float) -> tuple:
    return fix_ways(128, 15, Costs(tapestry_fix_minutes=costs, ripped_stitch_minutes=costs), LIMITS)


def at(rest: Rest, table, offset: float, way: int = 0, truth: int = 0) -> float:
    return float(np.interp(offset + rest.shift[way, truth], rest.u, table[way, truth]))


@pytest.mark.parametrize(("drift", "offset"), [(0.0, 0.0), (0.4, -1.0), (-1.0, 2.0)])
def test_with_no_remedy_worth_it_the_cost_is_that_of_a_random_walk(drift, offset) -> None:
    # o after r rounds is normal about o + r d with variance r w^2: the plain sum of normals
    rounds = 12
    rest = rest_of_project(scene([[drift]], ways=dear(5000.0)), rounds)
    expected = sum(
        2.0
        * (
            norm.sf((3.0 - offset - r * drift) / (0.8 * r**0.5))
            + norm.cdf((-3.0 - offset - r * drift) / (0.8 * r**0.5))
        )
        for r in range(1, rounds + 1)
    )
    assert at(rest, rest.after[rounds - 1], offset) == pytest.approx(expected, rel=0.02, abs=0.05)


def test_colours_far_off_are_seen_as_far_as_they_lie() -> None:
    # 50 off and sliding back by 5 a round: the same sum of normals, on a grid twice as wide
    rounds = 12
    rest = rest_of_project(scene([[-5.0]], ways=dear(5000.0), offset_now=50.0), rounds)
    place = [(50.0 - 5.0 * r, 0.8 * r**0.5) for r in range(1, rounds + 1)]
    expected = sum(2.0 * (norm.sf((3.0 - o) / sd) + norm.cdf((-3.0 - o) / sd)) for o, sd in place)
    assert at(rest, rest.after[rounds - 1], 50.0) == pytest.approx(expected, rel=0.02)
    assert expected < 2.0 * rounds - 1.5


def test_a_remedy_never_makes_the_best_play_dearer() -> None:
    rest = rest_of_project(scene([[0.5], [-0.5]], change=4 * (1 - np.eye(2))), 20)
    assert (rest.settled <= rest.after + 1e-3).all()
    assert (rest.value <= rest.settled + 1e-3).all()


def test_past_and_short_are_alike() -> None:
    past = rest_of_project(scene([[0.7]]), 20)
    short = rest_of_project(scene([[-0.7]]), 20)
    for offset in (-4.0, 0.0, 2.5):
        assert at(past, past.after[19], offset) == pytest.approx(
            at(short, short.after[19], -offset), rel=1e-3
        )


def test_more_drift_costs_more() -> None:
    cost = [
        at(r, r.after_with(30), 0.0)
        for r in (rest_of_project(scene([[d]]), 30) for d in (0.0, 0.5, 1.0, 2.0))
    ]
    assert cost == sorted(cost)
    assert cost[0] < 0.5 * cost[2]


def test_beyond_the_longest_table_each_round_costs_what_the_last_one_did() -> None:
    # a table for all rounds, one by one, against the continued one
    here = scene([[0.3]])
    whole = np.asarray(_longer(here, 60))
    found = rest_of_project(here, 60)
    assert len(found.after) == LONGEST
    assert at(found, found.after_with(60), 0.5) == pytest.approx(at(found, whole, 0.5), rel=0.01)


def _longer(here: Scene, rounds: int):
    import knitlog.advice.rest as room

    shorter, room.LONGEST = room.LONGEST, rounds
    try:
        return room.rest_of_project(here, rounds).after[rounds - 1]
    finally:
        room.LONGEST = shorter


def test_no_rounds_left_cost_nothing() -> None:
    rest = rest_of_project(scene([[0.3]]), 5)
    assert not rest.after_with(0).any()


def test_a_change_that_may_not_be_planned_on_is_not() -> None:
    change = 4 * (1 - np.eye(2))
    free = rest_of_project(scene([[2.0], [0.0]], change=change), 24)
    shut = rest_of_project(
        replace(
            scene([[2.0], [0.0]], change=change), later_price=np.where(change > 0, np.inf, 0.0)
        ),
        24,
    )
    assert at(shut, shut.value[23], 0.0) > at(free, free.value[23], 0.0) + 10
    assert at(shut, shut.value[23], 0.0, way=1) == pytest.approx(
        at(free, free.value[23], 0.0, way=1), rel=0.05
    )
