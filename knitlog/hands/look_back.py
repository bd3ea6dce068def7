"""Boiling one finished project down to records.

The project is fitted once more under a belief so loose about needle changes that each
stint speaks for itself; what the belief about the noises put in is taken out again
(precisions subtract: for normal beliefs, posterior = prior + data).
"""

from itertools import pairwise
from math import log as ln
from math import sqrt

import numpy as np

from knitlog.drift import DriftFit, DriftLog, Prior, fit
from knitlog.drift.fit_result import Estimate, StintDrift
from knitlog.drift.prior import REFERENCE_STITCHES
from knitlog.drift.response import yarn_thickness_mm
from knitlog.hands.landing import landings
from knitlog.hands.records import (
    FinishedProject,
    FixRecord,
    Materials,
    Measured,
    NeedleStep,
    NoiseRecord,
    SittingRun,
    StintRecord,
)
from knitlog.yarn.geometry import needle_response_factor

LOOSE = Prior(
    needle_response_log_sd=1.5,
    stint_sd_share=0.06,
    count_sd_share=0.06,
    drift_sd_share=0.12,
    pattern_nodes=((6.0, 1.0),),
    tension_response_sd=3.0,
)
"""What a project is looked back on with: it alone should speak."""
_FEWEST_ROUNDS = 5
"""Rounds a stint needs to say anything of yarn per stitch."""
_FEWEST_FOR_NOISE = 8
_FEWEST_SITTINGS = 3
_LEAST_SHARE = 0.1
"""The data must narrow the log of a noise by at least this share of its variance to count."""
_FIX_MISS_STITCHES, _FIX_MISS_SHARE = 0.3, 0.15
_FEWEST_FOR_CREEP = 15
_FEWEST_ROWS = 6
_SAYS_NOTHING = 1.5
"""Spread of a tension's answer, as a share of what was asked, beyond which it says nothing."""
_SMALLEST_FIX = 2.0
"""Stitches; below, a fix's landing says next to nothing of its share."""


def look_back(log: DriftLog, name: str, materials: Materials) -> FinishedProject:
    """Return what ``log`` says of the knitter's hands.

    Args:
        log: a finished project.
        name: what to call it.
        materials: its needle, gauge, fibre and stitch pattern, as far as known.

    Raises:
        LogError: the log cannot be fitted.

    """
    found = fit(log, LOOSE)
    return FinishedProject(
        name=name,
        materials=materials,
        stints=_stints(found, materials),
        steps=_steps(found),
        noise=_noise(found),
        sittings=_sittings(found),
        fixes=tuple(
            FixRecord(la.fix.kind, la.fix.taken_out, la.did.mean, la.did.sd)
            for la in landings(found)
            if la.did is not None and abs(la.fix.taken_out) >= _SMALLEST_FIX
        ),
        creep_log_likelihood=_creep(found),
        purl_percent=_purl(found),
        tension_answer=_tension_answer(found),
    )


def _long_enough(found: DriftFit) -> list[StintDrift]:
    return [s for s in found.stint_drifts if s.last_round - s.first_round + 1 >= _FEWEST_ROUNDS]


def _stints(found: DriftFit, materials: Materials) -> tuple[StintRecord, ...]:
    log = found.log
    if log.repeat_length_mm is None:
        return ()
    first_needle = log.stints[0].needle_mm
    records = []
    for stint in _long_enough(found):
        # k L = (N + d) s
        whole = stint.stitches + stint.drift.mean
        yarn = log.repeats * log.repeat_length_mm / whole
        same = stint.needle_mm == first_needle
        records.append(
            StintRecord(
                first_round=stint.first_round,
                rounds=stint.last_round - stint.first_round + 1,
                stitches=stint.stitches,
                needle_mm=stint.needle_mm,
                yarn_per_stitch_mm=yarn,
                yarn_per_stitch_sd_mm=yarn * stint.drift.sd / whole,
                gauge_stitches_per_cm=materials.gauge_stitches_per_cm if same else None,
            )
        )
    return tuple(records)


def _steps(found: DriftFit) -> tuple[NeedleStep, ...]:
    thickness = yarn_thickness_mm(found.log)
    steps = []
    for old, new in pairwise(_long_enough(found)):
        if not (new.logged and old.needle_mm and new.needle_mm) or old.needle_mm == new.needle_mm:
            continue
        before, after = _log_yarn(old), _log_yarn(new)
        steps.append(
            NeedleStep(
                # s2 / s1 = (D2 + y) / (D1 + y)
                expected_log=ln(needle_response_factor(old.needle_mm, new.needle_mm, thickness)),
                answer_log=after.mean - before.mean,
                answer_sd=sqrt(before.sd**2 + after.sd**2),
            )
        )
    return tuple(steps)


def _log_yarn(stint: StintDrift) -> Estimate:
    """Log of yarn per stitch but for the constant k L."""
    whole = stint.stitches + stint.drift.mean
    sd = stint.drift.sd / whole
    return Estimate(-ln(whole), sd, 0.0, 0.0)


def _noise(found: DriftFit) -> NoiseRecord | None:
    if found.rounds_logged < _FEWEST_FOR_NOISE:
        return None
    draws = found.draws(2000, seed=0)
    prior = found.prior
    scale = 0.5 * ln(found.stitches / REFERENCE_STITCHES)
    tension = _without_belief(
        np.log(draws.tension_noise_sd) - scale, ln(prior.tension_noise_median), prior.noise_log_sd
    )
    reading = _without_belief(
        np.log(draws.reading_noise_sd), ln(prior.reading_noise_median), prior.noise_log_sd
    )
    return NoiseRecord(*tension, *reading)


def _without_belief(draws: np.ndarray, centre: float, sd: float) -> tuple[float, float]:
    """Return mean and sd of what the data alone say of a normal quantity."""
    held = 1.0 / max(float(np.var(draws)), 1e-6)
    believed = 1.0 / sd**2
    own = max(held - believed, _LEAST_SHARE * believed)
    return (held * float(np.mean(draws)) - (held - own) * centre) / own, sqrt(1.0 / own)


def _creep(found: DriftFit) -> tuple[float, ...]:
    """Return the log likelihood of each of the creeps believed in, up to a constant."""
    if found.rounds_logged < _FEWEST_FOR_CREEP:
        return ()
    draws = found.draws(2000, seed=0)
    creeps, believed = (np.array(v) for v in zip(*found.prior.creep_nodes, strict=True))
    share = draws.drift_creep_sd / draws.tension_noise_sd
    nearest = np.argmin(np.abs(share[:, None] - creeps[None, :]), axis=1)
    # half a draw for each, so that none is ruled out by not having been drawn
    held = (np.bincount(nearest, minlength=len(creeps)) + 0.5) / (len(share) + 0.5 * len(creeps))
    # posterior = prior x likelihood
    told: list[float] = np.log(held / believed).tolist()
    return tuple(told)


def _purl(found: DriftFit) -> Measured | None:
    """Return how much more the even rows took than the odd ones, %."""
    pattern = found.pattern
    if not found.log.flat or pattern is None or pattern.rounds != 2:
        return None
    if found.rounds_logged < _FEWEST_ROWS:
        return None
    right, wrong = pattern.percent
    # the two sum to zero: one is minus the other
    return Measured(wrong.mean - right.mean, wrong.sd + right.sd)


def _tension_answer(found: DriftFit) -> Measured | None:
    if not any(t.percent for t in found.log.tension):
        return None
    answer, believed = found.tension_response, found.prior.tension_response_mean
    # precisions subtract
    held, prior = 1.0 / answer.sd**2, 1.0 / found.prior.tension_response_sd**2
    own = held - prior
    if own <= 1.0 / _SAYS_NOTHING**2:
        return None
    return Measured((held * answer.mean - prior * believed) / own, sqrt(1.0 / own))


def _sittings(found: DriftFit) -> tuple[SittingRun, ...]:
    sittings = {r.round: r.sitting for r in found.log.readings if r.sitting is not None}
    bad = {s.round for s in found.suspects}
    offsets: dict[int, list[float]] = {}
    path = found.path
    for number, offset in zip(path.reading_rounds, path.reading_offsets, strict=True):
        if int(number) in sittings and int(number) not in bad:
            offsets.setdefault(int(number), []).append(float(offset))
    runs = []
    for place, stint in enumerate(found.stint_drifts):
        later = found.stint_drifts[place + 1 :]
        end = later[0].first_round - 1 if later else found.last_round
        rounds = [r for r in sorted(offsets) if stint.first_round <= r <= end]
        # the last round read in each sitting
        last = {sittings[r]: r for r in rounds}
        ends = sorted(last.values())
        if len(ends) <= _FEWEST_SITTINGS:
            continue
        moved, known = [], []
        for a, b in pairwise(ends):
            taken = [f.taken_out for f in found.log.fixes if a <= f.after_round < b]
            moved.append(float(np.mean(offsets[b]) - np.mean(offsets[a])) + sum(taken))
            known.append(
                sqrt(sum(_FIX_MISS_STITCHES**2 + (_FIX_MISS_SHARE * t) ** 2 for t in taken))
            )
        columns = np.mean([len(offsets[r]) for r in ends])
        runs.append(
            SittingRun(
                stitches=stint.stitches,
                rounds=tuple(b - a for a, b in pairwise(ends)),
                moved=tuple(moved),
                known_sd=tuple(known),
                tension_sd=found.tension_noise_sd,
                reading_sd=found.reading_noise_sd / sqrt(float(columns)),
            )
        )
    return tuple(runs)
