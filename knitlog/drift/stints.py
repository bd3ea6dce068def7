"""The drift of every stint, and of every stretch after a change nobody logged."""

from knitlog.drift.fit_result import Estimate, StintDrift
from knitlog.drift.mixture import estimate
from knitlog.drift.path import Smoothed, blended, rounds_of
from knitlog.drift.weighed import Posterior, Weighed


def stint_drifts(
    best: Weighed, paths: list[Smoothed], posterior: Posterior, now: Estimate
) -> tuple[StintDrift, ...]:
    """Return them in order: of the last the drift ``now``, of the others that in their middle."""
    line = best.line
    log, rounds = line.log, rounds_of(best)
    last_round = int(rounds[-1])
    runs = [
        (s.first_round, s, True)
        for s, after in zip(log.stints, (*log.stints[1:], None), strict=True)
        # stints that ended before the first reading tell nothing
        if after is None or after.first_round > line.first_round
    ]
    for start in best.hypothesis.breaks:
        number = line.first_round + start
        stint = max(
            (s for _, s, _ in runs if s.first_round <= number),
            default=log.stints[0],
            key=lambda s: s.first_round,
        )
        runs.append((number, stint, False))
    runs.sort(key=lambda run: (run[0], not run[2]))
    runs[0] = (line.first_round, runs[0][1], runs[0][2])
    weight, mean, variance = blended(paths, "drift")
    told = []
    for i, (first, stint, logged) in enumerate(runs):
        end = runs[i + 1][0] - 1 if i + 1 < len(runs) else max(last_round, first)
        drift = now
        if i + 1 < len(runs):
            if first <= last_round:
                # the first round logged makes no step of its own
                begin = max(first, line.first_round + 1)
                middle = (begin + min(max(end, begin), last_round)) // 2 - line.first_round
                middle = min(middle, len(rounds) - 1)
                own = estimate(weight, mean[:, middle], variance[:, middle])
                drift = _moved(own, log.target_drift)
            else:
                later = [m for m in posterior.later if m.lasting and m.first_round > first]
                after = sum(m.mean for m in later)
                drift = _moved(now, -after)
        told.append(
            StintDrift(
                first_round=first,
                last_round=max(end, first),
                stitches=stint.stitches,
                needle_mm=stint.needle_mm,
                drift=drift,
                logged=logged,
            )
        )
    return tuple(told)


def _moved(e: Estimate, by: float) -> Estimate:
    return Estimate(e.mean + by, e.sd, e.low95 + by, e.high95 + by)
