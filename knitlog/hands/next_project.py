"""What to believe of the next project, before its first round.

Everything here takes ``hands``; hands that have finished nothing give the usual beliefs,
so that doing without a history is one argument away.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import exp, hypot, sqrt
from math import log as ln

from knitlog.advice.limits import Limits
from knitlog.drift.fit_result import Estimate
from knitlog.drift.prior import REFERENCE_STITCHES, Prior
from knitlog.hands.learn import Hands, loop_mm
from knitlog.hands.pooling import HandsError, Hyperprior, pool
from knitlog.hands.records import Materials
from knitlog.hands.yarn_model import PROJECT_SCALE
from knitlog.yarn.geometry import needle_response_factor

_SMALLEST_FIX_SHARE = 0.02
_SMALLEST_ROW_EFFECT = 0.1
_KNOWN_EXACTLY = 1e-4
"""Spread taken for a yarn per stitch given without one, as a share."""


@dataclass(frozen=True, slots=True)
class CastOn:
    """The arithmetic of a project about to be cast on."""

    stitches: int
    repeats: float = 1
    repeat_length_mm: float | None = None
    target_drift: float = 0.0
    """Stitches/round."""
    flat: bool = False


def yarn_per_stitch(hands: Hands, materials: Materials) -> Estimate | None:
    """Return yarn per stitch to expect of ``work``, mm: by its gauge, or else by its needle.

    None where neither is known.
    """
    if materials.gauge_stitches_per_cm:
        # s = Kw / (stitches per mm)
        return _scaled(
            hands.by_gauge.expect(materials), 10.0 / materials.gauge_stitches_per_cm, 0.0
        )
    if materials.needle_mm:
        loop, sd = loop_mm(materials.needle_mm, materials.yarn_thickness_mm)
        return _scaled(hands.by_needle.expect(materials), loop, sd)
    return None


def yarn_of_projects(told: Iterable[tuple[float, float]]) -> Estimate:
    """Return yarn per stitch to expect of the next project, mm, from those before it.

    ``told``: yarn per stitch and its spread, mm, of each project with this yarn and needle.

    Raises:
        HandsError: no project, a yarn per stitch not above zero or a spread below zero.

    """
    projects = tuple(told)
    if not projects:
        raise HandsError("There is no past project to go by; measure a swatch instead.")
    if any(not mean > 0 or sd < 0 for mean, sd in projects):
        raise HandsError("The yarn per stitch of a past project must be above zero, as 12mm.")
    logs = [ln(mean) for mean, _ in projects]
    # nothing is believed of where they lie, only of how far apart
    belief = Hyperprior(centre=sum(logs) / len(logs), centre_sd=1.0, spread=PROJECT_SCALE)
    shares = [max(sd / mean, _KNOWN_EXACTLY) for mean, sd in projects]
    return _scaled(pool(logs, shares, belief).next, 1.0, 0.0)


def expected_drift(hands: Hands, materials: Materials, cast_on: CastOn) -> Estimate | None:
    """Return the drift to expect, stitches/round, from her past projects alone.

    None where yarn per stitch or the repeat's length is not known, or nothing was finished.
    """
    if not hands.known or cast_on.repeat_length_mm is None:
        return None
    yarn = yarn_per_stitch(hands, materials)
    if yarn is None:
        return None
    # d = k L / s - N; the spread of 1/s is that of s, relatively
    whole = cast_on.repeats * cast_on.repeat_length_mm
    share = yarn.sd / yarn.mean
    return Estimate(
        whole / yarn.mean * (1.0 + share**2) - cast_on.stitches,
        whole / yarn.mean * share,
        whole / yarn.high95 - cast_on.stitches,
        whole / yarn.low95 - cast_on.stitches,
    )


def to_prior(
    hands: Hands, materials: Materials | None = None, cast_on: CastOn | None = None
) -> Prior:
    """Return the belief a fit of the next project should start from.

    Args:
        hands: what is known of the knitter.
        materials: what is to be knitted, as far as known.
        cast_on: its stitch count and yarn; without it the first drift is left as usual.

    """
    prior = Prior()
    if not hands.known:
        return prior
    drift = None if cast_on is None else expected_drift(hands, materials or Materials(), cast_on)
    mean, sd = prior.drift_mean, prior.drift_sd
    if drift is not None and cast_on is not None:
        # two independent beliefs: she aimed at the target, and these are her hands
        aim_mean, aim_sd = prior.first_drift(cast_on.stitches, cast_on.target_drift)
        here, there = 1.0 / drift.sd**2, 1.0 / aim_sd**2
        mean = (here * drift.mean + there * aim_mean) / (here + there)
        sd = sqrt(1.0 / (here + there))
    tension, reading = hands.tension_noise.next, hands.reading_noise.next
    if cast_on is not None and cast_on.flat and hands.purl.count:
        prior = replace(prior, pattern_nodes=((_row_effect(hands), 1.0),))
    return replace(
        prior,
        creep_nodes=hands.creep.nodes,
        tension_response_mean=hands.tension_answer.next.mean,
        tension_response_sd=hands.tension_answer.next.sd,
        tension_noise_median=exp(tension.mean),
        reading_noise_median=exp(reading.mean),
        noise_log_sd=sqrt((tension.sd**2 + reading.sd**2) / 2.0),
        needle_response_factor=hands.needle_response.next.mean,
        needle_response_log_sd=hands.needle_response.next.sd,
        drift_mean=mean,
        drift_sd=sd,
    )


def _row_effect(hands: Hands) -> float:
    """Return what a row of hers adds to the offset because it is knitted or purled.

    Stitches on 128, as a spread about nothing: which of the two comes first is not told.
    """
    # rows of s (1 - q / 200) and s (1 + q / 200), of N stitches each
    q = hypot(hands.purl.next.mean, hands.purl.next.sd)
    return max(q / 200.0 * REFERENCE_STITCHES, _SMALLEST_ROW_EFFECT)


def to_limits(hands: Hands) -> Limits:
    """Return how far her fixes miss, as the advice believes it.

    A habit of doing too much or too little counts as a miss too: the advice aims straight.
    """
    limits = Limits()
    if not hands.fixes:
        return limits
    landed = [(habit.share.next, habit.share.count) for habit in hands.fixes]
    total = sum(count for _, count in landed)
    share = sqrt(sum(n * hypot(e.mean - 1.0, e.sd) ** 2 for e, n in landed) / total)
    return replace(limits, miss_share=max(share, _SMALLEST_FIX_SHARE))


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


@dataclass(frozen=True, slots=True)
class KindKnitted:
    """One needle, fibre and pattern she has knitted."""

    needle_mm: float | None
    fibre: str | None
    stitch_pattern: str | None
    projects: int
    low_mm: float
    """Least yarn per stitch of those projects, mm."""
    high_mm: float
    """Most."""
    next_mm: Estimate | None
    """What to expect of another such project with a new yarn, mm; None without a needle."""


def kinds_knitted(hands: Hands) -> tuple[KindKnitted, ...]:
    """Return every kind of work in the finished projects, by needle, then fibre and pattern."""
    found: dict[tuple[float, str, str], list[tuple[str, float, Materials]]] = {}
    for project in hands.projects:
        for stint in project.stints:
            key = (
                stint.needle_mm or 0.0,
                project.materials.fibre or "",
                project.materials.stitch_pattern or "",
            )
            found.setdefault(key, []).append(
                (project.name, stint.yarn_per_stitch_mm, project.materials)
            )
    rows = []
    for (needle, fibre, pattern), cases in sorted(found.items()):
        thick = [w.yarn_thickness_mm for _, _, w in cases if w.yarn_thickness_mm is not None]
        materials = Materials(
            needle_mm=needle or None,
            yarn_thickness_mm=sum(thick) / len(thick) if thick else None,
            fibre=fibre or None,
            stitch_pattern=pattern or None,
        )
        yarn = [value for _, value, _ in cases]
        rows.append(
            KindKnitted(
                needle_mm=materials.needle_mm,
                fibre=materials.fibre,
                stitch_pattern=materials.stitch_pattern,
                projects=len({name for name, _, _ in cases}),
                low_mm=min(yarn),
                high_mm=max(yarn),
                next_mm=yarn_per_stitch(hands, materials),
            )
        )
    return tuple(rows)
