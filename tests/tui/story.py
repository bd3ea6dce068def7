"""One invented evening, frozen: the same project, fit and advice whenever it is drawn.

The keeper of a mountain hut knits a hat.  She slid for eight rounds, eased nine
stitches back, left round 12 unread, changed to 5 mm needles at round 16, and
misread round 20.
"""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from knitlog.advice import Advice, Refusal
from knitlog.analysis.analysis import Analysis, drift_log
from knitlog.analysis.next_round import ExpectedPlace, NextRound
from knitlog.analysis.past import USUAL
from knitlog.analysis.standing import Tone, Unexplained
from knitlog.drift.fit_result import DriftPath, Estimate, Forecast, OffsetPath, StintDrift, Suspect
from knitlog.journal import actions
from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library
from knitlog.journal.project import ProjectState

from .conftest import EASED, HUT_HAT, advice_of, option

EVENING = datetime(2031, 1, 14, 20, 15, tzinfo=UTC)
ROUNDS = 22


def offsets() -> list[float]:
    """Stitches from home of rounds 1 to 22, made up."""
    slide = [0.0, 2.4, 5.1, 7.4, 9.8, 12.6, 15.0, 17.5]
    eased = [10.9, 13.5, 16.2, 18.6, 21.4, 23.9, 26.1]
    mended = [26.5, 26.2, 26.9, 27.1, 26.6, 27.3, 27.0]
    return slide + eased + mended


def write(library: Library) -> Path:
    """Write the journal, a round every nine minutes."""
    journal = library.create("Hut hat, blue and rust", make_facts(**HUT_HAT), clock=lambda: EVENING)
    for number, offset in enumerate(offsets(), start=1):
        at = EVENING + timedelta(minutes=9 * number)
        journal.clock = lambda at=at: at
        if number == 9:
            actions.make_fix(journal, 9.0)
        if number == 16:
            actions.change_needle(journal, 5.0)
        if number == 12:
            continue
        misread = 11.0 if number == 20 else 0.0
        actions.log_round(journal, [37 + offset + misread], round_number=number)
        if number == 4:
            actions.add_note(journal, "by the new lamp", round_number=4)
    return journal.path


def analyse(state: ProjectState, **_: Any) -> Analysis:
    """A look with made-up numbers, so that no picture moves when a model is bettered."""
    if not state.entries:
        return Analysis(state, USUAL, Tone.WAITING)
    found = np.array(offsets())
    read = np.array([n for n in range(1, ROUNDS + 1) if n != 12])
    seen = found[read - 1] + np.where(read == 20, 11.0, 0.0)
    fit: Any = SimpleNamespace(
        path=OffsetPath(
            rounds=np.arange(1, ROUNDS + 1),
            mean=found + np.where(np.arange(1, ROUNDS + 1) % 5 == 0, 1.0, 0.0),
            sd=np.full(ROUNDS, 0.5),
            reading_rounds=read,
            reading_changes=np.ones(len(read), dtype=np.int64),
            reading_offsets=seen,
            homes=np.full(ROUNDS, 37.0),
        ),
        drift_path=_drift_path(),
        forecast=_forecast,
        suspects=(Suspect(20, 1, 74.6, 63.6, 0.97),),
        breaks=(),
        direction="in line",
        drift=Estimate(0.2, 0.2, -0.2, 0.6),
        offset=Estimate(27.0, 0.4, 26.2, 27.8),
        offset_now=27.0,
        yarn_per_stitch_mm=Estimate(11.89, 0.02, 11.85, 11.93),
        target_yarn_per_stitch_mm=11.91,
        yarn_error_percent=Estimate(-0.2, 0.2, -0.5, 0.2),
        tension_noise_sd=0.6,
        reading_noise_sd=0.4,
        rounds_logged=ROUNDS - 1,
        last_round=ROUNDS,
        stint_drifts=(
            StintDrift(1, 15, 128, 4.5, Estimate(2.5, 0.1, 2.3, 2.7), logged=True),
            StintDrift(16, 22, 128, 5.0, Estimate(0.2, 0.2, -0.2, 0.6), logged=True),
        ),
        slow_change=None,
        pattern=None,
        stitches=128,
        log=drift_log(state),
        alternatives=(),
        sections=(),
    )
    return Analysis(
        state,
        USUAL,
        Tone.ACT,
        fit=fit,
        next=NextRound(
            ROUNDS + 1, (ExpectedPlace(1, 64.0, 62.0, 66.0, place=37.0, low=34.0, high=40.0),)
        ),
        questions=(Unexplained(fit.suspects[0], 20),),
    )


def advised(found: Analysis, **_: Any) -> Analysis:
    """The same look with made-up advice."""
    return replace(found, advice=advice())


def _drift_path() -> DriftPath:
    rounds = np.arange(1, ROUNDS + 1)
    mean = np.where(rounds < 16, 2.5, 0.2)
    return DriftPath(rounds, mean, mean - 0.4, mean + 0.4)


def _forecast(rounds_ahead: int) -> Forecast:
    ahead = np.arange(1, rounds_ahead + 1)
    mean, sd = 27.0 + 0.2 * ahead, 0.6 * np.sqrt(ahead)
    return Forecast(ROUNDS + ahead, mean, sd, mean - 1.96 * sd, mean + 1.96 * sd)


def advice() -> Advice:
    """What to do, made up."""
    return advice_of(
        option(
            "tapestry needle",
            details={**EASED, "taken_out_stitches": 4.0, "over_stitches": 20},
            share_in_tolerance=0.81,
            expected_fixes=2.0,
            minutes=12.0,
        ),
        option(
            "rip back",
            details={
                **EASED,
                "fix_by": "rip back",
                "taken_out_stitches": 9.0,
                "over_stitches": 90,
                "share_of_stitch_percent": 10.0,
            },
            share_in_tolerance=0.58,
            expected_fixes=3.2,
            minutes=44.0,
        ),
        option(
            "change stitch count",
            details={"stitches": 132, "stitches_added": 4, "every_stitches": 32},
            share_in_tolerance=0.22,
            minutes=5.0,
            size_change_percent=3.1,
        ),
        option("carry on", share_in_tolerance=0.02, minutes=0.0, expected_fixes=0),
        option("change needle", feasible=False, refusal=Refusal.NO_OTHER_NEEDLE),
        look_again_round=27,
        drift=0.2,
        offset=27.0,
    )


def freeze(monkeypatch: pytest.MonkeyPatch) -> None:
    """Put the story's numbers in the place of the fit and the advice, and stop the clock."""
    monkeypatch.setattr("knitlog.analysis.analysis.analyse", analyse)
    monkeypatch.setattr("knitlog.analysis.analysis.advised", advised)
    tomorrow = EVENING + timedelta(days=1)
    monkeypatch.setattr("knitlog.tui.screens.projects.now", lambda: tomorrow)


__all__ = ["EVENING", "ROUNDS", "advice", "analyse", "freeze", "write"]
