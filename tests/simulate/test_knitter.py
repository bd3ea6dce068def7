"""The invented knitter does what is said of her: held against the arithmetic of her noises."""

from dataclasses import replace

import numpy as np
import pytest

from knitlog.drift import Fix, Stint
from knitlog.simulate.knitter import Knitter, Work, knit

EVEN = Knitter(tension_noise_sd=0.0, reading_noise_sd=0.0)
LONG = Work(stitches=1_000_000, rounds=20_000, homes=(500_000.0,))
"""So many stitches that nothing wraps, and rounds enough for a spread to be read off."""


def test_the_same_seed_knits_the_same_log() -> None:
    assert knit(Knitter(), Work(), 7).log == knit(Knitter(), Work(), 7).log
    assert knit(Knitter(), Work(), 7).log != knit(Knitter(), Work(), 8).log


def test_without_noise_the_offset_is_the_running_sum_and_readings_wrap() -> None:
    work = Work(stitches=128, rounds=40, homes=(40.0, 100.0), fixes=(Fix(10, 6.0),))
    made = knit(replace(EVEN, drift=2.5), work, 1)
    rounds = np.arange(40)
    # 2.5 a round, 6 taken out between rounds 10 and 11
    wanted = 2.5 * rounds - 6.0 * (rounds >= 10)
    assert made.offsets == pytest.approx(wanted)
    for reading in made.log.readings:
        home = (40.0, 100.0)[reading.change - 1]
        assert reading.stitch == pytest.approx((home + wanted[reading.round - 1]) % 128)


def test_tension_noise_has_the_spread_and_the_memory_it_is_said_to_have() -> None:
    """AR(1): the spread stays sd, neighbours correlate by rho, those two apart by rho squared
    (Box, Jenkins & Reinsel, Time Series Analysis, 4th ed., 3.2.3; from memory)."""
    made = knit(Knitter(tension_noise_sd=0.7, tension_memory=0.6), LONG, 3)
    step = np.diff(made.offsets)
    assert step.std() == pytest.approx(0.7, rel=0.03)
    for apart, wanted in ((1, 0.6), (2, 0.36)):
        assert np.corrcoef(step[:-apart], step[apart:])[0, 1] == pytest.approx(wanted, abs=0.03)


def test_a_dyed_repeat_that_varies_moves_every_later_change() -> None:
    # a share v of k repeats of N / k stitches each: v N / k sqrt(k) = v N / sqrt(k)
    work = replace(LONG, repeats=4)
    made = knit(replace(EVEN, repeat_variation=2e-6), work, 4)
    step = np.diff(made.offsets)
    assert step.std() == pytest.approx(2e-6 * 1_000_000 / 2.0, rel=0.03)


def test_sittings_differ_and_hold_for_their_rounds() -> None:
    made = knit(replace(EVEN, sitting_sd=1.5, rounds_per_sitting=5), LONG, 5)
    by_sitting = np.diff(made.offsets, prepend=0.0)[5:].reshape(-1, 5)
    assert np.ptp(by_sitting, axis=1).max() == pytest.approx(0.0, abs=1e-6)
    assert by_sitting[:, 0].std() == pytest.approx(1.5, rel=0.05)


def test_miscounts_and_missing_rounds_come_at_their_rate_and_are_told() -> None:
    work = replace(LONG, rounds=4_000)
    made = knit(replace(EVEN, miscount_rate=0.1, missing_rate=0.25), work, 6)
    logged = [r.round for r in made.log.readings]
    assert logged[0] == 1
    assert logged[-1] == 4_000
    # three standard errors of a share
    assert len(logged) / 4_000 == pytest.approx(0.75, abs=3 * (0.25 * 0.75 / 4_000) ** 0.5)
    assert len(made.miscounts) / len(logged) == pytest.approx(0.1, abs=3 * (0.09 / 3_000) ** 0.5)
    off = {r.round: abs(r.stitch - 500_000.0) for r in made.log.readings}
    wrong = {number for number, _ in made.miscounts}
    assert all((5.0 <= off[n] <= 20.0) == (n in wrong) for n in off)


def test_another_stint_has_its_own_drift_and_count() -> None:
    work = Work(rounds=20, stints=((Stint(11, 120, 5.0), -1.0),), drift_changes=((16, 0.5),))
    made = knit(replace(EVEN, drift=2.0), work, 1)
    steps = np.diff(made.offsets)
    assert steps == pytest.approx([2.0] * 9 + [-1.0] * 5 + [-0.5] * 5)
    assert made.drift == -0.5
    assert made.log.stints == (Stint(1, 128, None), Stint(11, 120, 5.0))


def test_readings_may_be_rounded() -> None:
    made = knit(Knitter(rounding=0.5), Work(rounds=50), 2)
    assert all((2 * r.stitch) % 1 == 0 for r in made.log.readings)
