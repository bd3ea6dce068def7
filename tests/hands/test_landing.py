"""What a fix did is read off the rounds around it."""

from dataclasses import replace

import numpy as np
import pytest

from knitlog.drift import Stint, fit
from knitlog.hands.landing import landings
from tests.simulator import Hand, Knitting, Work, hand_for

MEANT, SHARE = 9.0, 0.72
WORK = Work()
HAND = hand_for(
    WORK, 0.8, miss_stitches=0.0, miss_share=0.0, fix_shares=(("tapestry needle", SHARE),)
)
DID = SHARE * MEANT


def _knitted(hand: Hand, seed: int, rounds: int, fixed_after: int = 0, needle_mm: float = 4.5):
    """Thirty rounds, mended after one of them; another needle from the next on."""
    knitting = Knitting(hand, WORK, seed)
    for number in range(1, rounds + 1):
        knitting.knit_round()
        if number == fixed_after:
            knitting.ease(MEANT, 45)
            if needle_mm != WORK.needle_mm:
                knitting.change_needle(needle_mm)
    return knitting.to_drift_log()


def _landed(seed: int, **more):
    return landings(fit(_knitted(HAND, seed, 30, 14, **more)))[0]


def test_the_interval_holds_what_the_fix_really_did() -> None:
    found = [_landed(seed).did for seed in range(80)]
    held = [e.low95 <= DID <= e.high95 for e in found]
    assert 0.88 <= np.mean(held) <= 1.0
    # and it is told apart from what was meant, on the whole
    assert abs(np.mean([e.mean for e in found]) - DID) < 0.35


def test_a_fix_nobody_read_after_is_not_judged() -> None:
    assert landings(fit(_knitted(HAND, 1, 10, 10)))[0].did is None


def test_a_fix_as_the_needle_changes_is_still_told() -> None:
    log = _knitted(HAND, 3, 30, 14, needle_mm=4.75)
    assert log.stints[1] == Stint(15, 128, 4.75)
    landed = landings(fit(log))[0]
    assert landed.did is not None
    assert landed.did.low95 < DID < landed.did.high95


def test_no_fix_no_landing() -> None:
    assert landings(fit(_knitted(HAND, 1, 10))) == ()


def test_a_round_that_was_miscounted_says_nothing_of_a_fix() -> None:
    log = _knitted(HAND, 2, 24, 14)
    # fifteen stitches off, in the first round read after the fix
    odd = next(r for r in log.readings if r.round == 15)
    wrong = replace(odd, stitch=(odd.stitch + 15.0) % WORK.stitches)
    miscounted = replace(log, readings=tuple(wrong if r is odd else r for r in log.readings))
    left_out = replace(log, readings=tuple(r for r in log.readings if r is not odd))
    found, without = (landings(fit(each))[0] for each in (miscounted, left_out))
    assert [s.round for s in fit(miscounted).suspects] == [15]
    assert found.did is not None
    assert without.did is not None
    assert found.did.mean == pytest.approx(without.did.mean, abs=0.3)
    assert found.did.low95 < DID < found.did.high95
