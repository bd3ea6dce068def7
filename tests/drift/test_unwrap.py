"""The filter that undoes the wrap, against whole matrices and on logs whose turns are known."""

from dataclasses import replace

import numpy as np
import pytest

from knitlog.drift import DriftLog, Fix, Prior, Reading, Stint, TensionAsked, fit
from knitlog.drift.readings import sort_readings
from knitlog.drift.unwrap import _Carried, _Column, unwrap
from tests.simulator import Work, hand_for, knit


@pytest.mark.parametrize("v2", [0.0, 0.05])
@pytest.mark.parametrize(
    "gaps", [[1], [1, 1], [1, 2, 1, 1, 5, 1, 1], [1] * 12], ids=["one", "two", "missing", "plain"]
)
def test_the_filter_s_misses_are_those_of_the_joint_normal(gaps, v2):
    mean, sd, w2, m2 = 1.5, 4.0, 0.8, 0.3
    rounds = np.cumsum(gaps)
    moved = 2.0 * rounds + np.random.default_rng(len(gaps)).normal(0.0, 1.5, len(gaps))
    # Var(offset[s], offset[t]) = m2 + w2 min(s, t) + sd^2 s t + v2 (rounds each change of drift
    # has lasted); and the mean and variance of one normal given others (any text on the
    # multivariate normal)
    lasted = np.maximum(rounds[:, None] - np.arange(rounds[-1]), 0.0)
    cov = m2 + w2 * np.minimum.outer(rounds, rounds) + sd**2 * np.multiply.outer(rounds, rounds)
    # the filter lets the drift of a gap change before it: a change lasts the whole of its gap
    ends = np.searchsorted(rounds, np.arange(rounds[-1]), side="right")
    lasted = np.where(lasted > 0.0, rounds[:, None] - np.append(0, rounds)[ends], 0.0)
    cov = cov + v2 * lasted @ lasted.T + 2.0 * m2 * np.eye(len(gaps))
    own = _Carried(0.0, mean, m2, 0.0, sd * sd, {0: _Column(0.0, 0.0, 0)})
    for i, gap in enumerate(gaps):
        own.pass_rounds(gap, None, w2, v2)
        weight = np.linalg.solve(cov[:i, :i], cov[:i, i])
        foretold = mean * rounds[i] + weight @ (moved[:i] - mean * rounds[:i])
        total = own.pxx + 2.0 * m2
        assert own.x == pytest.approx(foretold, rel=1e-9, abs=1e-9)
        assert total == pytest.approx(cov[i, i] - weight @ cov[:i, i], rel=1e-9)
        own.take(0, own.columns[0], moved[i] - own.x, total)


def log_of(at: list[float], **more) -> DriftLog:
    readings = tuple(Reading(i + 1, stitch % 128.0) for i, stitch in enumerate(at))
    return DriftLog(**{"readings": readings, "stints": (Stint(1, 128),), **more})


def shifts(log: DriftLog) -> list[int]:
    return unwrap(log, sort_readings(log), Prior()).shifts.tolist()


def test_a_drift_nobody_foresees_shows_in_five_rounds():
    # by hand: marks 89 apart on rounds of 64 stitches (a drift of 25, five times the prior's
    # spread), the first at 20: 20, 109, 198 and 287 stitches on, none of them in the third round
    rounds, stitches = (1, 2, 4, 5), (20.0, 109.0 - 64.0, 198.0 - 192.0, 287.0 - 256.0)
    log = DriftLog(tuple(map(Reading, rounds, stitches)), (Stint(1, 64),))
    # read with a drift of -19 instead the third round has a mark that nobody logged
    assert shifts(log) == [0, 0, 1, 1]
    assert fit(log).drift.mean == pytest.approx(25.0, abs=0.5)


@pytest.mark.parametrize("drift", [-20.0, -3.0, 0.0, 0.4, 8.0, 30.0])
def test_a_plain_log_comes_back_however_often_it_wraps(drift):
    for seed in range(6):
        knitting = knit(hand_for(Work(), drift, reading_sd=0.4), Work(), seed, rounds=40)
        log = knitting.to_drift_log()
        # the truth lies within a few stitches of the reading, the next mark N + d away
        read = np.array([r.stitch for r in log.readings])
        at = np.array([r.round - 1 for r in log.readings])
        true = np.rint((np.array(knitting.offsets)[at] + 40.0 - read) / (128.0 + drift)).astype(int)
        assert shifts(log) == (true - true[0]).tolist()


@pytest.mark.parametrize("drift", [-6.0, 5.0, 11.0])
def test_a_mark_that_leaves_a_round_comes_back_in_one_after_the_next(drift):
    # along the strand the marks lie 128 + d apart; a mark in every round but those that none
    # falls in
    marks = 40.0 + (128.0 + drift) * np.arange(60)
    rounds = (marks // 128.0).astype(int)
    kept = np.unique(rounds, return_index=True)[1]
    log = DriftLog(
        tuple(Reading(int(rounds[i]) + 1, float(marks[i] % 128.0)) for i in kept),
        (Stint(1, 128),),
    )
    turns = rounds[kept] - kept
    assert shifts(log) == turns.tolist()


AT = [40.0 + 3.0 * i for i in range(12)]
PLAIN = log_of(AT)
KNOWN = {
    "one reading": (log_of(AT[:1]), [0]),
    "a miscount": (log_of([*AT[:8], AT[8] + 25.0, *AT[9:]]), [0] * 12),
    "a miscount at once": (log_of([AT[0], AT[1] + 25.0, *AT[2:]]), [0] * 12),
    "over the edge": (log_of([x + 70.0 for x in AT]), [0] * 6 + [1] * 6),
    "two changes": (
        log_of(AT, readings=(*PLAIN.readings, *(replace(r, change=2) for r in PLAIN.readings))),
        [0] * 24,
    ),
    "a fix": (log_of([*AT[:6], *(x - 40.0 for x in AT[6:])], fixes=(Fix(6, 40.0),)), [0] * 12),
    "another stitch count": (
        log_of(
            [*AT[:6], *(AT[5] + 3.0 - 9.0 * i for i in range(6))],
            stints=(Stint(1, 128), Stint(7, 140)),
        ),
        [0] * 12,
    ),
    "a tension asked": (
        log_of([*AT[:6], *(AT[6] - 4.0 * i for i in range(6))], tension=(TensionAsked(7, 9.0),)),
        [0] * 12,
    ),
    "a repeat the knitter has settled": (
        log_of(AT, readings=(*PLAIN.readings[:-1], replace(PLAIN.readings[-1], period_shift=1))),
        [*[0] * 11, 1],
    ),
}


@pytest.mark.parametrize(("log", "turns"), KNOWN.values(), ids=KNOWN.keys())
def test_the_turns_of_a_log_in_which_something_happened(log, turns):
    assert shifts(log) == turns


@pytest.mark.parametrize("repeats", [1, 2])
@pytest.mark.parametrize("odd", [0, 1, 4, 9])
def test_one_odd_reading_makes_no_drift_of_half_a_round(odd, repeats):
    # nine readings that hardly move and an odd one, wherever it stands
    at = [49.5, 50.0, 50.5, 50.0, 49.5, 50.0, 50.5, 50.0, 49.5, 50.0]
    at[odd] = 30.0
    assert shifts(log_of(at, repeats=repeats)) == [0] * 10


@pytest.mark.parametrize("repeats", [1, 2])
def test_colours_that_moved_once_are_followed_to_their_new_place(repeats):
    at = [30.0, 30.5, 30.0, 29.5, 30.0, 52.0, 52.5, 52.0, 51.5, 52.0]
    assert shifts(log_of(at, repeats=repeats)) == [0] * 10
