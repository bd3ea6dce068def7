"""The likelihood against the Nile series and against statsmodels.

Sources: Durbin & Koopman, Time Series Analysis by State Space Methods, 2nd ed. 2012,
section 2.3 (variances 15099 and 1469.1 of the local level model for the annual flow of the
Nile, 100 values summing to 91935); the series as shipped with statsmodels; statsmodels'
own exact diffuse filter for everything at fixed parameters.
"""

import numpy as np
import pytest
from scipy.optimize import minimize
from statsmodels.datasets import nile
from statsmodels.tsa.statespace.structural import UnobservedComponents

from .diffuse import diffuse_log_likelihood

IRREGULAR, LEVEL = 15099.0, 1469.1


@pytest.fixture(scope="module")
def flow() -> np.ndarray:
    values = nile.load_pandas().data["volume"].to_numpy(float)
    assert len(values) == 100
    assert values.sum() == 91935
    return values


def local_level(flow: np.ndarray, irregular: float, level: float) -> float:
    return diffuse_log_likelihood(
        flow, np.ones((len(flow), 1)), np.arange(len(flow)), np.sqrt(level), np.sqrt(irregular)
    )


def test_likelihood_at_the_published_variances(flow):
    # computed once with an independent exact-diffuse filter: -633.4645636489
    assert local_level(flow, IRREGULAR, LEVEL) == pytest.approx(-633.4645636489, abs=1e-8)


def test_likelihood_agrees_with_statsmodels_at_fixed_variances(flow):
    model = UnobservedComponents(flow, "local level", use_exact_diffuse=True)
    for irregular, level in [(IRREGULAR, LEVEL), (5000.0, 4000.0), (20000.0, 100.0)]:
        theirs = model.loglike([irregular, level])
        assert local_level(flow, irregular, level) == pytest.approx(theirs, abs=1e-6)


def test_maximum_lies_at_the_published_variances(flow):
    found = minimize(
        lambda v: -local_level(flow, np.exp(v[0]), np.exp(v[1])),
        np.log([10000.0, 1000.0]),
        method="Nelder-Mead",
        options={"xatol": 1e-6, "fatol": 1e-9},
    )
    # the top is flat: loosely here, tightly at fixed parameters above
    assert np.exp(found.x[0]) == pytest.approx(IRREGULAR, rel=2e-3)
    assert np.exp(found.x[1]) == pytest.approx(LEVEL, rel=2e-3)


@pytest.mark.parametrize("rounds", [8, 60, 400])
@pytest.mark.parametrize("missing", [False, True])
def test_local_level_with_drift_agrees_with_statsmodels(rounds, missing):
    rng = np.random.default_rng(rounds)
    offsets = np.cumsum(3.0 + rng.normal(0.0, 0.7, rounds))
    readings = offsets + rng.normal(0.0, 0.5, rounds)
    seen = np.ones(rounds, dtype=bool)
    if missing:
        seen[rng.choice(np.arange(2, rounds - 1), rounds // 4, replace=False)] = False
    theirs_y = np.where(seen, readings, np.nan)
    model = UnobservedComponents(
        theirs_y, "local linear deterministic trend", use_exact_diffuse=True
    )
    assert model.param_names == ["sigma2.irregular", "sigma2.level"]
    at = np.flatnonzero(seen)
    design = np.column_stack((np.ones(len(at)), at.astype(float)))
    for w, m in [(0.7, 0.5), (0.2, 1.0), (1.5, 0.1)]:
        theirs = model.loglike(np.array([m**2, w**2]))
        ours = diffuse_log_likelihood(readings[at], design, at, w, m)
        assert ours == pytest.approx(theirs, abs=1e-6)
