import numpy as np
import pytest

from knitlog.advice.choice import believed
from knitlog.advice.truths import truths
from knitlog.advice.workings import workings

from .stand_in import ask, stand_in


def weighed(fit, **facts):
    situation = ask(fit, **facts)
    belief = believed(situation, fit.draws(200, 0))
    found = workings(situation, belief).open
    return belief, found, truths(belief, found, 0.0)


def test_the_truths_average_to_what_is_believed() -> None:
    belief, found, true = weighed(
        stand_in(drift=1.0, drift_sd=0.4, offset=3.0, correlation=0.5),
        needles_owned_mm=(4.0, 4.5, 5.0),
    )
    assert true.weight.sum() == pytest.approx(1.0)
    assert true.drift.shape == (len(found), len(true.weight))
    for row, way in zip(true.drift, found, strict=True):
        mean = true.weight @ row
        assert mean == pytest.approx(way.drift(0.0), abs=1e-9)
        assert np.sqrt(true.weight @ (row - mean) ** 2) == pytest.approx(way.turn.sd, rel=1e-6)
    spread = true.weight @ (true.offset - belief.offset) ** 2 + true.offset_sd**2
    assert true.weight @ true.offset == pytest.approx(belief.offset)
    assert spread == pytest.approx(belief.offset_var, rel=1e-6)


def test_one_needle_leaves_one_thing_unknown() -> None:
    _, _, true = weighed(stand_in())
    assert (true.answer == 0.0).all()
