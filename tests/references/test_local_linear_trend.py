"""The creeping drift and the pattern against statsmodels, and against known series.

Sources: statsmodels' UnobservedComponents ('local linear trend', and a fixed seasonal beside a
local level with drift), exact diffuse filter, at fixed parameters; Harvey 1989, section 2.3,
and Durbin & Koopman 2012, section 3.2, for the model; the series as shipped with statsmodels.
"""

import numpy as np
import pytest
from scipy.optimize import minimize
from statsmodels.datasets import macrodata, nile
from statsmodels.tsa.statespace.structural import UnobservedComponents

from knitlog.drift.pattern import contrasts, worked

from .diffuse import diffuse_log_likelihood

VARIANCES = [(0.7, 0.5, 0.1), (0.2, 1.0, 0.03), (1.5, 0.1, 0.5), (0.7, 0.5, 0.002)]
"""(w, m, v)"""


def readings(rounds: int) -> np.ndarray:
    rng = np.random.default_rng(rounds)
    drift = 1.0 + np.cumsum(rng.normal(0.0, 0.1, rounds))
    return np.cumsum(drift + rng.normal(0.0, 0.7, rounds)) + rng.normal(0.0, 0.5, rounds)


def local_linear_trend(y: np.ndarray, at: np.ndarray, w: float, m: float, v: float) -> float:
    design = np.column_stack((np.ones(len(at)), at.astype(float)))
    return diffuse_log_likelihood(y, design, at, w, m, creep_sd=v)


@pytest.mark.parametrize("rounds", [5, 8, 60, 400])
@pytest.mark.parametrize("missing", [False, True])
def test_likelihood_agrees_with_statsmodels_at_fixed_variances(rounds, missing):
    y = readings(rounds)
    seen = np.ones(rounds, dtype=bool)
    if missing:
        rng = np.random.default_rng(rounds)
        seen[rng.choice(np.arange(2, rounds - 1), rounds // 5, replace=False)] = False
    model = UnobservedComponents(
        np.where(seen, y, np.nan), "local linear trend", use_exact_diffuse=True
    )
    assert model.param_names == ["sigma2.irregular", "sigma2.level", "sigma2.trend"]
    at = np.flatnonzero(seen)
    for w, m, v in VARIANCES:
        theirs = model.loglike(np.array([m**2, w**2, v**2]))
        assert local_linear_trend(y[at], at, w, m, v) == pytest.approx(theirs, abs=1e-6)


SERIES = {
    "the Nile at Aswan, 1871 to 1970": lambda: nile.load_pandas().data["volume"],
    "real GDP of the United States, log, percent": lambda: (
        100.0 * np.log(macrodata.load_pandas().data["realgdp"])
    ),
}


@pytest.mark.parametrize("series", SERIES.values(), ids=SERIES.keys())
def test_known_series_have_the_likelihood_statsmodels_finds(series):
    y = series().to_numpy(float)
    scale = float(np.std(np.diff(y)))
    model = UnobservedComponents(y, "local linear trend", use_exact_diffuse=True)
    for shares in ((0.6, 0.5, 0.1), (0.9, 0.2, 0.02)):
        w, m, v = scale * np.array(shares)
        theirs = model.loglike(np.array([m**2, w**2, v**2]))
        ours = local_linear_trend(y, np.arange(len(y)), w, m, v)
        assert ours == pytest.approx(theirs, abs=1e-6)


def test_the_nile_does_not_creep():
    # the maximum over all three variances lies at the local level's own: no slope variance
    # (15099 and 1469.1; Durbin & Koopman, section 2); the top is flat, so loosely
    y = nile.load_pandas().data["volume"].to_numpy(float)

    def less(logs: np.ndarray) -> float:
        w, m, v = np.exp(0.5 * logs)
        return -local_linear_trend(y, np.arange(100), w, m, v)

    found = minimize(
        less,
        np.log([1000.0, 10000.0, 10.0]),
        method="Nelder-Mead",
        bounds=[(0.0, 15.0), (0.0, 15.0), (-12.0, 10.0)],
        options={"xatol": 1e-3, "fatol": 1e-6, "maxiter": 2000},
    )
    w2, m2, v2 = np.exp(found.x)
    # with a slope to be found the level takes a little less
    assert m2 == pytest.approx(15099.0, rel=0.05)
    assert w2 == pytest.approx(1469.1, rel=0.25)
    assert v2 < 1.0


@pytest.mark.parametrize("rounds_of_pattern", [2, 4, 6])
@pytest.mark.parametrize("share", [0.0, 0.3, 1.0])
def test_a_pattern_is_the_seasonal_of_statsmodels(rounds_of_pattern, share):
    """A pattern that sums to zero on the steps is one that sums to zero on the level.

    The constant that is left, and the diffuse seasonal in another basis, move the log
    likelihood by the same amount at all variances: differences between variances are held.
    """
    p, rounds = rounds_of_pattern, 60
    rng = np.random.default_rng(p)
    numbers = np.arange(1, rounds + 1)
    effects = rng.normal(0.0, 2.0, p)
    level = worked(p, numbers, np.full(rounds, share)) @ (effects - effects.mean())
    y = readings(rounds) + level
    model = UnobservedComponents(
        y,
        "local linear deterministic trend",
        seasonal=p,
        stochastic_seasonal=False,
        use_exact_diffuse=True,
    )
    columns = worked(p, numbers, np.full(rounds, share)) @ contrasts(p)
    design = np.column_stack((columns, np.ones(rounds), np.arange(rounds)))
    found = [
        (
            diffuse_log_likelihood(y, design, np.arange(rounds), w, m),
            model.loglike(np.array([m**2, w**2])),
        )
        for w, m in ((0.7, 0.5), (0.2, 1.0), (1.5, 0.1))
    ]
    ours, theirs = np.array(found).T
    assert ours - ours[0] == pytest.approx(theirs - theirs[0], abs=1e-6)
