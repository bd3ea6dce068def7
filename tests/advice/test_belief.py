import numpy as np
import pytest

from knitlog.advice.belief import Belief, believe, settled_offset_sd

from .stand_in import stand_in


def belief_of(fit, stitches: float = 128, repeats: float = 1, changes: int = 1) -> Belief:
    return believe(
        fit.draws(400, 0),
        target_drift=fit.log.target_drift,
        stitches=stitches,
        repeats=repeats,
        colour_changes=changes,
    )


def test_the_draws_come_back_as_mean_and_spread() -> None:
    b = belief_of(stand_in(drift=1.5, drift_sd=0.3, offset=4.0, offset_sd=0.5, correlation=0.6))
    assert b.drift == pytest.approx(1.5)
    assert b.drift_sd == pytest.approx(0.3, rel=1e-3)
    assert b.offset == pytest.approx(4.0)
    assert b.offset_sd == pytest.approx(0.5, rel=1e-3)
    assert b.covariance == pytest.approx(0.6 * 0.3 * 0.5, rel=1e-3)


def test_drift_counts_from_the_target() -> None:
    assert belief_of(stand_in(drift=2.0, target_drift=2.0)).drift == pytest.approx(0.0)


def test_most_of_a_repeat_past_is_a_little_short_of_the_next() -> None:
    # (N + d) / k = 64 stitches a repeat with two repeats a round
    assert belief_of(stand_in(offset=60.0), repeats=2).offset == pytest.approx(-4.0)
    assert belief_of(stand_in(offset=60.0), repeats=1).offset == pytest.approx(60.0)


def test_several_colour_changes_share_the_reading_noise() -> None:
    fit = stand_in(reading_noise_sd=0.6)
    assert belief_of(fit, changes=4).reading_sd == pytest.approx(0.3)


def test_settled_spread_is_the_one_published_for_the_nile() -> None:
    # Durbin & Koopman, section 2: variances 15099 and 1469.1, last filtered variance 4032.158
    found = settled_offset_sd(np.sqrt(1469.1), np.sqrt(15099.0)) ** 2
    assert found == pytest.approx(4032.157942, rel=1e-6)


def test_hearing_of_a_drift_moves_the_offset_that_hangs_on_it() -> None:
    b = Belief(10.0, 2.0, 0.5, 0.25, 0.2, 0.7, 0.5)
    told = b.told_drift(1.0, 0.5)
    # equal precision: half way, half the variance; the offset follows by cov / (var + var)
    assert told.drift == pytest.approx(1.5)
    assert told.drift_var == pytest.approx(0.125)
    assert told.offset == pytest.approx(10.0 - 0.2 / 0.5)
    assert told.offset_var < b.offset_var
