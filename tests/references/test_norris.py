"""The straight-line reference against NIST, and why a straight line is not enough.

Source: NIST Statistical Reference Datasets, linear regression, Norris (36 observations,
certified values from the data file's header, shipped with scipy's own tests).
"""

from pathlib import Path

import numpy as np
import pytest
import scipy.stats
import statsmodels.api as sm

from knitlog.drift import fit
from tests.simulator import Work, hand_for, knit

CERTIFIED = {
    "intercept": -0.262323073774029,
    "intercept_se": 0.232818234301152,
    "slope": 1.00211681802045,
    "slope_se": 0.000429796848199937,
    "residual_sd": 0.884796396144373,
    "r_squared": 0.999993745883712,
}


def straight_line(x, y):
    return sm.OLS(y, sm.add_constant(x)).fit()


def test_the_reference_line_meets_the_certified_values():
    where = Path(scipy.stats.__file__).parent / "tests/data/nist_linregress/Norris.dat"
    if not where.exists():
        pytest.skip("this scipy was installed without its test data")
    y, x = np.loadtxt(where, skiprows=60, unpack=True)
    assert len(x) == 36
    line = straight_line(x, y)
    assert line.params == pytest.approx([CERTIFIED["intercept"], CERTIFIED["slope"]], rel=1e-10)
    assert line.bse == pytest.approx([CERTIFIED["intercept_se"], CERTIFIED["slope_se"]], rel=1e-10)
    assert np.sqrt(line.scale) == pytest.approx(CERTIFIED["residual_sd"], rel=1e-10)
    assert line.rsquared == pytest.approx(CERTIFIED["r_squared"], rel=1e-10)


def test_a_straight_line_is_too_sure_of_itself_and_the_fit_is_not():
    """The nominal 95 % interval of a straight line holds the drift far too seldom."""
    line_holds, fit_holds, tried = 0, 0, 150
    for seed in range(tried):
        rng = np.random.default_rng(seed)
        true = float(rng.normal(0.0, 3.0))
        work = Work(rounds=15)
        fitted = fit(knit(hand_for(work, true), work, seed).to_drift_log())
        path = fitted.path
        low, high = straight_line(path.reading_rounds, path.reading_offsets).conf_int()[1]
        line_holds += low <= true <= high
        fit_holds += fitted.drift.low95 <= true <= fitted.drift.high95
    assert line_holds / tried < 0.60
    assert fit_holds / tried > 0.90
