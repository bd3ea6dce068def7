import numpy as np
import pytest

from knitlog.advice import Remedy
from knitlog.advice.choice import decide
from knitlog.advice.pricing import NOTHING, FirstStep

from .stand_in import ask, stand_in


def test_a_first_step_costs_its_own_work() -> None:
    decision = decide(ask(stand_in(drift=2.0, offset=4.0)))
    pricing = decision.pricing
    assert pricing.price_now(NOTHING) == 0.0
    assert pricing.price_now(FirstStep(0, 4.0, Remedy.TAPESTRY)) == pytest.approx(6.0)
    # 20 stitches ripped: 1 + 20 * 0.15
    assert pricing.price_now(FirstStep(0, 2.0, Remedy.RIP_BACK)) == pytest.approx(4.0)
    way = next(i for i, w in enumerate(decision.workings.open) if w.stitches == 130)
    assert pricing.price_now(FirstStep(way)) == pytest.approx(3.0 + 2 * 0.5)


def test_deciding_later_on_readings_is_dearer_than_on_the_truth_itself() -> None:
    pricing = decide(ask(stand_in(drift=1.0, drift_sd=1.0, offset=2.0))).pricing
    told = float(pricing.truths.weight @ pricing.by_truth(NOTHING))
    assert pricing.later(NOTHING, 1).cost > told


def test_what_may_be_found_later_is_what_the_drift_makes_of_it() -> None:
    decision = decide(ask(stand_in(drift=1.0, drift_sd=0.1, offset=2.0, offset_sd=0.3)))
    later = decision.pricing.later(NOTHING, 3)
    assert later.chance.sum() == pytest.approx(1.0)
    # 2 + 3 * 1
    assert later.chance @ later.offsets == pytest.approx(5.0, abs=0.05)
    spread = np.sqrt(later.chance @ (later.offsets - 5.0) ** 2)
    # sqrt(offset 0.3^2 + (3 * 0.1)^2 + 3 w^2 + what a reading leaves unknown)
    assert 1.2 < spread < 1.5


def test_the_less_is_known_the_more_a_wrong_change_costs() -> None:
    def cost(sd: float) -> float:
        decision = decide(ask(stand_in(drift=2.0, drift_sd=sd, offset=6.0)))
        return decision.priced[0][1].cost

    assert cost(0.1) < cost(0.6) < cost(1.5)
