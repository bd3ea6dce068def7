import numpy as np
import pytest
from scipy.stats import norm

from knitlog.advice.shares import chance_outside, normal_below, spreading


def test_the_normal_distribution_is_scipys() -> None:
    z = np.linspace(-6, 6, 241)
    # Abramowitz & Stegun 26.2.17 states an error below 7.5e-8
    assert np.abs(normal_below(z) - norm.cdf(z)).max() < 7.5e-8


@pytest.mark.parametrize("sd", [0.15, 0.25, 0.4, 0.7, 1.5])
def test_spreading_keeps_the_mean_and_makes_the_variance_asked_for(sd: float) -> None:
    step, size = 0.5, 81
    chance = spreading(size, sd, step)[:, size // 2]
    x = (np.arange(size) - size // 2) * step
    assert chance.sum() == pytest.approx(1.0)
    assert chance @ x == pytest.approx(0.0, abs=1e-12)
    assert chance @ x**2 == pytest.approx(sd**2, rel=0.02)


def test_what_would_leave_the_grid_stays_at_its_edge() -> None:
    assert np.allclose(spreading(21, 2.0, 0.5).sum(axis=0), 1.0)


def test_the_chance_of_being_outside_is_the_two_tails() -> None:
    found = chance_outside(np.array([0.0, 2.0]), 3.0, 1.0)
    assert found[0] == pytest.approx(2 * norm.sf(3.0), abs=1e-6)
    assert found[1] == pytest.approx(norm.sf(1.0) + norm.sf(5.0), abs=1e-6)
