"""The hand's steering, held against the textbooks."""

import numpy as np
import pytest
from scipy.linalg import solve_discrete_are

from knitlog.advice.steering import ask, ease, hold_percent, riccati_gain, trust

STRAYING, AT_EASE = np.array([True]), np.array([False])


@pytest.mark.parametrize("effort", [0.1, 1.0, 6.0, 50.0])
def test_the_gain_is_the_discrete_riccati_equations(effort: float) -> None:
    # y' = y - u, weighing y^2 + r u^2; scipy.linalg.solve_discrete_are
    one = np.array([[1.0]])
    p = solve_discrete_are(one, -one, one, effort * one)[0, 0]
    assert riccati_gain(effort) == pytest.approx(p / (effort + p), rel=1e-9)


def test_holding_the_drift_is_what_the_riccati_equation_of_offset_and_drift_says() -> None:
    # state (y, d): y' = y + d - u, d' = 0.999999 d; what is asked is weighed beyond the drift,
    # u = d + v, so y' = y - v: the gain on d is 1 and on y it is the scalar one
    effort = 6.0
    a = np.array([[1.0, 0.0], [0.0, 0.999999]])
    b = np.array([[-1.0], [0.0]])
    p = solve_discrete_are(a, b, np.diag([1.0, 0.0]), np.array([[effort]]))
    gain = np.linalg.solve(effort + b.T @ p @ b, b.T @ p @ a)[0]
    assert -gain[0] == pytest.approx(riccati_gain(effort), rel=1e-6)
    assert gain[1] == pytest.approx(0.0, abs=1e-9)


def test_no_other_gain_does_better_on_the_known_case() -> None:
    noise = np.random.default_rng(5).standard_normal((4000, 50))

    def cost(gain: float) -> float:
        y, total = np.zeros(50), 0.0
        for shock in noise:
            u = gain * y
            total += float((y**2 + 6.0 * u**2).mean())
            y = y - u + shock
        return total

    best = cost(riccati_gain(6.0))
    assert all(best < cost(riccati_gain(6.0) + off) for off in (-0.1, -0.05, 0.05, 0.1))


def test_a_hand_is_asked_within_its_range_in_half_percents_and_not_for_nothing() -> None:
    wanted = np.array([-9.0, 0.2, 1.3, 2.76])
    none = np.zeros(4)
    found = ask(wanted, none, 3.0, 0.8, np.ones(4, dtype=bool))
    assert found.tolist() == [-3.0, 0.0, 1.5, 3.0]
    assert ask(wanted, none, 3.0, 0.8, np.zeros(4, dtype=bool)).tolist() == [0.0] * 4


def test_what_is_asked_is_held_on_to() -> None:
    assert ask(np.array([1.6]), np.array([2.0]), 3.0, 0.8, AT_EASE)[0] == 2.0
    assert ask(np.array([0.5]), np.array([2.0]), 3.0, 0.8, STRAYING)[0] == 0.0


def test_a_stitch_matters_the_same_on_any_count() -> None:
    # 0.6 of a stitch a round, answered by 0.6: on 128 stitches about 0.8 %, on 48 as far as it goes
    assert hold_percent(128.0, 0.6) == pytest.approx(0.78, abs=0.01)
    assert hold_percent(48.0, 0.6) == 1.5
    assert hold_percent(400.0, 0.6) == 0.5


def test_a_hand_little_known_is_asked_less() -> None:
    known, unknown = np.full(100, 0.6), np.linspace(0.1, 1.1, 100)
    assert trust(known) == pytest.approx(0.6)
    assert trust(unknown) > trust(known)


def test_a_rounds_luck_is_kept_between_the_colours_and_their_tolerance() -> None:
    assert ease(3.0, 0.5) == 2.5
    assert ease(3.0, 2.0) == 1.5  # an uneven hand is not asked in every round
