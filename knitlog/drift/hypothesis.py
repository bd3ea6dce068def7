"""From a log and a hypothesis of what happened to a regression.

A *hypothesis* is one account of the log: which readings are miscounts, where the drift changed
and nobody logged it, where the offset jumped, how many rounds the pattern has.  The fit
compares hypotheses by their evidence; this module writes each down as numbers.

What happened at a known round (a needle, a count, a fix; a change that is supposed) is an
intervention (Harvey 1989, section 7.6): its expected move is taken off the readings, and what it
was more or less is a number to be found.
"""

from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import pairwise
from math import exp, sqrt
from math import log as ln
from typing import Literal

import numpy as np

from knitlog.drift.banded import Steps
from knitlog.drift.fit_result import FloatArray, IntArray
from knitlog.drift.likelihood import Regression, Spread
from knitlog.drift.log import DriftLog
from knitlog.drift.pattern import phase_columns, told_pattern
from knitlog.drift.prior import REFERENCE_STITCHES, Prior
from knitlog.drift.response import fix_miss, stint_change, tension_step
from knitlog.drift.timeline import Spots, Timeline

Kind = Literal["miscount", "break", "jump", "pattern"]

_VAGUE = 1e3
"""Spread of a home nobody stated, stitches."""
_MOST_SITTINGS = 24
"""Late sittings that get a drift of their own; earlier ones count as tension noise."""
_MOST_FOUND = 8
"""Needles, counts and fixes, the latest, whose size is found; that of those before is known no
better than it was expected."""
_EVENLY = 400
"""Rounds over which a hand may change evenly; over more it creeps."""
_EXACT = 1e-3
"""Spread of a home the knitter stated, stitches."""


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """One account of what happened."""

    miscounts: frozenset[int] = field(default=frozenset())
    """Readings (in knitting order) that say nothing."""
    breaks: frozenset[int] = field(default=frozenset())
    """First rounds of a drift nobody logged, as path index."""
    jumps: frozenset[int] = field(default=frozenset())
    """First rounds after a jump nobody logged, as path index."""
    pattern: int = 1
    """Rounds of a pattern, told or not; 1 for none."""

    @property
    def size(self) -> int:
        """Return how many things happened."""
        return len(self.miscounts) + len(self.breaks) + len(self.jumps)

    def toggled(self, kind: Kind, where: int) -> "Hypothesis":
        """Return the hypothesis with one more thing in it, or one less where it was there."""
        if kind == "pattern":
            return replace(self, pattern=where)
        name = {"miscount": "miscounts", "break": "breaks", "jump": "jumps"}[kind]
        return replace(self, **{name: getattr(self, name) ^ {where}})


@dataclass(frozen=True, slots=True)
class Move:
    """A happening: from a round on so much a round more, or so much at once."""

    first_round: int
    """Number of the first round that feels it."""
    mean: float
    """Stitches/round where it lasts, stitches where it is at once."""
    sd: float
    lasting: bool
    """Whether it changes the drift."""
    shown: Literal["part", "next", "whole"] = "whole"
    """What the reading of its first round shows of it where it lasts: a part, as far as the
    reading lies into the round (another needle, another tension: its stitches are those worked
    so); nothing yet (another stitch count: the loops from the last reading to this one are as
    many as before); or the whole."""


@lru_cache(maxsize=4)
def moves(line: Timeline, prior: Prior) -> tuple[Move, ...]:
    """Return what the log itself says happened: changes of needle and count, and fixes."""
    log = line.log
    told = []
    drift = _drift_of_stints(line, prior)
    for i, (old, new) in enumerate(zip(log.stints, log.stints[1:], strict=False)):
        if new.first_round <= line.first_round:
            continue
        turned = stint_change(old, new, log, prior)
        # in terms of drift less target: new = turn * old + add + (turn - 1) * target
        change = (turned.turn - 1.0) * (drift[i] + log.target_drift) + turned.add
        told.append(Move(new.first_round, change, turned.sd, True, "part"))
        if turned.count:
            told.append(Move(new.first_round, turned.count, 0.0, True, "next"))
    for fix in log.fixes:
        if fix.after_round >= line.first_round:
            sd = fix_miss(fix.taken_out)
            told.append(Move(fix.after_round + 1, -fix.taken_out, sd, lasting=False))
    return tuple(sorted(told, key=lambda m: m.first_round))


def supposed(line: Timeline, hypothesis: Hypothesis, prior: Prior) -> tuple[Move, ...]:
    """Return what the hypothesis says happened beside what was told."""
    sd = prior.break_sd_share * float(line.counts[-1])
    return (
        *(
            Move(line.first_round + start, 0.0, sd, lasting=True)
            for start in sorted(hypothesis.breaks)
        ),
        *(
            Move(line.first_round + start, 0.0, prior.jump_sd, lasting=False)
            for start in sorted(hypothesis.jumps)
        ),
    )


def found_moves(line: Timeline, hypothesis: Hypothesis, prior: Prior) -> tuple[Move, ...]:
    """Return the happenings whose size is a number to be found: a column of X each.

    All that is supposed, and the latest of what was told and has been read; the size of those
    before goes into the path's own variance.
    """
    return (*_read(line, prior)[-_MOST_FOUND:], *supposed(line, hypothesis, prior))


@lru_cache(maxsize=4)
def _read(line: Timeline, prior: Prior) -> tuple[Move, ...]:
    last = line.first_round + line.last
    return tuple(m for m in moves(line, prior) if m.first_round <= last and m.sd > 0.0)


@lru_cache(maxsize=4)
def known_at_readings(line: Timeline, prior: Prior) -> FloatArray:
    """Return how far what was told has brought each reading, stitches, shape (m,)."""
    return known(line, moves(line, prior), line.spots)


def has_early_moves(line: Timeline, prior: Prior) -> bool:
    """Tell whether more was told than is found: see :func:`found_moves`."""
    return len(_read(line, prior)) > _MOST_FOUND


@lru_cache(maxsize=32)
def shape(line: Timeline, move: Move, spots: Spots) -> FloatArray:
    """Return what one stitch (a round) of ``move`` has moved each of ``spots`` by, shape (m,)."""
    felt = spots.round >= move.first_round
    if not move.lasting:
        return np.where(felt, 1.0, 0.0)
    if move.shown == "part":
        return line.since(move.first_round, spots)
    worked = spots.round - move.first_round + (move.shown == "whole")
    return np.where(felt, worked, 0).astype(float)


def _drift_of_stints(line: Timeline, prior: Prior) -> list[float]:
    """Return a rough drift (less target) of each stint: enough to scale it by a few percent."""
    mean, _ = prior.first_drift(float(line.counts[0]), line.log.target_drift)
    rough = mean - line.log.target_drift
    mine = np.flatnonzero(line.readings.change == 0)
    ends = np.searchsorted(line.readings.stint[mine], np.arange(len(line.counts) + 1)).tolist()
    at, y = line.at[mine].tolist(), line.y[mine].tolist()
    found = []
    for first, end in pairwise(ends):
        last = end - 1
        if last - first >= 2 and at[last] > at[first]:
            rough = (y[last] - y[first]) / (at[last] - at[first])
        found.append(rough)
    return found


def known(line: Timeline, told: tuple[Move, ...], spots: Spots) -> FloatArray:
    """Return how far known moves have brought each of ``spots``, stitches, shape (m,)."""
    if not told:
        return np.zeros(len(spots.round))
    firsts = np.array([move.first_round for move in told])
    mean = np.array([move.mean for move in told])
    lasts = np.array([move.lasting for move in told])
    felt = np.searchsorted(firsts, spots.round, side="right")

    def so_far(sizes: FloatArray) -> FloatArray:
        """Give the sum of sizes of all that each spot has felt."""
        return np.append(0.0, np.cumsum(sizes))[felt]

    # a lasting one has moved a spot by (rounds since) times its mean, as :func:`shape` has it
    total: FloatArray = so_far(mean * ~lasts) - so_far(mean * lasts * firsts)
    total += so_far(mean * lasts) * spots.round
    own = mean * lasts * np.array([move.shown == "part" for move in told])
    for column in range(len(line.readings.changes)):
        mine = spots.column == column
        total[mine] += so_far(own * line.share_in(firsts, column))[mine]
    return total


def asked(line: Timeline, spots: Spots) -> FloatArray:
    """Return what a hand that gives all that is asked would have moved each of ``spots`` by."""
    total = np.zeros(len(spots.round))
    before = 0.0
    for own in sorted(line.log.tension, key=lambda t: t.first_round):
        total += (tension_step(line.log, own.percent) - before) * line.since(own.first_round, spots)
        before = tension_step(line.log, own.percent)
    return total


def asked_in(log: DriftLog, number: int) -> float:
    """Return the tension asked of round ``number``, %."""
    told = [own for own in log.tension if own.first_round <= number]
    return max(told, key=lambda own: own.first_round).percent if told else 0.0


@lru_cache(maxsize=4)
def steps(line: Timeline, prior: Prior, tension_sd: float) -> Steps:
    """Return the variances early happenings add to the path, as shares of ``tension_sd`` squared.

    (Intervention by variance: West & Harrison, Bayesian Forecasting, 2nd ed. 1997, ch. 11.)
    """
    own = Steps.none(line.rounds)
    early = _read(line, prior)[:-_MOST_FOUND]
    shares = line.share_in(np.array([move.first_round for move in early], dtype=np.int64), 0)
    for move, share in zip(early, shares.tolist(), strict=True):
        index, variance = move.first_round - line.first_round - 1, move.sd**2 / tension_sd**2
        if not move.lasting:
            own.level[index] += variance
            continue
        # the round's own reading shows a part of it: counted with the nearer of both rounds
        into = share if move.shown == "part" else 0.0
        late = into < 0.5 and index + 1 < line.last
        own.drift[index + late] += variance
        own.level[index] += min(into, 1.0 - into) ** 2 * variance
    return own


def regression(
    line: Timeline,
    hypothesis: Hypothesis,
    prior: Prior,
    *,
    tension_sd: float,
    sitting_sd: float = 0.0,
) -> Regression:
    """Write one hypothesis of the log as a regression (see :mod:`knitlog.drift.likelihood`).

    Columns of X: a home for each colour change; a starting offset where homes are stated; the
    drift of the first round; what an even trend of it comes to, where the prior has one; the
    answer to a tension asked, where one was; the size of each of :func:`found_moves`; the
    pattern's rounds; a drift of its own for each late sitting, where ``sitting_sd``
    (stitches/round) is not 0.  ``tension_sd`` is the w, stitches, that early happenings are set
    against.
    """
    readings, log = line.readings, line.log
    base = float(line.counts[readings.stint[0]])
    y = line.y - known_at_readings(line, prior)
    centre, spread = prior.first_drift(base, log.target_drift)
    homes = len(readings.changes)
    mean, sd = [], []
    for c, change in enumerate(readings.changes):
        stated = log.homes.get(change)
        mean.append(float(y[readings.change == c][0]) if stated is None else stated)
        sd.append(_VAGUE if stated is None else _EXACT)
    if log.homes:
        mean.append(0.0)
        sd.append(0.3 * base)
    drift = len(mean)
    mean.append(centre - log.target_drift)
    sd.append(spread)
    trend = slice(len(mean), len(mean) + has_trend(line, prior))
    mean += [0.0] * has_trend(line, prior)
    sd += [1.0] * has_trend(line, prior)
    response = len(mean) if log.tension else None
    if log.tension:
        mean.append(prior.tension_response_mean)
        sd.append(prior.tension_response_sd)
    found = found_moves(line, hypothesis, prior)
    move_columns = slice(len(mean), len(mean) + len(found))
    mean += [0.0] * len(found)
    sd += [move.sd for move in found]
    pattern = slice(len(mean), len(mean) + hypothesis.pattern - 1)
    design = columns(line, hypothesis, prior, line.spots, sittings=sitting_sd > 0.0)
    mean += [0.0] * (hypothesis.pattern - 1)
    sd += [1.0] * (hypothesis.pattern - 1)
    late = design.shape[1] - len(mean)
    at, ahead, trust = _looks(line, prior)
    return Regression(
        y=y,
        design=design,
        at=at,
        trust=trust,
        ahead=ahead,
        rounds=line.rounds,
        steps=steps(line, prior, tension_sd),
        prior_mean=np.array(mean + [0.0] * late),
        prior_sd=np.array(sd + [sitting_sd] * late),
        homes=homes,
        drift_column=drift,
        trend_columns=trend,
        response_column=response,
        move_columns=move_columns,
        pattern_columns=pattern,
        spreads=_spreads(line, hypothesis, prior),
        least_reading_sd=max(_rounding_unit(readings.stitch) / sqrt(12.0), 1e-6),
    )


def _looks(line: Timeline, prior: Prior) -> tuple[IntArray, FloatArray, FloatArray]:
    """Return where on the path of the first colour change each reading looks, shapes (m,).

    The path index, the part of a round by which it lies beyond, and what the reading counts.
    Another colour change lies part of a round on along the strand, and between two places of the
    first the slips are a bridge: Var = m^2 + w^2 ahead (1 - ahead), at the usual noises.
    """
    column = line.readings.change
    share = np.array([np.median(line.share[column == c]) for c in range(column.max() + 1)])
    ahead = (share - share[0])[column]
    at = np.where((ahead < 0.0) & (line.at > 0), line.at - 1, line.at)
    ahead = ahead + (at < line.at)
    # nothing is known beyond the last round, nor before the first
    ends = (at == line.rounds) | (ahead < 0.0)
    slipped = np.where(ends, np.abs(ahead), ahead * (1.0 - ahead))
    stitches = float(line.counts[line.readings.stint[0]])
    ratio = prior.log_tension_noise(stitches) - prior.log_reading_noise()
    return at, np.where(ends, 0.0, ahead), (1.0 + exp(2.0 * ratio) * slipped) ** -0.5


def columns(
    line: Timeline, hypothesis: Hypothesis, prior: Prior, spots: Spots, *, sittings: bool
) -> FloatArray:
    """Return X at ``spots``, shape (m, p): the columns that :func:`regression` names."""
    changes = np.arange(len(line.readings.changes))
    own: list[FloatArray] = [np.where(spots.column[:, None] == changes, 1.0, 0.0)]
    if line.log.homes:
        own.append(np.ones((len(spots.round), 1)))
    own.append((spots.round - line.first_round)[:, None].astype(float))
    if has_trend(line, prior):
        own.append(_trend(line, prior, spots)[:, None])
    if line.log.tension:
        own.append(asked(line, spots)[:, None])
    own += [shape(line, m, spots)[:, None] for m in found_moves(line, hypothesis, prior)]
    own.append(phase_columns(line, hypothesis.pattern, spots))
    if sittings:
        own.append(_rounds_in_sittings(line, spots))
    return np.hstack(own)


def has_trend(line: Timeline, prior: Prior) -> bool:
    """Tell whether the drift may change evenly."""
    return line.rounds <= _EVENLY and any(spread > 0.0 for spread, _ in prior.trend_nodes)


def trend_rounds(line: Timeline, prior: Prior) -> int:
    """Return the rounds over which a drift that changes evenly gains what its size says."""
    return max(line.rounds, prior.trend_rounds)


def _trend(line: Timeline, prior: Prior, spots: Spots) -> FloatArray:
    """Return how far an even change of the drift, of size 1, has moved each of ``spots``, (m,)."""
    rounds = spots.round - line.first_round
    # whole rounds by 0, 1 ... t - 1, the spot's own as far as it lies into it
    total: FloatArray = 0.5 * rounds * (rounds - 1) + spots.share * rounds
    return total / trend_rounds(line, prior)


def _spreads(line: Timeline, hypothesis: Hypothesis, prior: Prior) -> tuple[Spread, ...]:
    patterns: tuple[tuple[float, float], ...] = ((0.0, 1.0),)
    if hypothesis.pattern > 1:
        # found, not told: none at all is another hypothesis
        told = told_pattern(line.log) == hypothesis.pattern
        patterns = tuple(node for node in prior.pattern_nodes if told or node[0] > 0.0)
    scale = float(line.counts[line.readings.stint[0]]) / REFERENCE_STITCHES
    whole = sum(p for _, p in patterns)
    return tuple(
        Spread(pattern * scale, trend * scale, ln(p / whole * share))
        for pattern, p in patterns
        for trend, share in (prior.trend_nodes if has_trend(line, prior) else ((0.0, 1.0),))
    )


def _rounding_unit(stitches: FloatArray) -> float:
    """Return the unit all readings are multiples of: 1, a half, or 0 for none."""
    halves = 2.0 * stitches
    if np.any(halves != np.rint(halves)):
        return 0.0
    return 1.0 if np.all(stitches == np.rint(stitches)) else 0.5


def _rounds_in_sittings(line: Timeline, spots: Spots) -> FloatArray:
    """Return rounds knitted in each of the last sittings up to each of ``spots``, shape (m, s)."""
    sitting = line.readings.sitting
    if sitting is None:
        return np.zeros((len(spots.round), 0))
    # a round nobody logged belongs to the sitting of the next that was
    of_round = sitting[np.searchsorted(line.at, np.arange(1, line.last + 1))]
    late = np.unique(of_round)[-_MOST_SITTINGS:]
    knitted = np.zeros((line.last + 1, len(late)))
    knitted[1:] = np.cumsum(of_round[:, None] == late, axis=0)
    return knitted[np.clip(spots.round - line.first_round, 0, line.last)]
