"""The parts of the round in words."""

import re

import numpy as np
import pytest

from knitlog.drift import DriftLog, Reading, Stint, fit
from knitlog.journal.facts import ProjectFacts
from knitlog.report.fit_words import around_the_round, hand_sentences, warning_sentences
from tests.simulator import Work, hand_for, knit


def log_of(second: float) -> DriftLog:
    """Two repeats of 750 mm on 128 stitches; the second change falls at ``second``."""
    rng = np.random.default_rng(3)
    readings = [
        Reading(number, home + float(rng.normal(0.0, 0.4)), change)
        for number in range(1, 15)
        for change, home in ((1, 30.0), (2, second))
    ]
    return DriftLog(tuple(readings), (Stint(1, 128),), repeats=2, repeat_length_mm=750.0)


def test_a_tighter_half_is_told_as_less_yarn() -> None:
    # by hand: 750 mm in 66 stitches against 1500 in 128, 11.364 / 11.719: 3.0 % less; and
    # 750 in 62, 12.097: 3.2 % more.  Readings vary by 0.4, a home's mean of 14 by 0.15 or 0.3 %
    (first, told), (second, other) = around_the_round(fit(log_of(96.0)))
    assert (first, second) == ("Change 1 to change 2", "Change 2 to change 1")
    size, _, words = told.partition(" ")
    assert float(size) == pytest.approx(3.0, abs=0.7)
    assert words.startswith("% less yarn a stitch than the round (")
    size, _, words = other.partition(" ")
    assert float(size) == pytest.approx(3.2, abs=0.7)
    assert words.startswith("% more yarn a stitch than the round (")


def test_even_halves_are_told_as_alike() -> None:
    for _, told in around_the_round(fit(log_of(94.0))):
        assert told.startswith("as much yarn a stitch as the round, to within ")


def test_one_change_a_round_tells_nothing() -> None:
    log = DriftLog((Reading(1, 30.0), Reading(2, 31.0)), (Stint(1, 128),))
    assert list(around_the_round(fit(log))) == []


def test_one_round_is_mostly_a_guess() -> None:
    one = fit(DriftLog((Reading(1, 30.0),), (Stint(1, 128),)))
    assert warning_sentences(one)[0].startswith("Only 1 round is logged")


def test_a_miscount_and_a_change_nobody_logged_are_said() -> None:
    readings = [Reading(r, 30.0 + (14.0 if r == 6 else 0.0)) for r in range(1, 13)]
    readings += [Reading(r, 30.0 + 4.0 * (r - 12)) for r in range(13, 26)]
    found = fit(DriftLog(tuple(readings), (Stint(1, 128),)))
    said = " ".join(warning_sentences(found))
    assert "Round 6 reads stitch 44 where about 30 was expected" in said
    assert "Something changed around round 1" in said


def test_purled_rows_that_take_more_yarn_are_said_so() -> None:
    work = Work(
        stitches=128, repeats=1, repeat_length_mm=1524.0, rounds=24, places=(20.0,), flat=True
    )
    hand = hand_for(work, drift=0.0, tension_noise_sd=0.4, purl_percent=3.0)
    fitted = fit(knit(hand, work, seed=1).to_drift_log())
    (told,) = hand_sentences(fitted, ProjectFacts(stitches=128, flat=True))
    found = re.fullmatch(r"Purl rows take (\d\.\d) % more yarn than knit rows\.", told)
    assert found is not None
    assert float(found[1]) == pytest.approx(3.0, abs=0.8)


def test_an_even_hand_has_nothing_more_to_be_said() -> None:
    log = DriftLog(tuple(Reading(r, 30.0 + r) for r in range(1, 13)), (Stint(1, 128),))
    assert list(hand_sentences(fit(log), ProjectFacts(stitches=128))) == []
