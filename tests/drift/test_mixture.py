"""Quantiles of mixtures of normals, against answers that can be worked by hand."""

import numpy as np
import pytest
from scipy.special import ndtri

from knitlog.drift.mixture import quantiles


def test_quantiles_of_peaks_far_apart_are_those_of_each_peak():
    # nothing of either peak lies near the other: level q of the whole is level q / 0.97 of the
    # first up to 0.97, and (q - 0.97) / 0.03 of the second beyond
    weight, mean, sd = np.array([0.97, 0.03]), np.array([0.0, 1000.0]), np.array([1.0, 0.1])
    levels = np.array([0.025, 0.5, 0.9699, 0.975, 0.985, 0.9999])
    by_hand = [
        *ndtri(levels[:3] / 0.97),
        *(1000.0 + 0.1 * ndtri((levels[3:] - 0.97) / 0.03)),
    ]
    assert quantiles(weight, mean, sd, levels) == pytest.approx(by_hand, abs=1e-3)


@pytest.mark.parametrize("wide", [1e-4, 1.0, 1e4])
def test_quantiles_far_in_the_tail_of_the_widest_part(wide):
    # beyond all of the narrow part: level q is level 1 - (1 - q) / 0.01 of the wide one
    weight, mean, sd = np.array([0.99, 0.01]), np.zeros(2), wide * np.array([1e-3, 1.0])
    levels = np.array([1e-4, 0.0025, 0.9975, 0.9999])
    by_hand = wide * np.array([*ndtri(levels[:2] / 0.01), *-ndtri((1.0 - levels[2:]) / 0.01)])
    assert quantiles(weight, mean, sd, levels) == pytest.approx(by_hand, abs=2e-6 * wide)


def test_several_mixtures_at_once_are_those_one_by_one():
    rng = np.random.default_rng(5)
    weight, levels = rng.dirichlet(np.ones(6)), np.array([0.025, 0.5, 0.975])
    mean, sd = rng.normal(0.0, 30.0, (6, 4)), np.exp(rng.normal(0.0, 2.0, (6, 4)))
    both = quantiles(weight, mean, sd, levels)
    assert both.shape == (3, 4)
    for i in range(4):
        one = quantiles(weight, mean[:, i], sd[:, i], levels)
        assert both[:, i] == pytest.approx(one, abs=1e-3)
