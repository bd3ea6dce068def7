"""Pooling against brute force and the textbook's eight schools."""

import numpy as np
import pytest
from scipy import stats

from knitlog.hands.pooling import HandsError, Hyperprior, pool, pool_kinds


def test_it_meets_integration_by_brute_force() -> None:
    x, s = np.array([1.2, 0.7, 1.0]), np.array([0.2, 0.1, 0.3])
    belief = Hyperprior(1.0, 0.3, 0.2)

    # a grid so fine that its step does not matter; tau from the middle of its first cell
    mu, tau = np.meshgrid(np.linspace(-1.5, 3.5, 601), 1.6 * (np.arange(300) + 0.5) / 300)
    mass = stats.norm.pdf(mu, 1.0, 0.3) * stats.halfnorm.pdf(tau, scale=0.2)
    for seen, own in zip(x, s, strict=True):
        mass = mass * stats.norm.pdf(seen, mu, np.hypot(own, tau))

    def over(weight) -> float:
        return float(np.sum(weight(mu, tau) * mass))

    total = over(lambda mu, tau: 1.0)
    mean = over(lambda mu, tau: mu) / total
    next_variance = over(lambda mu, tau: (mu - mean) ** 2 + tau**2) / total
    found = pool(x, s, belief)
    assert found.mean.mean == pytest.approx(mean, abs=2e-4)
    assert found.next.sd == pytest.approx(np.sqrt(next_variance), rel=2e-3)
    assert found.between_sd == pytest.approx(over(lambda mu, tau: tau) / total, rel=5e-3)


def test_the_eight_schools() -> None:
    # Gelman et al., Bayesian Data Analysis, 3rd ed., section 5.5, table 5.2: effects and
    # standard errors; posterior mean of mu near 8 and of tau near 6.5 under flat priors
    # (the table seen, the two summaries from memory, so the tolerance is wide)
    effects = [28, 8, -3, 7, -1, 1, 18, 12]
    errors = [15, 10, 16, 11, 9, 11, 10, 18]
    found = pool(effects, errors, Hyperprior(0.0, 1000.0, 30.0))
    assert found.mean.mean == pytest.approx(8.0, abs=0.5)
    assert found.mean.sd == pytest.approx(5.0, abs=0.7)
    assert found.between_sd == pytest.approx(6.5, abs=1.2)


def test_without_projects_the_belief_stands() -> None:
    found = pool([], [], Hyperprior(1.0, 0.3, 0.18))
    # sd^2 = 0.3^2 + E tau^2, and E tau^2 = scale^2 for a half-normal
    assert found.mean.mean == pytest.approx(1.0)
    assert found.next.sd == pytest.approx(np.hypot(0.3, 0.18), rel=0.01)
    assert found.count == 0


def test_many_projects_that_agree_leave_little_spread() -> None:
    found = pool([0.8] * 40, [0.02] * 40, Hyperprior(1.0, 0.3, 0.18))
    assert found.mean.mean == pytest.approx(0.8, abs=0.005)
    assert found.next.sd < 0.03


def test_the_interval_holds_the_next_project_as_often_as_it_says() -> None:
    rng = np.random.default_rng(5)
    held = 0
    for _ in range(300):
        mu, tau = rng.normal(1.0, 0.3), abs(rng.normal(0.0, 0.18))
        theta = rng.normal(mu, tau, 5)
        s = rng.uniform(0.05, 0.2, 4)
        found = pool(theta[:4] + rng.normal(0.0, s), s, Hyperprior(1.0, 0.3, 0.18)).next
        held += found.low95 <= theta[4] <= found.high95
    assert 0.91 <= held / 300 <= 0.985


def test_a_number_without_spread_is_refused() -> None:
    with pytest.raises(HandsError, match="spread"):
        pool([1.0], [0.0], Hyperprior(1.0, 0.3, 0.18))
    with pytest.raises(HandsError, match="spread"):
        pool([1.0, 1.1], [0.1], Hyperprior(1.0, 0.3, 0.18))
    with pytest.raises(HandsError, match="spread"):
        pool([np.nan], [0.1], Hyperprior(1.0, 0.3, 0.18))


def test_kinds_are_counted_beside_three_projects_of_anybodys() -> None:
    nodes = ((0.0, 0.8), (0.5, 0.2))
    assert dict(pool_kinds([], nodes).nodes) == pytest.approx(dict(nodes))
    # two projects that can only be of the second kind: (2 + 3 x 0.2) / 5
    told = pool_kinds([(-50.0, 0.0), (-40.0, 0.0)], nodes)
    assert told.nodes[1] == pytest.approx((0.5, 2.6 / 5))
    assert told.mean == pytest.approx(0.5 * 2.6 / 5)
    # one that says nothing leaves what was believed
    assert pool_kinds([(3.0, 3.0)], nodes).nodes[0] == pytest.approx((0.0, 0.8))
