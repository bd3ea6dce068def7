"""My hands against no history: the errors of the next project's forecasts must shrink.

A small sample always runs; the long one prints the table of HANDS_RESULTS.md.
"""

import numpy as np
import pytest

from tests.benchmarks.hands_trials import cases, rms, table


def test_three_past_projects_are_worth_having() -> None:
    found = list(cases(24, seed=11, past=(0, 3)))
    first = rms(np.array([c.first_drift for c in found]))
    after = rms(np.array([c.after_change for c in found]))
    assert first[1] < 0.75 * first[0]
    assert after[1] < 0.8 * after[0]


@pytest.mark.long
def test_the_table() -> None:
    found = list(cases(400, seed=7))
    print()
    print(table(found))
    first = rms(np.array([c.first_drift for c in found]))
    after = rms(np.array([c.after_change for c in found]))
    three = rms(np.array([c.three_rounds_in for c in found]))
    for errors in (first, after):
        # shrinks with 1, 3 and 10 projects, against none
        assert errors[1] < errors[0]
        assert errors[2] < errors[1]
        assert errors[3] < errors[2]
    assert three[3] < three[0]
    held = np.mean([c.first_held for c in found], axis=0)
    held_after = np.mean([c.after_held for c in found], axis=0)
    assert np.all(held[1:] > 0.9)
    assert np.all(held_after > 0.9)
