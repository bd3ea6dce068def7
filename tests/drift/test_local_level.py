"""The running sum's linear algebra against whole matrices.

Omega = I + q Z L L' Z' with L the lower triangle of ones (Harvey 1989, section 2.3), inverted
by numpy as it stands.
"""

import numpy as np
import pytest

from knitlog.drift.local_level import LocalLevel, Places
from knitlog.drift.running_sum import path_precision

LOGS = {
    "every round": np.arange(12),
    "some missing": np.array([0, 1, 4, 5, 6, 9, 11]),
    "two changes a round": np.repeat(np.arange(7), 2),
    "two rounds": np.array([0, 1]),
}


def whole_omega(at: np.ndarray, q: float) -> np.ndarray:
    return np.eye(len(at)) + q * np.minimum.outer(at, at)


@pytest.mark.parametrize("q", [1e-4, 0.3, 2.0, 50.0])
@pytest.mark.parametrize("at", LOGS.values(), ids=LOGS.keys())
def test_omega_and_what_a_change_is_told_by(at, q):
    steps = int(at.max())
    places = Places.of(at, steps)
    level = LocalLevel.of(places, q)
    inverse = np.linalg.inv(whole_omega(at, q))
    each = np.eye(len(at))
    assert level.omega(each, level.lift(places.sums(each))) == pytest.approx(inverse, abs=1e-9)

    starts = np.arange(1, steps + 1)
    jump = 1.0 * (at[:, None] >= starts)
    ramp = np.maximum(at[:, None] - starts + 1.0, 0.0)
    # the difference of two nearly equal spreads is divided by q^2
    close = 1e-9 * max(1.0, 1.0 / q)
    for told, column in ((level.steps_told(), jump), (level.ramps_told(), ramp)):
        whole = np.einsum("it,ij,jt->t", column, inverse, column)
        assert told == pytest.approx(whole, rel=close, abs=close)


@pytest.mark.parametrize("steps", [1, 2, 3, 6, 7, 8, 9, 30])
def test_the_precision_of_a_path_that_remembers(steps):
    memory = np.array([0.0, 0.4, 0.75])
    bands = path_precision(steps, np.ones(3), memory)
    for rho, (main, first, second) in zip(memory, bands.transpose(0, 2, 1), strict=True):
        # a sum of stationary AR(1) steps of unit spread: Var = L R L', R[i, j] = rho^|i - j|
        lower = np.tril(np.ones((steps, steps)))
        power = np.abs(np.subtract.outer(np.arange(steps), np.arange(steps)))
        whole = np.linalg.inv(lower @ rho**power @ lower.T)
        assert main == pytest.approx(np.diag(whole), abs=1e-9)
        assert first[:-1] == pytest.approx(np.diag(whole, -1), abs=1e-9)
        assert second[: max(steps - 2, 0)] == pytest.approx(np.diag(whole, -2), abs=1e-9)
