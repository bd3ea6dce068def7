"""What each fix did: how far the colours really moved, against how far they were meant to.

The fit takes a fix at its word.  Here its landing is unknown instead, and the readings
before and after it tell: one generalised least squares over the whole log, the noises as
fitted,

    y[i] = start + sum of drifts up to round r[i] + moves of offset - sum of fixes before r[i]
           + running sum of tension noise + reading noise
    Cov(y[i], y[j]) = w^2 min(t[i], t[j]) + m^2 [i = j]

with a weak prior on every fix about what was meant (generalised least squares with prior:
Durbin & Koopman, section 4.3, in its regression form).
"""

from dataclasses import dataclass

import numpy as np

from knitlog.drift.fit_result import Estimate, FloatArray
from knitlog.drift.fitted import DriftFit
from knitlog.drift.log import Fix
from knitlog.drift.response import stint_change

_WIDE_SHARE, _WIDE_STITCHES = 1.0, 5.0
"""Prior spread of a landing: its whole size, and five stitches."""
_FAR = 1e4
_LONGEST = 1500
"""Readings beyond which a window about the fixes would be needed; a long blanket has 600."""
Z95 = 1.959963984540054


@dataclass(frozen=True, slots=True)
class Landing:
    """One fix, meant and done."""

    fix: Fix
    did: Estimate | None
    """Stitches of offset taken out; None where no round was read before or after it."""
    before: float
    """Offset as the fix was made, stitches (at its round)."""
    after: float
    """What was left of it, stitches."""


def landings(fit: DriftFit) -> tuple[Landing, ...]:
    """Return what each fix of the log did, in the order of their rounds; stitches."""
    fixes = sorted(fit.log.fixes, key=lambda f: f.after_round)
    if not fixes:
        return ()
    used = _good_readings(fit)
    rounds = fit.path.reading_rounds[used]
    offsets = fit.path.reading_offsets[used]
    if len(rounds) > _LONGEST:
        rounds, offsets = rounds[-_LONGEST:], offsets[-_LONGEST:]
    mean, cov, first_fix = _solve(fit, fixes, rounds, offsets)
    told = []
    for number, fix in enumerate(fixes):
        seen = bool((rounds <= fix.after_round).any() and (rounds > fix.after_round).any())
        at = first_fix + number
        before = _offset_at(fit, fix.after_round)
        did = None
        if seen:
            sd = float(np.sqrt(cov[at, at]))
            centre = float(mean[at])
            did = Estimate(centre, sd, centre - Z95 * sd, centre + Z95 * sd)
        told.append(Landing(fix, did, before, before - (did.mean if did else fix.taken_out)))
    return tuple(told)


def _good_readings(fit: DriftFit) -> np.ndarray:
    bad = {(s.round, s.change) for s in fit.suspects}
    pairs = zip(fit.path.reading_rounds, fit.path.reading_changes, strict=True)
    return np.array([(int(r), int(c)) not in bad for r, c in pairs], dtype=bool)


def _offset_at(fit: DriftFit, round_number: int) -> float:
    place = int(np.clip(round_number - fit.path.rounds[0], 0, len(fit.path.rounds) - 1))
    return float(fit.path.mean[place])


def _solve(
    fit: DriftFit, fixes: list[Fix], rounds: np.ndarray, offsets: FloatArray
) -> tuple[FloatArray, FloatArray, int]:
    """Return mean and covariance of all that moved the colours, and the first fix's place."""
    log, start = fit.log, int(rounds.min())
    stints = fit.stint_drifts
    ends = [s.first_round for s in stints[1:]] + [int(rounds.max()) + 1]
    columns: list[FloatArray] = [np.ones(len(rounds))]
    centre, spread = [0.0], [_FAR]
    for stint, end in zip(stints, ends, strict=True):
        # rounds from the first one read up to r that belong to this stint
        first = max(stint.first_round, start + 1)
        columns.append(np.clip(rounds, first - 1, max(end - 1, first - 1)) - (first - 1.0))
        centre.append(stint.drift.mean - log.target_drift)
        spread.append(0.1 * stint.stitches)
    for old, new in zip(log.stints, log.stints[1:], strict=False):
        columns.append((rounds >= new.first_round).astype(float))
        centre.append(0.0)
        spread.append(stint_change(old, new, log, fit.prior).step_sd)
    for jump in (b for b in fit.breaks if b.kind == "jump"):
        columns.append((rounds >= jump.round).astype(float))
        centre.append(jump.size)
        spread.append(_FAR)
    first_fix = len(columns)
    for fix in fixes:
        columns.append(-(rounds > fix.after_round).astype(float))
        centre.append(fix.taken_out)
        spread.append(_WIDE_SHARE * abs(fix.taken_out) + _WIDE_STITCHES)
    design = np.column_stack(columns)
    t = (rounds - start).astype(float)
    w2, m2 = fit.tension_noise_sd**2, fit.reading_noise_sd**2
    variance = w2 * np.minimum.outer(t, t) + m2 * np.eye(len(t))
    pushed = np.linalg.solve(variance, np.column_stack((design, offsets)))
    precision = 1.0 / np.array(spread) ** 2
    cov = np.linalg.inv(design.T @ pushed[:, :-1] + np.diag(precision))
    mean = cov @ (design.T @ pushed[:, -1] + precision * np.array(centre))
    return mean, cov, first_fix
