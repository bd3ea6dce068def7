"""From a log and an account of what happened to a regression.

An *account* is one story of the log: which readings are miscounts, where the drift
changed unlogged, where the offset jumped.  The fit compares accounts by their
evidence; this module writes each down as numbers.
"""

from dataclasses import dataclass, field, replace
from math import sqrt
from typing import Literal

import numpy as np

from knitlog.drift.likelihood import Regression
from knitlog.drift.log import DriftLog, Stint
from knitlog.drift.prior import Prior
from knitlog.drift.readings import Sorted
from knitlog.drift.response import stint_change
from knitlog.drift.result import FloatArray, IntArray

Kind = Literal["miscount", "break", "jump"]

_VAGUE = 1e3
"""Spread of a home nobody stated, stitches."""
_MOST_SITTINGS = 24
"""Late sittings that get a drift of their own; earlier ones count as tension noise."""
_EXACT = 1e-3
"""Spread of a home the knitter stated, stitches."""


@dataclass(frozen=True, slots=True)
class Account:
    """One story of what happened."""

    miscounts: frozenset[int] = field(default=frozenset())
    """Readings (in knitting order) that say nothing."""
    breaks: frozenset[int] = field(default=frozenset())
    """First rounds of a drift nobody logged, as path index."""
    jumps: frozenset[int] = field(default=frozenset())
    """First rounds after a jump nobody logged, as path index."""

    @property
    def size(self) -> int:
        """Return how many things happened."""
        return len(self.miscounts) + len(self.breaks) + len(self.jumps)

    def toggled(self, kind: Kind, where: int) -> "Account":
        """Return the account with one more thing in it, or one less where it was there."""
        return Account(
            miscounts=self.miscounts ^ {where} if kind == "miscount" else self.miscounts,
            breaks=self.breaks ^ {where} if kind == "break" else self.breaks,
            jumps=self.jumps ^ {where} if kind == "jump" else self.jumps,
        )


@dataclass(frozen=True, slots=True)
class Segment:
    """A run of rounds with one drift."""

    start: int
    """Path index of its first round."""
    stint: int
    """Index into the log's stints."""
    logged: bool


@dataclass(frozen=True, slots=True)
class Timeline:
    """The unwrapped readings on their path."""

    readings: Sorted
    y: FloatArray
    """Unwrapped positions less the target's own drift, stitches, shape (m,)."""
    time: FloatArray
    """Rounds since the first, shape (m,); fractions where a turn was lost in a wrap."""
    at: IntArray
    """The same as a path index."""
    first_round: int
    last: int
    """Path index of the last logged round."""


def timeline(log: DriftLog, readings: Sorted, shifts: IntArray, *, by_strand: bool) -> Timeline:
    """Lay the readings out along the path.

    A wrap can be counted two ways.  By the round (``by_strand`` false): the knitter
    follows one turn of the colours a round and writes its position modulo the count.  By
    the strand: she writes what she finds in each round; every visible repeat the
    colours have gained then stands for 1/k of a round in which that turn did not fall.
    """
    first = int(readings.round[0])
    time = (readings.round - first).astype(float)
    if by_strand:
        time = time - shifts * readings.period / readings.stitches
    time = np.maximum(time, 0.0)
    y = readings.stitch + shifts * readings.period - log.target_drift * time
    at = np.rint(time).astype(np.int64)
    return Timeline(readings, y, time, at, first, int(at.max()))


def turns_move_on(line: Timeline) -> bool:
    """Tell whether every change's readings fall on later and later turns of the colours."""
    for change in range(len(line.readings.changes)):
        mine = line.readings.change == change
        if np.any(np.diff(line.at[mine]) < 1):
            return False
    return True


def _index_of_round(line: Timeline, number: int) -> int:
    """Return the path index at which round ``number`` begins to tell."""
    place = int(np.searchsorted(line.readings.round, number))
    if place >= len(line.at):
        return line.last + max(1, number - int(line.readings.round[-1]))
    lost = int(line.readings.round[place]) - line.first_round - int(line.at[place])
    return number - line.first_round - lost


def segments(log: DriftLog, line: Timeline, account: Account) -> tuple[Segment, ...]:
    """Return the runs of one drift, in order; the last may have no reading yet."""
    marks = []
    for i, stint in enumerate(log.stints):
        start = 0 if i == 0 else max(_index_of_round(line, stint.first_round), 0)
        if i > 0 and stint.first_round > int(line.readings.round[-1]):
            # worked but not yet read: the drift now is what the change should do
            start = line.last + 1
        marks.append(Segment(start, i, logged=True))
    # stints that ended before the first reading tell nothing
    while len(marks) > 1 and marks[1].start == 0:
        marks.pop(0)
    for start in account.breaks:
        stint_index = max(m.stint for m in marks if m.start <= start)
        marks.append(Segment(start, stint_index, logged=False))
    return tuple(sorted(marks, key=lambda m: (m.start, not m.logged)))


def regression(
    log: DriftLog, line: Timeline, account: Account, prior: Prior, sitting_sd: float = 0.0
) -> Regression:
    """Write one account of the log as a regression (see :mod:`knitlog.drift.likelihood`).

    Columns of X: a home for each colour change; a starting offset where homes are
    stated; a drift for each segment; a one-off move for each fix, logged change and jump;
    a drift of its own for each late sitting, where ``sitting_sd`` (stitches/round) is not 0.
    """
    readings, time = line.readings, line.time
    m = len(time)
    base = float(log.stints[readings.stint[0]].stitches)
    scale = readings.stitches / base
    columns: list[FloatArray] = []
    mean: list[float] = []
    end: list[float] = []
    factors: list[tuple[dict[int, float], float, float]] = []

    def add(column: FloatArray, at_end: float, centre: float, sd: float | None) -> int:
        columns.append(column)
        mean.append(centre)
        end.append(at_end)
        index = len(columns) - 1
        if sd is not None:
            factors.append(({index: 1.0}, centre, sd))
        return index

    for c, change in enumerate(readings.changes):
        mine = readings.change == c
        stated = log.homes.get(change)
        centre = float(line.y[mine][0] / scale[mine][0]) if stated is None else stated
        sd = _VAGUE if stated is None else _EXACT
        add(np.where(mine, scale, 0.0), 0.0, centre, sd)
    if log.homes:
        add(np.ones(m), 1.0, 0.0, 0.3 * base)

    runs = segments(log, line, account)
    drift_index = []
    steps: list[tuple[int, float, float]] = []
    for i, run in enumerate(runs):
        stop = runs[i + 1].start if i + 1 < len(runs) else None
        # rounds of this run that lie at or before each reading
        begin = 0.0 if i == 0 else run.start - 1.0
        until = np.inf if stop is None else stop - 1.0
        column = np.clip(time, begin, until) - begin
        at_end = float(np.clip(line.last, begin, until) - begin)
        if i == 0:
            centre, sd = prior.first_drift(base, log.target_drift)
            drift_index.append(add(column, at_end, centre - log.target_drift, sd))
            continue
        before = drift_index[-1]
        index = add(column, at_end, 0.0, None)
        drift_index.append(index)
        old, new = _stint_of(log, runs[i - 1]), _stint_of(log, run)
        if not run.logged:
            sd = prior.break_sd_share * new.stitches
            factors.append(({index: 1.0, before: -1.0}, 0.0, sd))
            mean[index] = mean[before]
        else:
            turned = stint_change(old, new, log, prior)
            # in terms of drift less target: new = turn * old + add + (turn - 1) * target
            shift = turned.add + (turned.turn - 1.0) * log.target_drift
            factors.append(({index: 1.0, before: -turned.turn}, shift, turned.sd))
            mean[index] = turned.turn * mean[before] + shift
            if run.start <= line.last:
                # the change falls somewhere within a round: half the new drift, give or take
                steps.append((run.start, -0.5 * turned.add, turned.step_sd))
    for fix in log.fixes:
        start = _index_of_round(line, fix.after_round + 1)
        if start <= line.last:
            steps.append((start, -fix.taken_out, 0.5 + 0.2 * abs(fix.taken_out)))
        else:
            # not yet read: it moves only the offset now
            add(np.zeros(m), 1.0, -fix.taken_out, 0.5 + 0.2 * abs(fix.taken_out))
    for start, centre, sd in steps:
        add((line.at >= start).astype(float), 1.0, centre, sd)
    first_jump = len(columns)
    for start in sorted(account.jumps):
        add((line.at >= start).astype(float), 1.0, 0.0, prior.jump_sd)

    if sitting_sd > 0.0:
        for column in _rounds_in_sittings(line).T:
            add(column, float(column.max()), 0.0, sitting_sd)

    p = len(columns)
    precision = np.zeros((p, p))
    for row, _, sd in factors:
        for i, a in row.items():
            for j, b in row.items():
                precision[i, j] += a * b / sd**2
    design = np.column_stack(columns)
    drift_row = np.zeros(p)
    drift_row[drift_index[-1]] = 1.0
    return Regression(
        y=line.y,
        design=design,
        at=line.at,
        steps=max(line.last, 1),
        prior_mean=np.array(mean),
        prior_precision=precision,
        drift_row=drift_row,
        offset_row=np.array(end),
        drift_columns=tuple(drift_index),
        first_jump=first_jump,
        least_reading_sd=max(_rounding_unit(readings.stitch) / sqrt(12.0), 1e-6),
    )


def _rounding_unit(stitches: FloatArray) -> float:
    """Return the unit all readings are multiples of: 1, a half, or 0 for none."""
    halves = 2.0 * stitches
    if np.any(halves != np.rint(halves)):
        return 0.0
    return 1.0 if np.all(stitches == np.rint(stitches)) else 0.5


def _rounds_in_sittings(line: Timeline) -> FloatArray:
    """Return rounds knitted in each of the last sittings up to each reading, shape (m, s)."""
    sitting = line.readings.sitting
    if sitting is None:
        return np.zeros((len(line.at), 0))
    # a round nobody logged belongs to the sitting of the next that was
    order = np.argsort(line.at, kind="stable")
    place = np.searchsorted(line.at[order], np.arange(1, line.last + 1))
    of_round = sitting[order][place]
    late = np.unique(of_round)[-_MOST_SITTINGS:]
    knitted = np.zeros((line.last + 1, len(late)))
    knitted[1:] = np.cumsum(of_round[:, None] == late, axis=0)
    return knitted[np.minimum(line.at, line.last)]


def _stint_of(log: DriftLog, run: Segment) -> Stint:
    return log.stints[run.stint]


def centred(reg: Regression) -> tuple[Regression, FloatArray]:
    """Return the regression about a rough solution, and that solution (shape (p,)).

    Offsets run to thousands of stitches in a long log while the noise is a fraction of
    one; taking a rough line out first keeps the sums of squares exact.
    """
    weight = np.sqrt(np.maximum(np.diag(reg.prior_precision), 1e-8))
    stacked = np.vstack([reg.design, np.diag(weight) * 1e-3])
    target = np.concatenate([reg.y, weight * 1e-3 * reg.prior_mean])
    rough = np.linalg.lstsq(stacked, target, rcond=None)[0]
    moved = replace(reg, y=reg.y - reg.design @ rough, prior_mean=reg.prior_mean - rough)
    return moved, rough
