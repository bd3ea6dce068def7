"""How fast the fit is, beside statsmodels and beside a fixed numpy task, in one run.

Run ``python -m pytest -m long tests/benchmarks/test_drift_speed.py -s`` for the table.
Only ratios are asserted, never absolute times.
"""

import time
import warnings
from collections.abc import Callable
from statistics import median

import numpy as np
import pytest
from statsmodels.tsa.statespace.structural import UnobservedComponents

from knitlog.drift import fit
from knitlog.simulate.knitter import Knitter, Work, knit

pytestmark = pytest.mark.long


def timed(task: Callable[[], object], runs: int) -> float:
    """Return the median wall time of ``task``, seconds, after one run to warm up."""
    task()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        task()
        times.append(time.perf_counter() - start)
    return median(times)


def log_of(rounds: int, drift: float = 3.0):
    return knit(Knitter(drift=drift), Work(rounds=rounds), seed=rounds).log


def fixed_numpy_task() -> float:
    rng = np.random.default_rng(0)
    square = rng.normal(size=(300, 300))
    return float(np.linalg.eigvalsh(square @ square.T).sum())


def test_against_statsmodels_at_500_rounds():
    log = log_of(500)
    offsets = fit(log).path.reading_offsets

    def theirs():
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            model = UnobservedComponents(offsets, "local linear deterministic trend")
            return model.fit(disp=False).conf_int()

    ours, reference = timed(lambda: fit(log), 15), timed(theirs, 5)
    print(
        f"\nfit at 500 rounds: {ours * 1e3:.1f} ms; statsmodels {reference * 1e3:.1f} ms; "
        f"{reference / ours:.1f} times faster"
    )
    assert reference / ours >= 10.0


def test_one_more_round_at_500_beside_a_fixed_task():
    log = log_of(500, drift=0.4)
    ours, fixed = timed(lambda: fit(log), 31), timed(fixed_numpy_task, 31)
    print(
        f"\none more round at 500: {ours * 1e3:.1f} ms; eigenvalues of a 300 x 300 matrix "
        f"{fixed * 1e3:.1f} ms; ratio {ours / fixed:.2f}"
    )
    assert ours / fixed < 4.0


@pytest.mark.parametrize("drift", [0.0, 3.0])
def test_cost_grows_with_rounds_not_faster(drift):
    times = {
        rounds: timed(lambda r=rounds: fit(log_of(r, drift)), 11) for rounds in (100, 1000, 10_000)
    }
    bare = {rounds: timed(lambda r=rounds: log_of(r, drift), 11) for rounds in times}
    net = {rounds: times[rounds] - bare[rounds] for rounds in times}
    print(
        f"\ndrift {drift:g}: " + "; ".join(f"{r} rounds {t * 1e3:.1f} ms" for r, t in net.items())
    )
    assert net[10_000] / net[1000] <= 11.0
