"""The one entry point: a log in, an answer with its spread out.

The fit weighs *hypotheses* of the log (nothing odd happened; this reading is a miscount;
the drift changed there) by their evidence, starting from the plain one and adding what a
scan proposes as long as the evidence grows.  All hypotheses weighed, not the best alone,
make up the answer (Bayesian model averaging; Hoeting et al. 1999), each with both noises
integrated out (see :mod:`knitlog.drift.likelihood`).
"""

from dataclasses import dataclass, replace

import numpy as np

from knitlog.drift.fitted import DriftFit
from knitlog.drift.hypothesis import Hypothesis, has_early_moves, regression
from knitlog.drift.likelihood import Kept, Noise, Regression, centred, posterior
from knitlog.drift.log import DriftLog
from knitlog.drift.mixture import weights
from knitlog.drift.nodes import (
    bulks_well_laid,
    coarse_nodes,
    finer_nodes,
    kinds,
    nodes_by_kind,
    probing_nodes,
    without_idle_nodes,
    without_memory,
)
from knitlog.drift.outliers import (
    LEAST_ROUNDS_OF_A_BREAK,
    Noises,
    pattern_chance,
    plain_miscounts,
    scan,
)
from knitlog.drift.pattern import told_pattern
from knitlog.drift.prior import REFERENCE_STITCHES, Prior
from knitlog.drift.readings import Sorted, sort_readings
from knitlog.drift.telling import tell
from knitlog.drift.timeline import Timeline, timeline
from knitlog.drift.unwrap import Unwrapping, unwrap
from knitlog.drift.weighed import Weighed

_ENOUGH_TO_SCAN = 4
_ENOUGH_SITTINGS = 3
_MOST_ROUNDS_WITH_SITTINGS = 3000
_HYPOTHESES_WITH_SITTINGS = 2
_CLOSE_WAYS = 30.0
"""Log odds beyond which the less likely way of counting wraps is dropped at once."""
_WORTH_A_TRY = -1.5
"""Rough log odds from which a proposal is weighed in full."""
_TRIES = 5
"""Proposals weighed in full at each step."""
_STEPS = 12
"""Steps of the search, one thing more each."""
_MOST_WORK = 30_000
"""Rounds times steps beyond which the search ends early."""
_LONG_LOG = 60
"""Readings from which a log is long."""
_LOOKS_FOR_A_BULK = 5
"""Times the nodes of a long log are moved until they hold its bulk."""
_DATES = (-6, -4, -2, -1, 1, 2, 4, 6)
"""Rounds by which a change of drift may be dated otherwise than the search has it."""
_BESIDE = 2
"""Rounds about a change that was told within which no other is supposed."""
_HYPOTHESES_ALIKE = 6
"""Hypotheses of one way of reading the log that are weighed in the other."""
_TOGETHER = 3
"""Miscounts taken out together before they are weighed."""
_NEGLIGIBLE = 9.0
"""Log odds beyond which a hypothesis no longer counts."""


def fit(log: DriftLog, prior: Prior | None = None) -> DriftFit:
    """Fit the drift of ``log``.

    Args:
        log: the readings, stints and fixes; any number of rounds may be missing.
        prior: what is believed beforehand; weak defaults where None.

    Returns:
        The drift (stitches/round), the offset at the last logged round (stitches), the yarn
        per stitch (mm), each with a 95 % interval; miscounts and unlogged changes by name.

    Raises:
        LogError: the log has no reading, or one that cannot be.

    """
    prior = prior or Prior()
    readings = sort_readings(log)
    unwrapping = unwrap(log, readings, prior)
    weighed = _weigh_ways(_ways(log, readings, unwrapping, prior))
    return tell(log, prior, tuple(weighed), unwrapping)


@dataclass(frozen=True, slots=True)
class _Way:
    """One way of reading the log: all that the hypotheses of it share."""

    log: DriftLog
    line: Timeline
    prior: Prior
    stitches: float
    log_share: float
    """Log prior probability of this way."""
    sitting_sd: float
    """Spread of the drift between sittings, stitches/round."""
    tension_sd: float
    """The w, stitches, that what happened is set against."""


def _ways(log: DriftLog, readings: Sorted, unwrapping: Unwrapping, prior: Prior) -> list[_Way]:
    stitches = float(log.stints[readings.stint[-1]].stitches)
    lines = [(timeline(log, readings, unwrapping.shifts, by_strand=True), 1.0)]
    if unwrapping.shifts.any():
        by_round = timeline(log, readings, unwrapping.shifts, by_strand=False)
        rate = prior.by_strand_rate
        lines = [(lines[0][0], rate), (by_round, 1.0 - rate)]
    usual = float(np.exp(prior.log_tension_noise(stitches)))
    return [
        _Way(log, line, prior, stitches, float(np.log(share)), 0.0, usual)
        for line, share in lines
        if share > 0.0
    ]


def _weigh_ways(ways: list[_Way]) -> list[Weighed]:
    """Return the hypotheses that count, of every way of reading the log that may hold."""
    ways = _against_her_own(ways)
    plain = [_weigh_roughly(way, _plain(way)) for way in ways]
    # a miscount can hide which way it was, but not by ever so much
    least = max(w.log_mass for w in plain) - _CLOSE_WAYS
    order = sorted(zip(ways, plain, strict=True), key=lambda pair: -pair[1].log_mass)
    weighed: list[Weighed] = []
    found: list[Hypothesis] = []
    for way, first in order:
        if first.log_mass <= least:
            continue
        # what happened is searched for in the likelier way, and weighed in both
        own = _weigh_hypotheses(way, first) if not found else _weigh_alike(way, first, found)
        found = found or [w.hypothesis for w in own]
        weighed += _with_sittings(way, own)
    top = max(w.log_mass for w in weighed)
    return [w for w in weighed if w.log_mass > top - _NEGLIGIBLE]


def _weigh_alike(way: _Way, plain: Weighed, found: list[Hypothesis]) -> list[Weighed]:
    """Weigh hypotheses found in another way of reading the log."""
    best, nodes = _about_its_bulk(way, plain)
    others = (h for h in found[:_HYPOTHESES_ALIKE] if h != plain.hypothesis)
    return [best, *(_weigh(way, hypothesis, nodes) for hypothesis in others)]


def _plain(way: _Way) -> Hypothesis:
    """Return the hypothesis that nothing happened but what was told."""
    return Hypothesis(pattern=told_pattern(way.log) or 1)


def _against_her_own(ways: list[_Way]) -> list[_Way]:
    """Set early happenings against her own tension noise, where there are any."""
    if not has_early_moves(ways[0].line, ways[0].prior):
        return ways
    weighed = _weigh_roughly(ways[0], _plain(ways[0]))
    w = weights(weighed.mixture.log_weight) @ np.log(weighed.mixture.tension_sd)
    return [replace(way, tension_sd=float(np.exp(w))) for way in ways]


def _with_sittings(way: _Way, weighed: list[Weighed]) -> list[Weighed]:
    """Return the hypotheses, the likeliest of them also with a drift for each sitting."""
    sitting = way.line.readings.sitting
    if sitting is None or way.line.last > _MOST_ROUNDS_WITH_SITTINGS:
        return weighed
    if len(np.unique(sitting)) < _ENOUGH_SITTINGS:
        return weighed
    shares = dict(way.prior.sitting_nodes)
    ranked = sorted(weighed, key=lambda w: w.log_mass, reverse=True)
    likely = {w.hypothesis for w in ranked[:_HYPOTHESES_WITH_SITTINGS]} | {_plain(way)}
    # where sittings differ, that is the memory and the creep: no other is tried beside it
    plain = replace(way.prior, memory_nodes=((0.0, 1.0),), creep_nodes=((0.0, 1.0),))
    alike = float(np.log(shares.pop(0.0)))
    return [replace(w, log_mass=w.log_mass + alike) for w in weighed] + [
        _settled(
            replace(
                way,
                prior=plain,
                log_share=way.log_share + float(np.log(share)),
                sitting_sd=spread * way.stitches / REFERENCE_STITCHES,
            ),
            hypothesis,
        )[0]
        for spread, share in shares.items()
        for hypothesis in likely
    ]


def _log_prior(hypothesis: Hypothesis, way: _Way) -> float:
    wrong = len(hypothesis.miscounts)
    prior = way.prior
    told = told_pattern(way.log)
    pattern = 0.0
    if told is None:
        shown = hypothesis.pattern > 1
        chance = pattern_chance(hypothesis.pattern, prior) if shown else 1.0 - prior.pattern_rate
        pattern = float(np.log(chance))
    # a miscount may land anywhere in its window
    return float(
        way.log_share
        + pattern
        + wrong * (np.log(prior.miscount_rate) - np.log(prior.miscount_width))
        + (len(way.line.y) - wrong) * np.log1p(-prior.miscount_rate)
        + len(hypothesis.breaks) * np.log(prior.break_chance(way.line.last))
        + len(hypothesis.jumps) * np.log(prior.jump_rate)
    )


def _kept(hypothesis: Hypothesis, reg: Regression) -> Kept:
    keep = np.ones(len(reg.y), dtype=bool)
    keep[list(hypothesis.miscounts)] = False
    return Kept.of(reg, keep)


def _weigh(way: _Way, hypothesis: Hypothesis, noise: Noise) -> Weighed:
    reg, rough = centred(
        regression(
            way.line,
            hypothesis,
            way.prior,
            tension_sd=way.tension_sd,
            sitting_sd=way.sitting_sd,
        )
    )
    kept = _kept(hypothesis, reg)
    if reg.steps.turns:
        noise = without_memory(noise)
    mixture = posterior(kept, noise, way.prior, way.stitches)
    mass = mixture.log_evidence + _log_prior(hypothesis, way)
    return Weighed(hypothesis, way.line, mass, mixture, kept, rough, way.sitting_sd)


def _weigh_again(way: _Way, weighed: Weighed, noise: Noise) -> Weighed:
    """Weigh the same hypothesis on other nodes."""
    mixture = posterior(weighed.kept, noise, way.prior, way.stitches)
    mass = weighed.log_mass + mixture.log_evidence - weighed.mixture.log_evidence
    return replace(weighed, log_mass=mass, mixture=mixture)


def _weigh_roughly(way: _Way, hypothesis: Hypothesis) -> Weighed:
    """Weigh a hypothesis on the coarse nodes."""
    own = kinds(way.prior)
    return _weigh(
        way, hypothesis, coarse_nodes(way.prior, way.stitches, own[: 1 if _is_long(way) else None])
    )


def _is_long(way: _Way) -> bool:
    return way.line.last > _LONG_LOG


def _settled(way: _Way, hypothesis: Hypothesis) -> tuple[Weighed, Noise]:
    """Weigh a hypothesis on nodes about its own bulk, and return those nodes."""
    return _about_its_bulk(way, _weigh_roughly(way, hypothesis))


def _about_its_bulk(way: _Way, weighed: Weighed) -> tuple[Weighed, Noise]:
    """Weigh again what was weighed on the coarse nodes, where finer ones say more."""
    if _is_long(way):
        return _about_each_bulk(way, weighed)
    finer = finer_nodes(weighed.mixture)
    if finer is None:
        return weighed, weighed.mixture.noise
    weighed = _weigh_again(way, weighed, finer)
    return weighed, without_idle_nodes(weighed.mixture)


def _about_each_bulk(way: _Way, weighed: Weighed) -> tuple[Weighed, Noise]:
    """Weigh a long log again on nodes about the bulk of each kind, found by a rough look."""
    looks = [weighed.mixture]
    others = kinds(way.prior)[1:]
    if weighed.regression.steps.turns:
        others = tuple(kind for kind in others if kind.memory == 0.0)
    probe = probing_nodes(weighed.mixture, others)
    if probe is not None:
        looks.append(_weigh_again(way, weighed, probe).mixture)
    for _ in range(_LOOKS_FOR_A_BULK):
        weighed = _weigh_again(way, weighed, nodes_by_kind(looks))
        if bulks_well_laid(weighed.mixture):
            break
        looks = [weighed.mixture]
    return weighed, without_idle_nodes(weighed.mixture)


def _weigh_hypotheses(way: _Way, plain: Weighed) -> list[Weighed]:
    """Return the hypotheses of one way that count, found from the ``plain`` one upward."""
    best, nodes = _about_its_bulk(way, plain)
    weighed = {best.hypothesis: best}
    if len(way.line.y) < _ENOUGH_TO_SCAN or way.line.last < 2:
        return [best]
    for hypothesis in _miscounts_together(way, best):
        other, other_nodes = _settled(way, hypothesis)
        weighed[hypothesis] = other
        if other.log_mass > best.log_mass:
            best, nodes = other, other_nodes
    for _ in range(max(min(_STEPS, _MOST_WORK // way.line.last), 2)):
        tried: list[Weighed] = []
        for hypothesis in _next_hypotheses(way, best):
            if hypothesis not in weighed and len(tried) < _TRIES:
                weighed[hypothesis] = _weigh(way, hypothesis, nodes)
                tried.append(weighed[hypothesis])
        leader = max(tried, key=lambda w: w.log_mass, default=best)
        if leader.log_mass <= best.log_mass:
            break
        best, nodes = _settled(way, leader.hypothesis)
        weighed[best.hypothesis] = best
    _date_otherwise(way, weighed, best)
    return [
        w
        for w in (_fairly_weighed(way, w, best) for w in weighed.values())
        if w.log_mass > best.log_mass - _NEGLIGIBLE
    ]


def _date_otherwise(way: _Way, weighed: dict[Hypothesis, Weighed], best: Weighed) -> None:
    """Weigh changes of drift a little before or after the likeliest ones too."""
    least = best.log_mass - _NEGLIGIBLE
    sudden = [w for w in weighed.values() if w.hypothesis.breaks and w.log_mass > least]
    if not sudden:
        return
    leader = max(sudden, key=lambda w: w.log_mass)
    leader, nodes = _settled(way, leader.hypothesis)
    weighed[leader.hypothesis] = leader
    breaks = leader.hypothesis.breaks
    for start in breaks:
        for other in (start + by for by in _DATES):
            if other in breaks or not _is_news(way, other):
                continue
            moved = leader.hypothesis.toggled("break", start).toggled("break", other)
            if moved not in weighed:
                weighed[moved] = _weigh(way, moved, nodes)


def _fairly_weighed(way: _Way, weighed: Weighed, best: Weighed) -> Weighed:
    """Weigh a rival of the ``best`` hypothesis on nodes of its own too.

    It was tried on the nodes of a hypothesis with less in it, whose noises hide what happened.
    """
    rival = weighed.hypothesis.size == best.hypothesis.size > 0
    if not rival or weighed is best or weighed.log_mass < best.log_mass - _NEGLIGIBLE:
        return weighed
    return _settled(way, weighed.hypothesis)[0]


def _miscounts_together(way: _Way, plain: Weighed) -> list[Hypothesis]:
    """Return hypotheses with more and more miscounts.

    Two miscounts can hide each other, so that neither alone looks worth leaving out:
    these are taken out one after the other at usual noises, and only then weighed.
    """
    usual = Noises(
        float(np.exp(way.prior.log_tension_noise(way.stitches))), way.prior.reading_noise_median
    )
    chain: list[Hypothesis] = []
    hypothesis, kept = plain.hypothesis, plain.kept
    for _ in range(_TOGETHER):
        if len(kept.readings) < _ENOUGH_TO_SCAN:
            break
        found = plain_miscounts(kept, usual, way.prior)
        if not found:
            break
        hypothesis = replace(hypothesis, miscounts=hypothesis.miscounts | set(found))
        kept = _kept(hypothesis, plain.regression)
        chain.append(hypothesis)
    return chain


def _next_hypotheses(way: _Way, best: Weighed) -> list[Hypothesis]:
    noises = _noises(best, way.prior, way.stitches)
    # a pattern hides nothing that a miscount or a change can hide it behind: looked for once
    searched = told_pattern(way.log) is None and best.hypothesis == _plain(way)
    line = way.line if searched else None
    proposals = scan(best.kept, noises, way.prior, way.stitches, line)
    proposals = [p for p in proposals if p.kind != "break" or _is_news(way, p.where)]
    # in a long log what is barely possible no longer matters to the answer
    worth = _WORTH_A_TRY if len(way.line.y) <= _LONG_LOG else 0.0
    return [best.hypothesis.toggled(p.kind, p.where) for p in proposals if p.log_odds > worth]


def _is_news(way: _Way, start: int) -> bool:
    """Tell whether a change of drift at path index ``start`` may be supposed.

    It needs rounds to show in, and where one was told no other is supposed beside it.
    """
    told = [s.first_round - way.line.first_round for s in way.log.stints[1:]]
    room = 1 <= start <= way.line.last + 1 - LEAST_ROUNDS_OF_A_BREAK
    return room and all(abs(start - other) > _BESIDE for other in told)


def _noises(weighed: Weighed, prior: Prior, stitches: float) -> list[Noises]:
    """Return the noises at which to look for what was not logged."""
    mix = weighed.mixture
    weight = weights(mix.log_weight)
    w = float(np.exp(weight @ np.log(mix.tension_sd)))
    m = float(np.exp(weight @ np.log(mix.reading_sd)))
    creep = float(weight @ mix.of_node(mix.noise.creep))
    found = [Noises(w, m, creep)]
    # a miscount or a change inflates the noises it hides behind: look with usual ones too
    usual_w = float(np.exp(prior.log_tension_noise(stitches)))
    usual_m = prior.reading_noise_median
    if w > 1.15 * usual_w or m > 1.15 * usual_m or creep > 0.1:
        found.append(Noises(min(w, usual_w), min(m, usual_m)))
    return found
