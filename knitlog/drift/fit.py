"""The one entry point: a log in, an answer with its spread out.

The fit weighs *accounts* of the log (nothing odd happened; this reading is a miscount;
the drift changed there) by their evidence, starting from the plain one and adding what a
scan proposes as long as the evidence grows.  All accounts weighed, not the best alone,
make up the answer (Bayesian model averaging; Hoeting et al. 1999), each with both noises
integrated out (see :mod:`knitlog.drift.likelihood`).
"""

from dataclasses import dataclass, replace

import numpy as np

from knitlog.drift.accounts import Weighed
from knitlog.drift.assemble import Account, Timeline, centred, regression, timeline, turns_move_on
from knitlog.drift.fitted import DriftFit, tell
from knitlog.drift.likelihood import Kept, Noise, Regression, posterior
from knitlog.drift.log import DriftLog
from knitlog.drift.mixture import weights
from knitlog.drift.nodes import (
    bulks_well_laid,
    coarse_nodes,
    finer_nodes,
    nodes_by_memory,
    probing_nodes,
    without_idle_nodes,
)
from knitlog.drift.prior import REFERENCE_STITCHES, Prior
from knitlog.drift.readings import Sorted, sort_readings
from knitlog.drift.scan import plain_miscounts, scan
from knitlog.drift.unwrap import Unwrapping, unwrap

_ENOUGH_TO_SCAN = 4
_ENOUGH_SITTINGS = 3
_MOST_ROUNDS_WITH_SITTINGS = 3000
_ACCOUNTS_WITH_SITTINGS = 2
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
_TOGETHER = 3
"""Miscounts taken out together before they are weighed."""
_NEGLIGIBLE = 9.0
"""Log odds beyond which an account no longer counts."""


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
    """One way of reading the log: all that the accounts of it share."""

    log: DriftLog
    line: Timeline
    prior: Prior
    stitches: float
    log_share: float
    """Log prior probability of this way."""
    sitting_sd: float
    """Spread of the drift between sittings, stitches/round."""


def _ways(log: DriftLog, readings: Sorted, unwrapping: Unwrapping, prior: Prior) -> list[_Way]:
    stitches = float(log.stints[readings.stint[-1]].stitches)
    lines = [(timeline(log, readings, unwrapping.shifts, by_strand=False), 1.0)]
    if unwrapping.shifts.any():
        by_strand = timeline(log, readings, unwrapping.shifts, by_strand=True)
        if turns_move_on(by_strand):
            rate = prior.by_strand_rate
            lines = [(lines[0][0], 1.0 - rate), (by_strand, rate)]
    return [_Way(log, line, prior, stitches, float(np.log(share)), 0.0) for line, share in lines]


def _weigh_ways(ways: list[_Way]) -> list[Weighed]:
    """Return the accounts that count, of every way of reading the log that may hold."""
    plain = [_weigh_roughly(way, Account()) for way in ways]
    # a miscount can hide which way it was, but not by ever so much
    least = max(w.log_mass for w in plain) - _CLOSE_WAYS
    weighed = [
        w
        for way, first in zip(ways, plain, strict=True)
        if first.log_mass > least
        for w in _with_sittings(way, _weigh_accounts(way, first))
    ]
    top = max(w.log_mass for w in weighed)
    return [w for w in weighed if w.log_mass > top - _NEGLIGIBLE]


def _with_sittings(way: _Way, weighed: list[Weighed]) -> list[Weighed]:
    """Return the accounts, the likeliest of them also with a drift for each sitting."""
    sitting = way.line.readings.sitting
    if sitting is None or way.line.last > _MOST_ROUNDS_WITH_SITTINGS:
        return weighed
    if len(np.unique(sitting)) < _ENOUGH_SITTINGS:
        return weighed
    shares = dict(way.prior.sitting_nodes)
    ranked = sorted(weighed, key=lambda w: w.log_mass, reverse=True)
    likely = {w.account for w in ranked[:_ACCOUNTS_WITH_SITTINGS]} | {Account()}
    # where sittings differ, that is the memory: no other is tried beside it
    plain = replace(way.prior, memory_nodes=((0.0, 1.0),))
    alike = float(np.log(shares.pop(0.0)))
    return [replace(w, log_mass=w.log_mass + alike) for w in weighed] + [
        _settled(
            replace(
                way,
                prior=plain,
                log_share=way.log_share + float(np.log(share)),
                sitting_sd=spread * way.stitches / REFERENCE_STITCHES,
            ),
            account,
        )[0]
        for spread, share in shares.items()
        for account in likely
    ]


def _log_prior(account: Account, way: _Way) -> float:
    wrong = len(account.miscounts)
    prior = way.prior
    # a miscount may land anywhere in its window
    return float(
        way.log_share
        + wrong * (np.log(prior.miscount_rate) - np.log(prior.miscount_width))
        + (len(way.line.y) - wrong) * np.log1p(-prior.miscount_rate)
        + len(account.breaks) * np.log(prior.break_chance(way.line.last))
        + len(account.jumps) * np.log(prior.jump_rate)
    )


def _kept(account: Account, reg: Regression) -> Kept:
    keep = np.ones(len(reg.y), dtype=bool)
    keep[list(account.miscounts)] = False
    return Kept.of(reg, keep)


def _weigh(way: _Way, account: Account, noise: Noise) -> Weighed:
    reg, rough = centred(regression(way.log, way.line, account, way.prior, way.sitting_sd))
    kept = _kept(account, reg)
    mixture = posterior(kept, noise, way.prior, way.stitches)
    mass = mixture.log_evidence + _log_prior(account, way)
    return Weighed(account, way.line, mass, mixture, kept, rough, way.sitting_sd)


def _weigh_again(way: _Way, weighed: Weighed, noise: Noise) -> Weighed:
    """Weigh the same account on other nodes."""
    mixture = posterior(weighed.kept, noise, way.prior, way.stitches)
    mass = weighed.log_mass + mixture.log_evidence - weighed.mixture.log_evidence
    return replace(weighed, log_mass=mass, mixture=mixture)


def _weigh_roughly(way: _Way, account: Account) -> Weighed:
    """Weigh an account on the coarse nodes."""
    return _weigh(way, account, coarse_nodes(way.prior, way.stitches, plain=_is_long(way)))


def _is_long(way: _Way) -> bool:
    return len(way.line.y) > _LONG_LOG


def _settled(way: _Way, account: Account) -> tuple[Weighed, Noise]:
    """Weigh an account on nodes about its own bulk, and return those nodes."""
    return _about_its_bulk(way, _weigh_roughly(way, account))


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
    """Weigh a long log again on nodes about the bulk of each memory, found by a rough look."""
    looks = [weighed.mixture]
    probe = probing_nodes(weighed.mixture, way.prior)
    if probe is not None:
        looks.append(_weigh_again(way, weighed, probe).mixture)
    for _ in range(_LOOKS_FOR_A_BULK):
        weighed = _weigh_again(way, weighed, nodes_by_memory(looks))
        if bulks_well_laid(weighed.mixture):
            break
        looks = [weighed.mixture]
    return weighed, without_idle_nodes(weighed.mixture)


def _weigh_accounts(way: _Way, plain: Weighed) -> list[Weighed]:
    """Return the accounts of one way that count, found from the ``plain`` one upward."""
    best, nodes = _about_its_bulk(way, plain)
    weighed = {best.account: best}
    if len(way.line.y) < _ENOUGH_TO_SCAN or way.line.last < 2:
        return [best]
    for account in _miscounts_together(way, best):
        other, other_nodes = _settled(way, account)
        weighed[account] = other
        if other.log_mass > best.log_mass:
            best, nodes = other, other_nodes
    for _ in range(max(min(_STEPS, _MOST_WORK // way.line.last), 2)):
        tried: list[Weighed] = []
        for account in _next_accounts(way, best):
            if account not in weighed and len(tried) < _TRIES:
                weighed[account] = _weigh(way, account, nodes)
                tried.append(weighed[account])
        leader = max(tried, key=lambda w: w.log_mass, default=best)
        if leader.log_mass <= best.log_mass:
            break
        best, nodes = _settled(way, leader.account)
        weighed[best.account] = best
    return [
        w
        for w in (_fairly_weighed(way, w, best) for w in weighed.values())
        if w.log_mass > best.log_mass - _NEGLIGIBLE
    ]


def _fairly_weighed(way: _Way, weighed: Weighed, best: Weighed) -> Weighed:
    """Weigh a rival of the ``best`` account on nodes of its own too.

    It was tried on the nodes of an account with less in it, whose noises hide what happened.
    """
    rival = weighed.account.size == best.account.size > 0
    if not rival or weighed is best or weighed.log_mass < best.log_mass - _NEGLIGIBLE:
        return weighed
    return _settled(way, weighed.account)[0]


def _miscounts_together(way: _Way, plain: Weighed) -> list[Account]:
    """Return accounts with more and more miscounts.

    Two miscounts can hide each other, so that neither alone looks worth leaving out:
    these are taken out one after the other at usual noises, and only then weighed.
    """
    usual = (
        float(np.exp(way.prior.log_tension_noise(way.stitches))),
        way.prior.reading_noise_median,
    )
    chain: list[Account] = []
    account, kept = plain.account, plain.kept
    for _ in range(_TOGETHER):
        if len(kept.readings) < _ENOUGH_TO_SCAN:
            break
        found = plain_miscounts(kept, usual, way.prior)
        if not found:
            break
        account = replace(account, miscounts=account.miscounts | set(found))
        kept = _kept(account, plain.regression)
        chain.append(account)
    return chain


def _next_accounts(way: _Way, best: Weighed) -> list[Account]:
    noises = _noises(best, way.prior, way.stitches)
    proposals = scan(best.kept, noises, way.prior, way.stitches)
    # in a long log what is barely possible no longer matters to the answer
    worth = _WORTH_A_TRY if len(way.line.y) <= _LONG_LOG else 0.0
    return [best.account.toggled(p.kind, p.where) for p in proposals if p.log_odds > worth]


def _noises(weighed: Weighed, prior: Prior, stitches: float) -> list[tuple[float, float]]:
    """Return the (w, m) pairs, stitches, at which to look for what was not logged."""
    mix = weighed.mixture
    weight = weights(mix.log_weight)
    w = float(np.exp(weight @ np.log(mix.tension_sd)))
    m = float(np.exp(weight @ np.log(mix.reading_sd)))
    # a miscount or a change inflates the noises it hides behind: look with usual ones too
    usual_w = float(np.exp(prior.log_tension_noise(stitches)))
    usual_m = prior.reading_noise_median
    if w > 1.15 * usual_w or m > 1.15 * usual_m:
        return [(w, m), (min(w, usual_w), min(m, usual_m))]
    return [(w, m)]
