"""The stitch-count finder: how many stitches, on which needle, for so many repeats.

The colours stack when a round uses exactly k repeats.  With yarn per stitch s known to
a spread, each stitch count N the pattern allows has a predicted drift

    d = k L / s - N

with its own spread, and so a chance of still standing within tolerance at round 5:
r rounds of drift and r rounds of the hand's own unevenness w lie between the first
colour change and the one r rounds above,

    offset ~ Normal(r (d - wanted), r^2 sd(d)^2 + r w^2)

A needle other than the one s is known for changes it by (D2 + y)/(D1 + y), itself only
believed to within a third of the step.  A wanted drift other than 0 is a slow spiral.
"""

import math
from dataclasses import dataclass

from knitlog.drift.fit_result import Estimate
from knitlog.drift.prior import Prior
from knitlog.plan.checks import PlanError, check_not_negative, check_positive
from knitlog.plan.contingency import Contingency, plan_contingency
from knitlog.plan.normal import chance_within, normal_estimate, ratio_estimate
from knitlog.yarn.gauge import Gauge, gauge_from_yarn_per_stitch, stitch_width_mm
from knitlog.yarn.geometry import (
    likely_yarn_thickness,
    needle_response_factor,
    target_yarn_per_stitch,
)

_USUAL_BELIEFS = Prior()


@dataclass(frozen=True, slots=True)
class StitchCountQuestion:
    """What the knitter has and wants."""

    yarn_per_stitch: Estimate
    """On ``needle_mm``, mm."""
    repeat_length_mm: float
    """One repeat of the colour run, mm."""
    needle_mm: float
    """The needle the yarn per stitch and the gauge were found on, mm."""
    gauge: Gauge | None = None
    """On ``needle_mm``; worked out from the yarn per stitch (Munden) if None."""
    wanted_size_mm: float | None = None
    """Finished circumference (width, worked flat), mm; None for any."""
    size_room_percent: float = 5.0
    """How far the size may be off, percent either way."""
    multiple: int = 1
    """Stitches of the pattern's repeat; 0 where the count is fixed."""
    extra: int = 0
    """Stitches beyond the multiple, as in "a multiple of 8 plus 1"."""
    repeats: tuple[float, ...] = (1, 2, 3, 4)
    """Repeats a round to try, k; 0.5 is sensible only for rows worked flat."""
    other_needles_mm: tuple[float, ...] = ()
    """Further needles to try, mm."""
    wanted_drift: float = 0.0
    """0 for stacked colours; a slow spiral of so many stitches a round otherwise."""
    tolerance: float = 3.0
    """Stitches either way that still look in line."""
    by_round: int = 5
    """The round by which to judge."""
    tension_noise_sd: float | None = None
    """Unevenness of one round, stitches; the usual for the count if None."""
    yarn_thickness_mm: float | None = None
    """For the needle's effect, mm; worked out from yarn per stitch and needle if None."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One way to cast on."""

    stitches: int
    """Stitches a round, N."""
    repeats: float
    """Repeats a round, k."""
    needle_mm: float
    """Needle, mm."""
    yarn_per_stitch: Estimate
    """Expected on that needle, mm."""
    target_yarn_per_stitch_mm: float
    """What would give exactly the wanted look, mm."""
    drift: Estimate
    """Predicted, stitches a round."""
    chance_in_tolerance: float
    """Chance that the colour change of round ``by_round`` stands within tolerance of where
    it should, 0 to 1."""
    size_mm: float
    """Finished circumference (width, worked flat), mm."""
    size_off_percent: float | None
    """Size against the wanted one, percent; None if any would do."""
    contingency: Contingency
    """What to do if it does not stack."""


@dataclass(frozen=True, slots=True)
class StitchCounts:
    """The stitch counts worth casting on."""

    candidates: tuple[Candidate, ...]
    """The likeliest to stack first; where none fits, the nearest in size first."""
    fits: bool
    """Whether they are of the wanted size."""


def find_stitch_counts(question: StitchCountQuestion) -> StitchCounts:
    """Every stitch count worth casting on, or the nearest in size where none fits.

    For each needle and number of repeats, the allowed counts on either side of the one
    that would be exact, as far as the wanted size leaves room.

    Raises:
        PlanError: the question makes no sense, or no round is left at all.

    """
    _check(question)
    if not question.multiple:
        raise PlanError(
            "where the stitch count is fixed there is none to find: type the pattern's multiple, "
            "as 8, or judge the one count with 'knitlog plan count'"
        )
    found = [
        candidate_for(question, stitches, repeats, needle)
        for needle in dict.fromkeys((question.needle_mm, *question.other_needles_mm))
        for repeats in dict.fromkeys(question.repeats)
        for stitches in _counts_near(question, _exact_count(question, needle, repeats))
    ]
    if not found:
        raise PlanError(
            f"a spiral of {question.wanted_drift:g} stitches a round leaves no round at all: "
            "ask for a slower one"
        )
    fitting = [candidate for candidate in found if _fits(question, candidate)]
    if not fitting:
        return StitchCounts(tuple(sorted(found, key=_size_off)), fits=False)
    return StitchCounts(tuple(sorted(fitting, key=lambda c: _order(question, c))), fits=True)


def candidate_for(
    question: StitchCountQuestion, stitches: int, repeats: float, needle_mm: float
) -> Candidate:
    """What to expect of one stitch count, number of repeats and needle.

    Raises:
        PlanError: the question makes no sense.

    """
    _check(question)
    check_positive(stitches, "stitch count", "as 128")
    check_positive(repeats, "number of repeats a round", "as 1")
    check_positive(needle_mm, "needle size", "in mm, as 4.5mm")
    s = yarn_per_stitch_on(question, needle_mm)
    drift = predicted_drift(s, stitches, repeats, question.repeat_length_mm)
    size = stitches * _stitch_width(question) * s.mean / question.yarn_per_stitch.mean
    wanted = question.wanted_size_mm
    return Candidate(
        stitches=stitches,
        repeats=repeats,
        needle_mm=needle_mm,
        yarn_per_stitch=s,
        target_yarn_per_stitch_mm=target_yarn_per_stitch(
            stitches + question.wanted_drift, repeats, question.repeat_length_mm
        ),
        drift=drift,
        chance_in_tolerance=chance_of_stacking(
            drift,
            question.wanted_drift,
            question.tolerance,
            question.by_round,
            _unevenness(question, stitches),
        ),
        size_mm=size,
        size_off_percent=None if wanted is None else 100 * (size / wanted - 1),
        contingency=plan_contingency(
            stitches=stitches,
            drift=drift,
            wanted_drift=question.wanted_drift,
            tolerance=question.tolerance,
            by_round=question.by_round,
            multiple=question.multiple,
            needle_mm=needle_mm,
            needles_mm=(question.needle_mm, *question.other_needles_mm),
            yarn_thickness_mm=thickness_of(question),
        ),
    )


def yarn_per_stitch_on(question: StitchCountQuestion, needle_mm: float) -> Estimate:
    """Yarn per stitch expected on another needle, mm, with the spread of the step added."""
    known = question.yarn_per_stitch
    if needle_mm == question.needle_mm:
        return known
    factor = needle_response_factor(question.needle_mm, needle_mm, thickness_of(question))
    # relative spreads add as squares: that of s, and a share of the step itself
    share = math.hypot(
        known.sd / known.mean, _USUAL_BELIEFS.needle_response_log_sd * abs(math.log(factor))
    )
    return ratio_estimate(known.mean * factor, share)


def predicted_drift(
    yarn_per_stitch: Estimate, stitches: float, repeats: float, repeat_length_mm: float
) -> Estimate:
    """Drift to expect of a yarn per stitch known to a spread, stitches a round.

    Raises:
        PlanError: a count or length is not above zero.

    """
    check_positive(yarn_per_stitch.mean, "yarn per stitch", "in mm, as 12mm")
    check_positive(stitches, "stitch count", "as 128")
    check_positive(repeats, "number of repeats a round", "as 1")
    check_positive(repeat_length_mm, "length of the repeat", "with its unit, as 152cm")
    # for s log-normal with relative spread c: E[1/s] = (1 + c^2) / mean, and 1/s has spread c too
    share = yarn_per_stitch.sd / yarn_per_stitch.mean
    exact = repeats * repeat_length_mm / yarn_per_stitch.mean * (1 + share**2)
    return normal_estimate(exact - stitches, exact * share)


def chance_of_stacking(
    drift: Estimate, wanted_drift: float, tolerance: float, by_round: int, tension_noise_sd: float
) -> float:
    """Chance that the colour change of round ``by_round`` stands within tolerance, 0 to 1.

    Measured from the first round's, so over ``by_round - 1`` rounds.
    """
    rounds = by_round - 1
    # offset ~ Normal(r (d - wanted), r^2 sd^2 + r w^2)
    mean = rounds * (drift.mean - wanted_drift)
    sd = math.sqrt((rounds * drift.sd) ** 2 + rounds * tension_noise_sd**2)
    return chance_within(mean, sd, tolerance)


def thickness_of(question: StitchCountQuestion) -> float:
    """Yarn thickness, mm: as given, or what the loop makes likely."""
    if question.yarn_thickness_mm is not None:
        return question.yarn_thickness_mm
    return likely_yarn_thickness(question.yarn_per_stitch.mean, question.needle_mm)


def _stitch_width(question: StitchCountQuestion) -> float:
    """Width of a stitch on the known needle, mm; it grows with s (Munden: width = l / Kw)."""
    gauge = question.gauge or gauge_from_yarn_per_stitch(question.yarn_per_stitch.mean)
    return stitch_width_mm(gauge)


def _unevenness(question: StitchCountQuestion, stitches: float) -> float:
    if question.tension_noise_sd is not None:
        return question.tension_noise_sd
    return math.exp(_USUAL_BELIEFS.log_tension_noise(stitches))


def _exact_count(question: StitchCountQuestion, needle_mm: float, repeats: float) -> float:
    """The stitch count, not whole, that is expected to drift as wanted."""
    s = yarn_per_stitch_on(question, needle_mm)
    # d = k L / s - N = wanted
    return (
        predicted_drift(s, 1, repeats, question.repeat_length_mm).mean + 1 - question.wanted_drift
    )


def _counts_near(question: StitchCountQuestion, exact: float) -> tuple[int, ...]:
    """The allowed counts just below and just above the exact one."""
    steps = math.floor((exact - question.extra) / question.multiple)
    below = question.extra + steps * question.multiple
    near = (below, below + question.multiple)
    # a count that is a whole step off does not stack; with a multiple of 1 both are near
    return tuple(count for count in near if count > 0)


def _fits(question: StitchCountQuestion, candidate: Candidate) -> bool:
    off = candidate.size_off_percent
    return off is None or abs(off) <= question.size_room_percent


def _size_off(candidate: Candidate) -> float:
    return abs(candidate.size_off_percent or 0.0)


def _order(question: StitchCountQuestion, c: Candidate) -> tuple[float, float, float, float]:
    """Likeliest to stack first; then the known needle, the nearer size, the fewer stitches."""
    return (
        -round(c.chance_in_tolerance, 3),
        abs(c.needle_mm - question.needle_mm),
        _size_off(c),
        c.stitches,
    )


def _check(question: StitchCountQuestion) -> None:
    check_positive(question.yarn_per_stitch.mean, "yarn per stitch", "in mm, as 12mm")
    check_not_negative(question.yarn_per_stitch.sd, "spread of yarn per stitch", "in mm, as 0.2mm")
    check_positive(question.repeat_length_mm, "length of the repeat", "with its unit, as 152cm")
    check_positive(question.needle_mm, "needle size", "in mm, as 4.5mm")
    for needle in question.other_needles_mm:
        check_positive(needle, "needle size", "in mm, as 4.5mm")
    if question.wanted_size_mm is not None:
        check_positive(question.wanted_size_mm, "wanted size", "with its unit, as 50cm")
    check_not_negative(question.size_room_percent, "room in the size", "in percent, as 5")
    check_not_negative(question.tolerance, "tolerance", "in stitches, as 3")
    if not question.repeats:
        raise PlanError("say how many repeats a round may use, as 1")
    for repeats in question.repeats:
        check_positive(repeats, "number of repeats a round", "as 1")
    if question.multiple < 0:
        raise PlanError("the pattern multiple cannot be below zero: type 1 if any count will do")
    if not question.extra >= 0:
        raise PlanError("the stitches beyond the multiple cannot be below zero: type 0 for none")
    if question.by_round < 2:
        raise PlanError("one round alone cannot stack: judge by round 2 or later, as 5")
