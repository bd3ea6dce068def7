"""The draws are draws of what the fit tells."""

from dataclasses import replace

import numpy as np
import pytest

from knitlog.drift import DriftLog, Fix, Reading, Stint, TensionAsked, fit
from knitlog.drift.likelihood import Noise
from knitlog.drift.nodes import without_memory

SIZE = 40_000
PLACES = (37.0, 39.5, 43.0, 45.0, 48.5, 51.0, 53.0, 56.5, 59.0, 61.0)


def log_of(**more: object) -> DriftLog:
    readings = tuple(Reading(n, place) for n, place in enumerate(PLACES, start=1))
    return DriftLog(**{"readings": readings, "stints": (Stint(1, 128, 4.5),), **more})


@pytest.mark.parametrize(
    "more",
    [
        {},
        {"fixes": (Fix(10, 12.0),)},  # nobody has read what it did
        {"fixes": (Fix(5, 6.0),)},
        {"tension": (TensionAsked(7, 2.0),)},
        {"repeat_length_mm": 1524.0, "target_drift": 1.0},
    ],
    ids=["plain", "fix to be seen", "fix seen", "tension asked", "spiral"],
)
def test_their_means_and_spreads_are_the_fits(more: dict[str, object]) -> None:
    found = fit(log_of(**more))
    drawn = found.draws(SIZE, seed=3)
    for draws, told in ((drawn.drift, found.drift), (drawn.offset, found.offset)):
        # the error of a mean, and that of a spread, of so many draws, four times
        assert draws.mean() == pytest.approx(told.mean, abs=4 * told.sd / SIZE**0.5)
        assert draws.std() == pytest.approx(told.sd, rel=0.03)
        low, high = np.quantile(draws, (0.025, 0.975))
        assert low == pytest.approx(told.low95, abs=0.1 * told.sd)
        assert high == pytest.approx(told.high95, abs=0.1 * told.sd)
    assert drawn.response.mean() == pytest.approx(found.tension_response.mean, abs=0.01)
    assert drawn.response.std() == pytest.approx(found.tension_response.sd, rel=0.03)


def test_they_are_the_same_however_eigenvectors_are_signed(monkeypatch) -> None:
    # LAPACK leaves the sign of an eigenvector open, and processors differ in it
    eigh = np.linalg.eigh
    before = fit(log_of(pattern_rounds=4)).draws(200, seed=3)
    monkeypatch.setattr(np.linalg, "eigh", lambda a: (eigh(a)[0], -eigh(a)[1]))
    after = fit(log_of(pattern_rounds=4)).draws(200, seed=3)
    for name in ("drift", "offset", "tension_error", "response", "pattern"):
        assert getattr(after, name) == pytest.approx(getattr(before, name), abs=1e-9), name


def test_a_fix_nobody_has_read_since_leaves_its_own_spread_in_them() -> None:
    plain, mended = fit(log_of()), fit(log_of(fixes=(Fix(10, 12.0),)))
    before, after = (found.draws(SIZE, seed=3).offset for found in (plain, mended))
    assert after.mean() == pytest.approx(before.mean() - 12.0, abs=0.2)
    # what a hand misses by: half a stitch and a fifth of what it set out to do
    assert after.var() == pytest.approx(before.var() + (0.5 + 0.2 * 12.0) ** 2, rel=0.05)


def test_what_memory_would_explain_is_left_to_the_plain_hand() -> None:
    noise = Noise(
        log_ratio=np.array([-1.0, 0.0, -1.0, 0.0]),
        memory=np.array([0.0, 0.0, 0.5, 0.0]),
        creep=np.array([0.0, 0.0, 0.0, 0.2]),
        log_weight=np.log([0.3, 0.2, 0.4, 0.1]),
    )
    found = without_memory(noise)
    # 0.4 shared out over 0.3 and 0.2 as they stand; the hand that creeps keeps its own
    assert np.exp(found.log_weight) == pytest.approx([0.54, 0.36, 0.1])
    assert not found.memory.any()
    assert found.creep.tolist() == [0.0, 0.0, 0.2]
    none = replace(noise, memory=np.zeros(4))
    assert np.array_equal(without_memory(none).log_weight, noise.log_weight)
