"""How narrow can an interval be that holds a steady hand and a tightening one?

    python -m pytest -m long tests/benchmarks/test_drift_frontier.py -s

prints the table kept in RESULTS.md beside this file.
"""

from math import sqrt

import pytest

from tests.benchmarks import drift_frontier
from tests.benchmarks.drift_frontier import frontier

LOGS = 6000


def test_with_one_known_noise_it_is_the_textbook_interval(monkeypatch):
    # a random walk of 14 steps of sd 0.7, read without error: the mean step is known to
    # 0.7 / sqrt(14), its 95 % interval 2 x 1.96 of that (any textbook)
    monkeypatch.setattr(drift_frontier, "NOISE_LOG_SD", 0.0)
    monkeypatch.setattr(drift_frontier, "READING_NOISE", 1e-3)
    found = frontier(15, 2000)
    assert found.steady == pytest.approx(2 * 1.96 * 0.7 / sqrt(14), rel=0.04)
    assert found.both > 1.1 * found.steady  # a tightening hand costs width, whatever is done


@pytest.mark.long
def test_the_frontier():
    print(
        f"\n{LOGS} logs a row\n\n| rounds | gain | held steady | held changing "
        "| steady alone | both |"
    )
    print("| --- " * 6 + "|")
    for rounds in (8, 15, 40):
        for known in (True, False):
            for share in (0.95, 0.985):
                for changing in (0.9, 0.85):
                    found = frontier(
                        rounds,
                        LOGS,
                        gain_known=known,
                        held_steady=share,
                        held_changing=changing,
                    )
                    told = "known" if known else "its spread known"
                    print(
                        f"| {rounds} | {told} | {share} | {changing} | {found.steady:.2f} "
                        f"| {found.both:.2f} |",
                        flush=True,
                    )
                    assert found.both > 0.99 * found.steady
