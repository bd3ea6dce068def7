"""How long the advice takes on a laptop's processor, beside a fixed numpy task, in one run.

Run ``python -m pytest -m long tests/benchmarks/test_advice_speed.py -s`` for the table.  The
advice is worked out as every command and screen does: with what was said a step ago, and the
step before that, each with a fit of its own.  Only ratios are asserted, never absolute times.
"""

import time
from collections.abc import Callable

import numpy as np
import pytest

from knitlog.advice import Advice, Situation, advise
from knitlog.analysis.last_time import remedy_last_time
from knitlog.drift import fit
from tests.simulator import Work, hand_for, knit

NEEDLES_MM = (3.75, 4.0, 4.5, 5.0)
MOST = 8.0
"""Times ten products of matrices of 300 by 300: 100 ms where those take 12.5 ms."""


def situation_of(rounds: int) -> Situation:
    """A slide of 0.3 stitches a round, with four needles to choose from."""
    log = knit(hand_for(Work(), 0.3), Work(), rounds, rounds).to_drift_log()
    return Situation(
        fit=fit(log),
        stitches=log.stints[-1].stitches,
        repeats=log.repeats,
        repeat_length_mm=log.repeat_length_mm,
        needle_mm=4.5,
        needles_owned_mm=NEEDLES_MM,
        multiple=8,
        rounds_planned=rounds + 70,
    )


def told(situation: Situation) -> Advice:
    """The advice, the step before included."""
    return advise(situation, previous=remedy_last_time(situation))


def best_of(runs: int, *tasks: Callable[[], object]) -> list[float]:
    """Processor seconds of the quickest run of each task, run in turn after one to warm up."""
    for task in tasks:
        task()
    best = [np.inf] * len(tasks)
    for _ in range(runs):
        for i, task in enumerate(tasks):
            start = time.process_time()
            task()
            best[i] = min(best[i], time.process_time() - start)
    return best


def beside_a_fixed_task(rounds: int, runs: int) -> float:
    """Times a fixed task the advice takes after so many rounds; prints both."""
    matrix = np.random.default_rng(0).standard_normal((300, 300))
    situation = situation_of(rounds)
    taken, last, alone, fixed = best_of(
        runs,
        lambda: told(situation),
        lambda: remedy_last_time(situation),
        lambda: advise(situation),
        lambda: [matrix @ matrix for _ in range(10)],
    )
    print(
        f"\nadvice at {rounds} rounds: {1e3 * taken:.0f} ms of processor time ({1e3 * last:.0f} "
        f"for the step before, {1e3 * alone:.0f} without it); ten products of 300 by 300: "
        f"{1e3 * fixed:.1f} ms; ratio {taken / fixed:.1f}"
    )
    return taken / fixed


def test_a_small_sample_is_not_far_off() -> None:
    assert beside_a_fixed_task(12, runs=3) < 2 * MOST


@pytest.mark.long
@pytest.mark.parametrize("rounds", [12, 500])
def test_advice_keeps_pace_with_the_needles_however_long_the_log(rounds: int) -> None:
    assert beside_a_fixed_task(rounds, runs=15) < MOST
