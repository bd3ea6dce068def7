"""What to believe of the next project, before its first round.

Everything here takes ``hands``; hands that have finished nothing give the usual beliefs,
so that doing without a history is one argument away.
"""

from dataclasses import dataclass, replace
from math import exp, hypot, sqrt
from math import log as ln

from knitlog.advice.limits import Limits
from knitlog.drift.prior import Prior
from knitlog.drift.result import Estimate
from knitlog.hands.learn import Hands, loop_mm
from knitlog.hands.records import Work
from knitlog.hands.yarn_model import Kind, plain_word
from knitlog.plan.stitch_yarn import PastProject
from knitlog.yarn.geometry import needle_response_factor

_SMALLEST_FIX_SHARE = 0.02


@dataclass(frozen=True, slots=True)
class Begun:
    """The arithmetic of a project about to be cast on."""

    stitches: int
    repeats: float = 1
    repeat_length_mm: float | None = None
    target_drift: float = 0.0
    """Stitches/round."""


def yarn_per_stitch(hands: Hands, work: Work) -> Estimate | None:
    """Return yarn per stitch to expect of ``work``, mm: by its gauge, or else by its needle.

    None where neither is known.
    """
    kind = Kind(work.needle_mm, work.fibre, work.stitch_pattern)
    if work.gauge_stitches_per_cm:
        # s = Kw / (stitches per mm)
        return _scaled(hands.by_gauge.expect(kind), 10.0 / work.gauge_stitches_per_cm, 0.0)
    if work.needle_mm:
        loop, sd = loop_mm(work.needle_mm, work.yarn_thickness_mm)
        return _scaled(hands.by_needle.expect(kind), loop, sd)
    return None


def expected_drift(hands: Hands, work: Work, begun: Begun) -> Estimate | None:
    """Return the drift to expect, stitches/round, from her past projects alone.

    None where yarn per stitch or the repeat's length is not known, or nothing was finished.
    """
    if not hands.known or begun.repeat_length_mm is None:
        return None
    yarn = yarn_per_stitch(hands, work)
    if yarn is None:
        return None
    # d = k L / s - N; the spread of 1/s is that of s, relatively
    whole = begun.repeats * begun.repeat_length_mm
    share = yarn.sd / yarn.mean
    return Estimate(
        whole / yarn.mean * (1.0 + share**2) - begun.stitches,
        whole / yarn.mean * share,
        whole / yarn.high95 - begun.stitches,
        whole / yarn.low95 - begun.stitches,
    )


def to_prior(
    hands: Hands, work: Work | None = None, begun: Begun | None = None, base: Prior | None = None
) -> Prior:
    """Return the belief a fit of the next project should start from.

    Args:
        hands: what is known of the knitter.
        work: what is to be knitted, as far as known.
        begun: its stitch count and yarn; without it the first drift is left as usual.
        base: the beliefs hands do not touch.

    """
    prior = base or Prior()
    if not hands.known:
        return prior
    drift = None if begun is None else expected_drift(hands, work or Work(), begun)
    mean, sd = prior.drift_mean, prior.drift_sd
    if drift is not None and begun is not None:
        # two independent beliefs: she aimed at the target, and these are her hands
        aim_mean, aim_sd = prior.first_drift(begun.stitches, begun.target_drift)
        here, there = 1.0 / drift.sd**2, 1.0 / aim_sd**2
        mean = (here * drift.mean + there * aim_mean) / (here + there)
        sd = sqrt(1.0 / (here + there))
    tension, reading = hands.tension_noise.next, hands.reading_noise.next
    return replace(
        prior,
        tension_noise_median=exp(tension.mean),
        reading_noise_median=exp(reading.mean),
        noise_log_sd=sqrt((tension.sd**2 + reading.sd**2) / 2.0),
        needle_response_factor=hands.needle_response.next.mean,
        needle_response_log_sd=hands.needle_response.next.sd,
        drift_mean=mean,
        drift_sd=sd,
    )


def past_projects(hands: Hands, work: Work) -> tuple[PastProject, ...]:
    """Return yarn per stitch of every finished project of this needle, fibre and pattern, mm.

    What ``work`` leaves out need not match.
    """
    found = []
    for project in hands.projects:
        if not (
            _matches(work.fibre, project.work.fibre)
            and _matches(work.stitch_pattern, project.work.stitch_pattern)
        ):
            continue
        stints = [s for s in project.stints if work.needle_mm in (None, s.needle_mm)]
        if stints:
            best = min(stints, key=lambda s: s.yarn_per_stitch_sd_mm)
            found.append(PastProject(best.yarn_per_stitch_mm, best.yarn_per_stitch_sd_mm))
    return tuple(found)


def to_limits(hands: Hands, base: Limits | None = None) -> Limits:
    """Return how far her fixes miss, as the advice believes it.

    A habit of doing too much or too little counts as a miss too: the advice aims straight.
    """
    limits = base or Limits()
    if not hands.fixes:
        return limits
    landed = [(habit.share.next, habit.share.count) for habit in hands.fixes]
    total = sum(count for _, count in landed)
    share = sqrt(sum(n * hypot(e.mean - 1.0, e.sd) ** 2 for e, n in landed) / total)
    return replace(limits, miss_share=max(share, _SMALLEST_FIX_SHARE))


def _matches(wanted: str | None, seen: str | None) -> bool:
    if wanted is None:
        return True
    return seen is not None and plain_word(wanted) == plain_word(seen)


def _scaled(log_ratio: Estimate, by: float, extra_sd: float) -> Estimate:
    """Return exp(log_ratio) * by, with ``extra_sd`` more spread of the log."""
    sd = hypot(log_ratio.sd, extra_sd)
    mean = by * exp(log_ratio.mean + sd**2 / 2)
    wider = sd / log_ratio.sd
    return Estimate(
        mean,
        mean * sqrt(exp(sd**2) - 1.0),
        by * exp(log_ratio.mean - wider * (log_ratio.mean - log_ratio.low95)),
        by * exp(log_ratio.mean + wider * (log_ratio.high95 - log_ratio.mean)),
    )


def step_percent(hands: Hands, from_mm: float, to_mm: float, yarn_thickness_mm: float) -> Estimate:
    """Return how much more yarn (%) a stitch takes after a needle change."""
    # s2 / s1 = ((D2 + y) / (D1 + y))^factor
    step = ln(needle_response_factor(from_mm, to_mm, yarn_thickness_mm))
    e = hands.needle_response.next
    ends = sorted(100.0 * (exp(f * step) - 1.0) for f in (e.low95, e.high95))
    mean = 100.0 * (exp(e.mean * step) - 1.0)
    return Estimate(mean, 100.0 * abs(step) * e.sd, *ends)
