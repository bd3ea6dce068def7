import pytest

from knitlog.advice.belief import believe
from knitlog.advice.ways import Way, Ways, open_ways, size_change_percent
from knitlog.drift import Stint

from .stand_in import ask, stand_in


def open_to(fit, **facts) -> Ways:
    situation = ask(fit, **facts)
    return open_ways(situation, believe(situation, 200, 0))


def every(ways: Ways) -> list[Way]:
    return [*ways.counts, *ways.needles, *ways.both]


def test_the_count_that_stops_the_drift_comes_first() -> None:
    # N + d stays: 128 + 3 stitches have no drift
    first = open_to(stand_in(drift=3.0)).counts[0]
    assert first.stitches == 131
    assert first.drift(0.0) == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize("multiple", [2, 4, 8])
def test_the_pattern_multiple_is_kept(multiple: int) -> None:
    found = open_to(stand_in(drift=5.0), multiple=multiple, needles_owned_mm=(4.0, 4.5, 5.0))
    assert found.counts
    assert all(w.stitches % multiple == 0 for w in every(found))


def test_a_fixed_count_stays() -> None:
    found = open_to(stand_in(drift=5.0), multiple=0, needles_owned_mm=(4.0, 4.5, 5.0))
    assert {w.stitches for w in every(found)} == {128}
    assert {w.needle_mm for w in every(found)} == {4.0, 5.0}


def test_a_count_changed_once_stays_unless_she_allows_more() -> None:
    fit = stand_in(drift=3.0)
    object.__setattr__(fit.log, "stints", (Stint(1, 126, 4.5), Stint(3, 128, 4.5)))
    assert open_to(fit).counts == ()


def test_only_needles_she_owns() -> None:
    found = open_to(stand_in(drift=9.0), multiple=0, needles_owned_mm=(3.5, 4.5))
    assert {w.needle_mm for w in every(found)} <= {3.5}


def test_the_size_she_allows_is_kept_and_what_is_too_big_is_remembered() -> None:
    found = open_to(
        stand_in(drift=9.0),
        multiple=0,
        needles_owned_mm=(4.5, 5.0),
        max_size_change_percent=5.0,
    )
    assert every(found) == []
    assert [w.needle_mm for w in found.too_big] == [5.0]


def test_a_larger_needle_is_wider_by_the_loop_law() -> None:
    # (5 + 2.2) / (4.5 + 2.2) = 1.0746 (Munden: width goes with loop length)
    situation = ask(stand_in())
    assert size_change_percent(situation, 5.0, 128) == pytest.approx(7.46, abs=0.01)
    assert size_change_percent(situation, 4.5, 132) == pytest.approx(3.125)
