"""The one entry point: a log in, an answer with its spread out.

The fit weighs *accounts* of the log (nothing odd happened; this reading is a miscount;
the drift changed there) by their evidence, starting from the plain one and adding what a
scan proposes as long as the evidence grows.  All accounts weighed, not the best alone,
make up the answer (Bayesian model averaging; Hoeting et al. 1999), each with both noises
integrated out (see :mod:`knitlog.drift.likelihood`).
"""

import numpy as np

from knitlog.drift.accounts import Weighed
from knitlog.drift.assemble import Account, Timeline, centred, regression, timeline
from knitlog.drift.errors import LogError
from knitlog.drift.fitted import DriftFit, tell
from knitlog.drift.likelihood import Noise, coarse_nodes, finer_nodes, posterior
from knitlog.drift.log import DriftLog
from knitlog.drift.prior import Prior
from knitlog.drift.scan import scan
from knitlog.drift.unwrap import Sorted, Unwrapping, sort_readings, unwrap

_ENOUGH_TO_SCAN = 4
_LONGEST = 200_000


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
    check(log)
    readings = sort_readings(log)
    unwrapping = unwrap(log, readings, prior)
    stitches = float(log.stints[readings.stint[-1]].stitches)
    weighed = _best_way_round(log, readings, unwrapping, prior, stitches)
    return tell(log, prior, tuple(weighed), unwrapping)


def check(log: DriftLog) -> None:
    """Raise :class:`LogError` where the log cannot be read."""
    if not log.readings:
        raise LogError("There is no reading yet: log where the colour change fell in one round.")
    if not log.stints:
        raise LogError("The stitch count is missing: say how many stitches a round has.")
    if any(s.stitches < 1 for s in log.stints):
        raise LogError("A round needs at least 1 stitch: check the stitch count.")
    if not log.repeats > 0:
        raise LogError("Repeats a round must be above 0, often 1 or 2.")
    seen = set()
    for r in log.readings:
        count = next(
            (s.stitches for s in reversed(log.stints) if s.first_round <= r.round),
            log.stints[0].stitches,
        )
        if r.round < 1 or r.round > _LONGEST:
            raise LogError(f"Round {r.round} cannot be: count rounds from 1 to {_LONGEST}.")
        if not 0 <= r.stitch <= count:
            raise LogError(
                f"Round {r.round}: stitch {r.stitch:g} is outside the round; "
                f"count from 0 to {count}."
            )
        if (r.round, r.change) in seen:
            raise LogError(
                f"Round {r.round} has colour change {r.change} twice: keep one, or number them."
            )
        seen.add((r.round, r.change))


def _best_way_round(
    log: DriftLog, readings: Sorted, unwrapping: Unwrapping, prior: Prior, stitches: float
) -> list[Weighed]:
    """Return weighed accounts for the way of counting wraps that fits better."""
    by_round = timeline(log, readings, unwrapping.shifts, by_strand=False)
    if not unwrapping.shifts.any():
        return _weigh_accounts(log, by_round, prior, stitches)
    by_strand = timeline(log, readings, unwrapping.shifts, by_strand=True)
    ways = [_weigh_accounts(log, line, prior, stitches) for line in (by_round, by_strand)]
    return max(ways, key=lambda w: max(a.log_mass for a in w))


def _log_prior(account: Account, prior: Prior, readings: int) -> float:
    wrong = len(account.miscounts)
    # a miscount may land anywhere in its window
    return float(
        wrong * (np.log(prior.miscount_rate) - np.log(prior.miscount_width))
        + (readings - wrong) * np.log1p(-prior.miscount_rate)
        + len(account.breaks) * np.log(prior.break_rate)
        + len(account.jumps) * np.log(prior.jump_rate)
    )


def _weigh(
    log: DriftLog, line: Timeline, account: Account, noise: Noise, prior: Prior, stitches: float
) -> Weighed:
    reg, rough = centred(regression(log, line, account, prior))
    keep = np.ones(len(line.y), dtype=bool)
    keep[list(account.miscounts)] = False
    mixture = posterior(reg, keep, noise, prior, stitches)
    mass = mixture.log_evidence + _log_prior(account, prior, len(line.y))
    return Weighed(account, line, mass, mixture, reg, rough)


def _weigh_accounts(log: DriftLog, line: Timeline, prior: Prior, stitches: float) -> list[Weighed]:
    noise = coarse_nodes(prior, stitches)
    plain = _weigh(log, line, Account(), noise, prior, stitches)
    weighed = {plain.account: plain}
    best = plain
    m = len(line.y)
    most = min(2 + m // 8, 24)
    while m >= _ENOUGH_TO_SCAN and line.last >= 2:
        account = best.account
        if len(account.miscounts) + len(account.breaks) + len(account.jumps) >= most:
            break
        keep = np.ones(m, dtype=bool)
        keep[list(account.miscounts)] = False
        tried = []
        for proposal in scan(
            best.regression, keep, _noises(best, prior, stitches), prior, stitches
        ):
            if proposal.log_odds < -1.5:
                break
            new = _with(account, proposal.kind, proposal.where)
            if new not in weighed and len(tried) < 5:
                weighed[new] = _weigh(log, line, new, noise, prior, stitches)
                tried.append(weighed[new])
        leader = max(tried, key=lambda w: w.log_mass, default=None)
        if leader is None or leader.log_mass <= best.log_mass:
            break
        best = leader
    top = best.log_mass
    kept = [w for w in weighed.values() if w.log_mass > top - 9.0]
    return [_refine(log, w, noise, prior, stitches) for w in kept]


def _refine(
    log: DriftLog, weighed: Weighed, noise: Noise, prior: Prior, stitches: float
) -> Weighed:
    """Weigh again on nodes about the bulk, where the log says much about the noises."""
    finer = finer_nodes(noise, weighed.mixture)
    if finer is None:
        return weighed
    return _weigh(log, weighed.line, weighed.account, finer, prior, stitches)


def _noises(weighed: Weighed, prior: Prior, stitches: float) -> list[tuple[float, float]]:
    mix = weighed.mixture
    weight = np.exp(mix.log_weight - mix.log_weight.max())
    weight /= weight.sum()
    w = float(np.exp(weight @ np.log(mix.tension_sd)))
    m = float(np.exp(weight @ np.log(mix.reading_sd)))
    # a miscount or a change inflates the noises it hides behind: look with usual ones too
    usual_w = float(np.exp(prior.log_tension_noise(stitches)))
    usual_m = prior.reading_noise_median
    tries = [(w, m)]
    if w > 1.15 * usual_w or m > 1.15 * usual_m:
        tries.append((min(w, usual_w), min(m, usual_m)))
    return tries


def _with(account: Account, kind: str, where: int) -> Account:
    """Return the account with one more thing in it (or one less, where it was there)."""
    return Account(
        miscounts=account.miscounts ^ {where} if kind == "miscount" else account.miscounts,
        breaks=account.breaks ^ {where} if kind == "break" else account.breaks,
        jumps=account.jumps ^ {where} if kind == "jump" else account.jumps,
    )
