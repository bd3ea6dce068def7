"""How fast the fit is, beside statsmodels and beside a fixed numpy task, in one run.

Run ``python -m pytest -m long tests/benchmarks/test_drift_speed.py -s`` for the table.
Only ratios are asserted, never absolute times.
"""

import time
import warnings
from collections.abc import Callable
from dataclasses import replace
from statistics import median

import numpy as np
import pytest
from statsmodels.tsa.statespace.structural import UnobservedComponents

from knitlog.drift import DriftLog, Fix, fit
from tests.simulator import Knitting, Work, hand_for, knit

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
    return knit(hand_for(Work(), drift), Work(), rounds, rounds).to_drift_log()


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
            model = UnobservedComponents(offsets, "local linear trend")
            return model.fit(disp=False).conf_int()

    ours, reference = timed(lambda: fit(log), 15), timed(theirs, 5)
    print(
        f"\nfit at 500 rounds: {ours * 1e3:.1f} ms; statsmodels {reference * 1e3:.1f} ms; "
        f"{reference / ours:.1f} times faster"
    )
    assert reference / ours >= 8.0


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
    logs = {rounds: log_of(rounds, drift) for rounds in (100, 1000, 10_000)}
    net = {rounds: timed(lambda log=log: fit(log), 11) for rounds, log in logs.items()}
    print(
        f"\ndrift {drift:g}: " + "; ".join(f"{r} rounds {t * 1e3:.1f} ms" for r, t in net.items())
    )
    assert net[10_000] / net[1000] <= 11.0


def with_fixes(rounds: int) -> DriftLog:
    """A stitch taken out after every second round."""
    log = log_of(rounds, drift=1.0)
    return replace(log, fixes=tuple(Fix(r, 1.0) for r in range(2, rounds, 2)))


def with_needles(rounds: int) -> DriftLog:
    """Another needle every fifth round: 4.5 mm and 4 mm by turns."""
    knitting = Knitting(hand_for(Work(), 1.0), Work(), rounds)
    for r in range(1, rounds + 1):
        if r > 1 and r % 5 == 1:
            knitting.change_needle((4.5, 4.0)[r // 5 % 2])
        knitting.knit_round()
    return knitting.to_drift_log()


@pytest.mark.parametrize(("rounds", "busy"), [(200, with_fixes), (400, with_needles)])
def test_a_log_in_which_much_was_done_costs_little_more(rounds, busy):
    log, plain = busy(rounds), log_of(rounds, drift=1.0)
    ours, bare = timed(lambda: fit(log), 15), timed(lambda: fit(plain), 15)
    print(
        f"\n{busy.__name__}, {rounds} rounds: {ours * 1e3:.1f} ms; plain {bare * 1e3:.1f} ms; "
        f"ratio {ours / bare:.2f}"
    )
    assert ours / bare <= 3.0
