"""What the plan predicts is what the fit finds once it has been knitted."""

import numpy as np
import pytest

from knitlog.drift import fit
from knitlog.drift.log import DriftLog, Reading, Stint
from knitlog.plan.normal import normal_estimate
from knitlog.plan.stitch_colours import Fabric, knit_fabric
from knitlog.plan.stitch_count import StitchCountQuestion, candidate_for
from knitlog.plan.yarn_path import carry_on, tension_errors
from knitlog.yarn.colours import ColourRun, ColourSegment
from tests.simulator import Work, hand_for, knit

REPEAT_MM = 1524.0
# two colours, the first filling 45 % of the repeat
RUN = ColourRun((ColourSegment("ice", 686, "#aaccee"), ColourSegment("pine", 838, "#114433")))


def planned(stitches: int, yarn_mm: float, sd_mm: float = 0.0) -> StitchCountQuestion:
    return StitchCountQuestion(
        yarn_per_stitch=normal_estimate(yarn_mm, sd_mm),
        repeat_length_mm=REPEAT_MM,
        needle_mm=3.5,
        repeats=(1,),
    )


@pytest.mark.parametrize(("stitches", "yarn_mm"), [(128, 12.0), (124, 12.0), (96, 15.6)])
def test_knitted_at_the_planned_yarn_the_fit_finds_the_planned_drift(
    stitches: int, yarn_mm: float
) -> None:
    predicted = candidate_for(planned(stitches, yarn_mm), stitches, 1, 3.5).drift.mean
    scores = []
    for seed in range(20):
        work = Work(stitches=stitches, rounds=15, repeat_length_mm=REPEAT_MM)
        found = fit(knit(hand_for(work, predicted), work, seed).to_drift_log())
        scores.append((found.drift.mean - predicted) / found.drift.sd)
        assert found.yarn_per_stitch_mm is not None
        assert found.yarn_per_stitch_mm.mean == pytest.approx(yarn_mm, rel=0.01)
    # standard scores: their mean of 20 is within 0.67 (3 / root 20) and none is past 4
    assert abs(np.mean(scores)) < 0.67
    assert np.max(np.abs(scores)) < 4


def test_yarn_drawn_from_the_plans_spread_drifts_as_the_plan_says() -> None:
    # many knitters, each with her own true yarn per stitch within what the plan was told
    predicted = candidate_for(planned(128, 12.0, 0.12), 128, 1, 3.5).drift
    rng = np.random.default_rng(11)
    held = 0
    for seed in range(60):
        true_drift = REPEAT_MM / rng.normal(12.0, 0.12) - 128  # d = k L / s - N
        work = Work(stitches=128, rounds=20, repeat_length_mm=REPEAT_MM)
        log = knit(hand_for(work, true_drift), work, seed).to_drift_log()
        held += predicted.low95 <= fit(log).drift.mean <= predicted.high95
    # 95 % of 60 is 57; the fit adds a little of its own: fewer than 50 would be about 1 in 5,000
    assert held >= 50


def read_off(fabric: Fabric, *, seen: bool) -> tuple[Reading, ...]:
    """Where ice gives way to pine in each row, read off the picture as a knitter would.

    ``seen`` takes the boundary whichever way round the two colours lie.
    """
    readings = []
    for number, row in enumerate(fabric.cells, start=1):
        mirrored = seen and number % 2 == 0
        first, second = (1, 0) if mirrored else (0, 1)
        edges = np.flatnonzero((row[:-1] == first) & (row[1:] == second)) + 1
        readings.extend(Reading(number, float(edge)) for edge in edges[:1])
    return tuple(readings)


@pytest.mark.parametrize("drift", [-2.0, 0.0, 1.25])
@pytest.mark.parametrize("flat", [False, True])
def test_the_drift_read_off_the_picture_is_the_one_it_was_drawn_with(
    drift: float, flat: bool
) -> None:
    errors = tension_errors(12, 0.3, seed=4)
    path = carry_on(0.0, drift, 128, 12, errors)
    fabric = knit_fabric(RUN, path, flat=flat)
    log = DriftLog(
        readings=read_off(fabric, seen=flat),
        stints=(Stint(1, 128),),
        repeat_length_mm=REPEAT_MM,
        flat=flat,
    )
    found = fit(log)
    # between the first and last reading lie 11 rounds of this drift and unevenness
    drawn = float(np.mean(path.drifts[:-1]))
    assert found.drift.mean == pytest.approx(drawn, abs=0.2)
    assert found.drift.low95 < drawn < found.drift.high95
