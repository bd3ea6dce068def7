import pytest

from knitlog.advice import Remedy
from knitlog.advice.choice import decide
from knitlog.advice.outlook import Course, outlook
from knitlog.advice.pricing import NOTHING, FirstStep

from .stand_in import ask, stand_in


@pytest.mark.parametrize(
    ("drift", "offset", "tolerance", "multiple"),
    [(0.0, 0.0, 3.0, 0), (0.5, 0.0, 3.0, 0), (1.0, 0.0, 3.0, 0), (2.1, 6.0, 3.0, 1)],
)
def test_what_is_knitted_out_costs_what_was_priced(drift, offset, tolerance, multiple) -> None:
    # two ways to the same number: backwards over tables, and forwards a few hundred times
    situation = ask(
        stand_in(drift=drift, drift_sd=0.01, offset=offset, offset_sd=0.05),
        multiple=multiple,
        tolerance=tolerance,
        rounds_planned=48,
    )
    decision = decide(situation)
    step, priced = decision.priced[0]
    (found,) = outlook(decision, (Course(step),), 40, 0)
    cost = found.minutes + 2.0 * 40 * (1 - found.share_in_tolerance)
    assert cost == pytest.approx(priced.cost, rel=0.2, abs=2.0)


def test_the_same_seed_gives_the_same_outlook_and_another_nearly_so() -> None:
    decision = decide(ask(stand_in(drift=1.0, offset=3.0)))
    courses = (Course(NOTHING), Course(FirstStep(0, 3.0, Remedy.RIP_BACK)))
    first, again = outlook(decision, courses, 60, 4), outlook(decision, courses, 60, 4)
    other = outlook(decision, courses, 60, 5)
    assert first == again
    assert first != other
    assert other[0].share_in_tolerance == pytest.approx(first[0].share_in_tolerance, abs=0.1)


def test_never_changing_leaves_a_steady_slide_out_of_tolerance() -> None:
    decision = decide(ask(stand_in(drift=4.0, drift_sd=0.1, offset=8.0)))
    (left,) = outlook(decision, (Course(NOTHING, may_change=False),), 50, 0)
    assert left.share_in_tolerance < 0.2


def test_a_fix_made_counts_with_its_minutes() -> None:
    decision = decide(ask(stand_in(drift=0.0, drift_sd=0.05, offset=4.0), multiple=0))
    step = FirstStep(0, 4.0, Remedy.TAPESTRY)
    mended, left = outlook(decision, (Course(step), Course(NOTHING, wait=99)), 12, 0)
    assert mended.fixes >= 1.0
    assert mended.minutes >= 6.0
    assert left.fixes == 0.0
    assert left.minutes == 0.0
    assert mended.share_in_tolerance > left.share_in_tolerance + 0.2


def test_beyond_forty_rounds_it_goes_on_as_it_went() -> None:
    decision = decide(ask(stand_in(drift=0.5, drift_sd=0.05), multiple=0, rounds_planned=108))
    (short,) = outlook(decision, (Course(NOTHING),), 40, 0)
    (long,) = outlook(decision, (Course(NOTHING),), 100, 0)
    assert long.fixes == pytest.approx(2.5 * short.fixes, rel=0.25)
