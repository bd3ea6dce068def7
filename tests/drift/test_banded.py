"""The banded solver's linear algebra against whole matrices.

Var(x) = w^2 L (diag(a) + L diag(b) L') L' with L the lower triangle of ones (Harvey 1989, section
2.3; Durbin & Koopman 2012, section 3.2), or with AR(1) steps for the first part; inverted by
numpy as it stands.
"""

import numpy as np
import pytest

from knitlog.drift.banded import Looks, Smoother, Steps, solve

LOGS = {
    "every round": np.arange(12),
    "some missing": np.array([0, 1, 4, 5, 6, 9, 11]),
    "two changes a round": np.repeat(np.arange(7), 2),
    "two rounds": np.array([0, 1]),
}


def trust_and_ahead(at: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return what the readings count and by how much they lie beyond: every second of a round."""
    second = np.append(False, np.diff(at) == 0) & (at < at.max())
    return np.where(second, 0.8, 1.0), np.where(second, 0.3, 0.0)


def picked(at: np.ndarray, n: int, trust: np.ndarray, ahead: np.ndarray) -> np.ndarray:
    """Return Z written out: shape (readings, rounds after the first)."""
    pick = np.zeros((len(at), n + 2))
    pick[np.arange(len(at)), at] += trust * (1.0 - ahead)
    pick[np.arange(len(at)), at + 1] += trust * ahead
    return pick[:, 1 : n + 1]


def happened(steps: int) -> Steps:
    """Return a fix at the second round and a change of drift at the last."""
    own = Steps.none(steps)
    own.level[min(1, steps - 1)] += 4.0
    own.drift[-1] += 0.3
    return own


def path_variance(q: float, creep: float, memory: float, steps: Steps) -> tuple:
    """Return the variances of x, of (mu, x) across, and of mu, in units of the reading's."""
    n = len(steps.level)
    lower = np.tril(np.ones((n, n)))
    power = np.abs(np.subtract.outer(np.arange(n), np.arange(n)))
    own = memory**power if memory else np.diag(1.0 + steps.level)
    mu = lower @ np.diag(creep**2 + steps.drift) @ lower.T
    return q * lower @ (own + mu) @ lower.T, q * mu @ lower.T, q * mu


@pytest.mark.parametrize("at", LOGS.values(), ids=LOGS.keys())
@pytest.mark.parametrize(
    ("creep", "memory", "known"),
    [(0.0, 0.0, False), (0.0, 0.4, False), (0.2, 0.0, False), (0.2, 0.0, True), (0.0, 0.0, True)],
)
def test_the_stacked_systems_are_those_of_whole_matrices(at, creep, memory, known):
    n = int(at.max())
    steps = happened(n) if known else Steps.none(n)
    rng = np.random.default_rng(n)
    columns = rng.normal(size=(3, len(at)))
    trust, ahead = trust_and_ahead(at)
    looks = Looks.of(at, n, trust, ahead)
    q = np.array([0.05, 0.8, 20.0])
    whole = np.full(3, 1.0)
    solved = solve(q, memory * whole, creep * whole, looks, looks.sums(columns), steps)
    pick = picked(at, n, trust, ahead)
    for i, ratio in enumerate(q):
        x, across, _ = path_variance(ratio, creep, memory, steps)
        omega = np.eye(len(at)) + pick @ x @ pick.T
        inverse = np.linalg.inv(omega)
        inner = columns @ columns.T - solved.inner[i]
        # a drift taken not to creep is let creep by a hair beside one that may change
        close = 1e-8 if creep or not known else 2e-3
        assert inner == pytest.approx(columns @ inverse @ columns.T, rel=close, abs=close)
        assert solved.log_det[i] == pytest.approx(np.linalg.slogdet(omega)[1], abs=close)
        # the last of mu and x given the readings: any text on the multivariate normal
        lift = np.stack([across[-1], x[-1]]) @ pick.T @ inverse
        if creep or known:
            assert solved.end[i, :2] == pytest.approx(lift @ columns.T, rel=close, abs=10 * close)
        else:
            assert solved.end[i, 1] == pytest.approx(lift[1] @ columns.T, rel=close, abs=close)
        spread = x[-1, -1] - lift[1] @ pick @ x[:, -1]
        assert solved.end_cov[i, 1, 1] == pytest.approx(spread, rel=close, abs=close)


@pytest.mark.parametrize("q", [1e-2, 0.3, 2.0, 50.0])
@pytest.mark.parametrize("at", LOGS.values(), ids=LOGS.keys())
def test_the_whole_path_and_what_a_change_is_told_by(at, q):
    n, creep = int(at.max()), 0.2
    steps = happened(n)
    trust, ahead = trust_and_ahead(at)
    looks = Looks.of(at, n, trust, ahead)
    path = Smoother.of(looks, q, creep, steps)
    pick = picked(at, n, trust, ahead)
    x, across, mu = path_variance(q, creep, 0.0, steps)
    inverse = np.linalg.inv(np.eye(len(at)) + pick @ x @ pick.T)
    each = np.eye(len(at))
    lifted = path.lift(looks.sums(each))
    assert path.omega(each, lifted) == pytest.approx(inverse, abs=1e-9)
    assert pytest.approx(across @ pick.T @ inverse, rel=1e-8, abs=1e-9) == lifted[:, 0].T
    assert pytest.approx(x @ pick.T @ inverse, rel=1e-8, abs=1e-9) == lifted[:, 1].T
    left = x - x @ pick.T @ inverse @ pick @ x
    assert path.told() == pytest.approx(np.diag(pick @ left @ pick.T), rel=1e-8, abs=1e-12)
    assert path.cov[:, 1, 1] == pytest.approx(np.diag(left), rel=1e-8)
    left = mu - across @ pick.T @ inverse @ pick @ across.T
    assert path.cov[:, 0, 0] == pytest.approx(np.diag(left), rel=1e-8)
    assert path.of_end()[0, 0] == pytest.approx(left[:, -1], rel=1e-7, abs=1e-9)

    starts = np.arange(1, n + 1)
    later = np.subtract.outer(starts, starts)
    jump, turn = pick @ (later >= 0), pick @ np.maximum(later + 1.0, 0.0)
    for told, column in ((path.jumps_told(), jump), (path.turns_told(), turn)):
        whole = np.einsum("it,ij,jt->t", column, inverse, column)
        assert told == pytest.approx(whole, rel=1e-6, abs=1e-6)
