"""What a fix did is read off the rounds around it."""

from dataclasses import replace

import numpy as np

from knitlog.drift import Fix, Stint, fit
from knitlog.hands import landings
from knitlog.simulate.knitter import Knitter, Work, knit

MEANT, DID = 9.0, 6.5


def _landed(seed: int, **more):
    work = Work(rounds=30, fixes=(Fix(14, DID),), **more)
    made = knit(Knitter(drift=0.8), work, seed)
    log = replace(made.log, fixes=(Fix(14, MEANT),))
    return landings(fit(log))[0]


def test_the_interval_holds_what_the_fix_really_did() -> None:
    found = [_landed(seed).did for seed in range(80)]
    held = [e.low95 <= DID <= e.high95 for e in found]
    assert 0.88 <= np.mean(held) <= 1.0
    # and it is told apart from what was meant, on the whole
    assert abs(np.mean([e.mean for e in found]) - DID) < 0.35


def test_a_fix_nobody_read_after_is_not_judged() -> None:
    made = knit(Knitter(), Work(rounds=10), 1)
    landed = landings(fit(replace(made.log, fixes=(Fix(10, 4.0),))))[0]
    assert landed.did is None


def test_a_fix_as_the_needle_changes_is_still_told() -> None:
    landed = _landed(3, needle_mm=4.0, stints=((Stint(15, 128, 4.5), -2.0),))
    assert landed.did is not None
    assert landed.did.low95 < DID < landed.did.high95


def test_no_fix_no_landing() -> None:
    assert landings(fit(knit(Knitter(), Work(rounds=10), 1).log)) == ()
