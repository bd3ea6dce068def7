"""Records and beliefs worked by hand, and drawn or integrated by brute force."""

from dataclasses import replace
from math import exp, hypot, log, pi, sqrt

import numpy as np
import pytest
from scipy import integrate, stats

from knitlog.drift import DriftLog, Fix, Prior, Reading, Stint, fit
from knitlog.drift.fit_result import Estimate
from knitlog.hands.landing import landings
from knitlog.hands.learn import FixHabit, any_landing, learn
from knitlog.hands.look_back import _without_belief, look_back
from knitlog.hands.next_project import (
    CastOn,
    expected_drift,
    kinds_knitted,
    step_percent,
    to_limits,
    to_prior,
    yarn_of_projects,
    yarn_per_stitch,
)
from knitlog.hands.pooling import HandsError, Hyperprior, Pooled, pool
from knitlog.hands.records import (
    FinishedProject,
    FixRecord,
    Materials,
    NeedleStep,
    NoiseRecord,
    SittingRun,
    StintRecord,
)
from knitlog.hands.sitting_noise import sitting_noise

WORK = Materials(4.0, 2.2, 2.2, "wool", "plain")
SHAWL = FinishedProject(
    "shawl",
    WORK,
    stints=(
        StintRecord(1, 20, 128, 4.0, 18.0, 0.09, 2.2),
        StintRecord(21, 20, 128, 4.5, 19.0, 0.19),
    ),
    steps=(NeedleStep(0.08, 0.04, 0.01), NeedleStep(0.0, 0.01, 0.01)),
    noise=NoiseRecord(log(0.9), 0.2, log(0.4), 0.3),
    fixes=(
        FixRecord("rip back", 5.0, 5.0, 0.4),
        FixRecord("tapestry needle", 10.0, 7.5, 0.4),
        FixRecord("tapestry needle", -12.0, -9.0, 0.4),
    ),
)
HAT = FinishedProject(
    "hat",
    Materials(4.0, None, None, "Wool ", "plain"),
    stints=(StintRecord(1, 20, 128, 4.0, 17.0, 0.085),),
)


def test_yarn_is_told_against_the_gauge_and_against_the_loop() -> None:
    hands = learn([SHAWL, HAT])
    # Kw = 18 mm x 0.22 stitches a mm = 3.96 (Munden 1959); spread 0.09 / 18
    (seen,) = hands.by_gauge.sightings
    assert seen.value == pytest.approx(log(3.96))
    assert seen.sd == pytest.approx(0.005)
    assert (seen.materials.needle_mm, seen.materials.fibre) == (4.0, "wool")
    # pi (4 + 2.2) = 19.4779, pi (4.5 + 2.2) = 21.0487; nobody measured the hat's yarn, so 2 mm
    # with 0.5 either way: pi x 6 = 18.8496, spread root(0.005^2 + (0.5 / 6)^2) = 0.083483
    assert [s.value for s in hands.by_needle.sightings] == pytest.approx(
        [log(18 / 19.4779), log(19 / 21.0487), log(17 / 18.8496)], abs=1e-5
    )
    assert [s.sd for s in hands.by_needle.sightings] == pytest.approx(
        [0.005, 0.01, 0.083483], rel=1e-5
    )
    assert hands.yarn is hands.by_gauge
    assert learn([HAT]).yarn.sightings[0].project == "hat"
    # a stint on a needle nobody noted is passed over, not all that come after it
    unnoted = replace(HAT, stints=(StintRecord(1, 9, 128, None, 16.0, 0.1), *HAT.stints))
    assert len(learn([unnoted]).by_needle.sightings) == 1


def test_a_needles_answer_is_told_against_the_loop_laws() -> None:
    # 0.04 of 0.08: half the law's answer, spread 0.01 / 0.08; a step of no size tells nothing
    assert same(learn([SHAWL]).needle_response, pool([0.5], [0.125], Hyperprior(1.0, 0.30, 0.18)))


def test_noises_are_pooled_as_logs() -> None:
    hands = learn([SHAWL])
    # the drift room's medians 0.7 and 0.5 and its spread 0.7, four fifths of it between
    # knitters and three within: 0.8^2 + 0.6^2 = 1
    assert same(hands.tension_noise, pool([log(0.9)], [0.2], Hyperprior(log(0.7), 0.56, 0.42)))
    assert same(hands.reading_noise, pool([log(0.4)], [0.3], Hyperprior(log(0.5), 0.56, 0.42)))


def same(a: Pooled, b: Pooled) -> bool:
    """Whether two answers are one but for rounding."""
    return a.count == b.count and (a.mean.mean, a.mean.sd, a.between_sd, a.next.sd) == (
        pytest.approx((b.mean.mean, b.mean.sd, b.between_sd, b.next.sd), rel=1e-9)
    )


def test_fixes_are_told_as_shares_of_what_was_meant() -> None:
    most, least = learn([SHAWL]).fixes
    assert (most.how, least.how) == ("tapestry needle", "rip back")
    # root(0.4^2 + 0.3^2) = 0.5 stitches: 0.05 of 10, 0.041667 of 12; 0.1 of 5
    belief = Hyperprior(1.0, 0.15, 0.12)
    assert same(most.share, pool([0.75, 0.75], [0.05, 0.5 / 12], belief))
    assert same(least.share, pool([1.0], [0.1], belief))
    assert same(any_landing(), pool([], [], belief))


def by_brute_force(runs: list[SittingRun]) -> tuple[float, float, float, float]:
    """Mean, sd and 95 % ends of the spread between sittings, on a fine grid."""
    tau = 0.4 * 5 * (np.arange(800) + 0.5) / 800
    log_weight = -0.5 * (tau / 0.4) ** 2
    for run in runs:
        n, y = np.array(run.rounds, float), np.array(run.moved)
        # readings at the ends of sittings; two neighbours share one, so the noise of the
        # differences has twice its variance, and minus once between neighbours
        ends = np.diff(np.eye(len(n) + 1), axis=0)
        known = run.reading_sd**2 * ends @ ends.T
        known += np.diag(n * run.tension_sd**2 + np.array(run.known_sd) ** 2)
        # a drift nothing is known of
        known += 1e6 * np.outer(n, n)
        each = run.stitches / 128
        log_weight = log_weight + [
            stats.multivariate_normal(
                np.zeros(len(n)), known + np.diag((n * t * each) ** 2)
            ).logpdf(y)
            for t in tau
        ]
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    mean = float(weight @ tau)
    low, high = (float(tau[np.searchsorted(np.cumsum(weight), q)]) for q in (0.025, 0.975))
    return mean, float(np.sqrt(weight @ (tau - mean) ** 2)), low, high


RUNS = [
    SittingRun(128, (5, 6, 4, 5), (4.1, 9.3, 1.2, 6.0), (0.0, 0.9, 0.0, 0.0), 0.7, 0.4),
    SittingRun(256, (3, 8, 2), (-1.0, 6.5, 2.4), (0.0, 0.0, 0.0), 1.0, 0.6),
]


@pytest.mark.parametrize("runs", [RUNS[:1], RUNS[1:], RUNS])
def test_sittings_meet_integration_by_brute_force(runs: list[SittingRun]) -> None:
    told, (mean, sd, low, high) = sitting_noise(runs), by_brute_force(runs)
    assert told.mean == pytest.approx(mean, abs=0.005)
    assert told.sd == pytest.approx(sd, rel=0.02)
    # the ends are nodes of its grid, a sixtieth of 1.6 apart
    assert told.low95 == pytest.approx(low, abs=0.027)
    assert told.high95 == pytest.approx(high, abs=0.027)


def test_yarn_per_stitch_of_any_knitter_by_gauge_and_by_needle() -> None:
    nobody = learn([])
    told = nobody.by_gauge.expect(Materials(4.0, fibre="wool", stitch_pattern="plain"))
    assert told.mean == pytest.approx(log(4.1))
    by_gauge = yarn_per_stitch(nobody, WORK)
    assert by_gauge is not None
    # s = Kw / (stitches a mm), log-normal: mean e^(mu + sd^2 / 2), spread root(e^(sd^2) - 1) of it
    assert by_gauge.mean == pytest.approx(4.1 / 0.22 * exp(told.sd**2 / 2))
    assert by_gauge.sd == pytest.approx(by_gauge.mean * sqrt(exp(told.sd**2) - 1))
    assert by_gauge.low95 == pytest.approx(exp(told.low95) / 0.22)
    assert by_gauge.high95 == pytest.approx(exp(told.high95) / 0.22)
    # nobody measured the yarn: pi x 6 mm, and 0.5 / 6 more spread of the log
    by_needle = yarn_per_stitch(nobody, replace(WORK, gauge_stitches_per_cm=None, **UNMEASURED))
    loop = nobody.by_needle.expect(Materials(4.0, fibre="wool", stitch_pattern="plain"))
    sd = hypot(loop.sd, 0.5 / 6)
    assert by_needle is not None
    assert by_needle.mean == pytest.approx(6 * pi * exp(sd**2 / 2))
    assert by_needle.low95 == pytest.approx(6 * pi * exp(sd / loop.sd * loop.low95))
    assert by_needle.high95 == pytest.approx(6 * pi * exp(sd / loop.sd * loop.high95))

    measured = yarn_per_stitch(nobody, replace(WORK, gauge_stitches_per_cm=None))
    assert measured is not None
    assert measured.mean == pytest.approx(6.2 * pi * exp(loop.sd**2 / 2))


UNMEASURED = {"yarn_thickness_mm": None}


def test_the_drift_to_expect_against_drawn_yarn() -> None:
    hands = learn([SHAWL, HAT])
    yarn = yarn_per_stitch(hands, WORK)
    told = expected_drift(hands, WORK, CastOn(76, 2, 762.0))
    assert yarn is not None
    assert told is not None
    sigma = sqrt(log(1 + (yarn.sd / yarn.mean) ** 2))
    drawn = np.random.default_rng(1).lognormal(log(yarn.mean) - sigma**2 / 2, sigma, 400_000)
    # d = k L / s - N
    drift = 2 * 762.0 / drawn - 76
    assert told.mean == pytest.approx(drift.mean(), abs=0.03)
    assert told.sd == pytest.approx(drift.std(), rel=0.02)
    # most yarn, least drift
    assert told.low95 == pytest.approx(2 * 762.0 / yarn.high95 - 76)
    assert told.high95 == pytest.approx(2 * 762.0 / yarn.low95 - 76)


def test_the_next_fits_belief_is_two_normals_multiplied() -> None:
    hands = learn([SHAWL, HAT])
    begun = CastOn(76, 1, 1524.0, target_drift=1.0)
    drift = expected_drift(hands, WORK, begun)
    assert drift is not None
    prior = to_prior(hands, WORK, begun)
    # she aimed at 1, give or take 8 % of 76 = 6.08 stitches
    here, there = 1 / drift.sd**2, 1 / 6.08**2
    assert prior.drift_mean == pytest.approx((here * drift.mean + there * 1.0) / (here + there))
    assert prior.drift_sd == pytest.approx(1 / sqrt(here + there))
    tension, reading = hands.tension_noise.next, hands.reading_noise.next
    assert prior.tension_noise_median == pytest.approx(exp(tension.mean))
    assert prior.reading_noise_median == pytest.approx(exp(reading.mean))
    # one spread serves both noises: their root mean square
    assert prior.noise_log_sd**2 == pytest.approx((tension.sd**2 + reading.sd**2) / 2)
    assert prior.needle_response_factor == hands.needle_response.next.mean
    assert prior.needle_response_log_sd == hands.needle_response.next.sd
    # what hands say nothing of stays as usual
    assert to_prior(hands).jump_rate == Prior().jump_rate
    assert to_prior(hands).drift_mean is None


def habit(mean: float, sd: float, count: int) -> FixHabit:
    told = Estimate(mean, sd, mean - 2 * sd, mean + 2 * sd)
    return FixHabit("tapestry needle", Pooled(told, 0.0, told, count))


def test_how_far_fixes_miss_weighs_habits_by_their_number() -> None:
    nobody = learn([])
    # one of 3 and 0.4 off, three of 0 and 0.1: root((0.3^2 + 0.4^2 + 3 x 0.1^2) / 4) = 0.26458
    mixed = replace(nobody, fixes=(habit(0.7, 0.4, 1), habit(1.0, 0.1, 3)))
    assert to_limits(mixed).miss_share == pytest.approx(0.26458, abs=1e-5)
    # nobody lands better than 2 %
    assert to_limits(replace(nobody, fixes=(habit(1.0, 0.001, 9),))).miss_share == 0.02


def test_a_needle_step_in_percent() -> None:
    # y = 2.2: 4.5 to 5.0 takes 7.2 / 6.7 = 7.463 % more yarn if she answers as the loop law does
    nobody = learn([])
    said = step_percent(nobody, 4.5, 5.0, 2.2)
    assert said.mean == pytest.approx(7.4627, abs=1e-4)
    answer, step = nobody.needle_response.next, log(7.2 / 6.7)
    assert said.sd == pytest.approx(100 * step * answer.sd)
    assert said.low95 == pytest.approx(100 * ((7.2 / 6.7) ** answer.low95 - 1))
    assert said.high95 == pytest.approx(100 * ((7.2 / 6.7) ** answer.high95 - 1))
    down = step_percent(nobody, 5.0, 4.5, 2.2)
    assert down.mean == pytest.approx(-6.9444, abs=1e-4)
    assert down.low95 < down.mean < down.high95
    assert down.sd == pytest.approx(said.sd)


def test_kinds_are_listed_with_their_least_and_most() -> None:
    small, large = kinds_knitted(
        learn([SHAWL, replace(HAT, materials=replace(HAT.materials, fibre="wool"))])
    )
    assert (small.needle_mm, small.projects, small.low_mm, small.high_mm) == (4.0, 2, 17.0, 18.0)
    assert (large.needle_mm, large.projects, large.low_mm, large.high_mm) == (4.5, 1, 19.0, 19.0)
    # the next such project is expected on yarn as thick as that of the others was
    assert large.next_mm == yarn_per_stitch(
        learn([SHAWL, HAT]), Materials(4.5, None, 2.2, "wool", "plain")
    )


def test_a_belief_is_taken_out_of_what_it_became() -> None:
    # Normal(0, 0.7^2) and data that say 1.0 give or take 0.35: precisions 2.0408 and 8.1633,
    # so Normal(0.8, 0.098); taken out again the data are left
    spread = sqrt(0.098)
    assert _without_belief(np.array([0.8 - spread, 0.8 + spread]), 0.0, 0.7) == pytest.approx(
        (1.0, 0.35)
    )
    # data that say nothing count for a tenth of the belief, about its own centre
    assert _without_belief(np.array([2.3, 3.7]), 3.0, 0.7) == pytest.approx((3.0, sqrt(4.9)))


def knitted() -> DriftLog:
    """1.5 a round on 4.0 mm, then -4 on 4.5 mm; at rounds 10 and 30 a fix meant as 10 does 6."""
    offsets = []
    for r in range(40):
        drifted = 1.5 * min(r, 20) - 4.0 * max(r - 20, 0)
        offsets.append(60.37 + drifted - 6.0 * (r >= 10) + 6.0 * (r >= 30))
    wiggle = np.random.default_rng(2).normal(0, 0.05, 40)
    return DriftLog(
        tuple(
            Reading(r + 1, float((o + w) % 128), sitting=r // 4)
            for r, (o, w) in enumerate(zip(offsets, wiggle, strict=True))
        ),
        (Stint(1, 128, 4.0), Stint(22, 128, 4.5)),
        fixes=(Fix(10, 10.0), Fix(30, -10.0, "rip back"), Fix(35, 1.0)),
        repeat_length_mm=1524.0,
        yarn_thickness_mm=2.2,
    )


def test_a_project_is_boiled_down_to_what_was_knitted() -> None:
    found = look_back(knitted(), "cowl", WORK)
    first, second = found.stints
    # k L = (N + d) s: 1524 / 129.5 = 11.768, 1524 / 124 = 12.290
    assert first.yarn_per_stitch_mm == pytest.approx(11.768, abs=0.02)
    assert second.yarn_per_stitch_mm == pytest.approx(12.290, abs=0.02)
    assert (first.first_round, first.rounds, first.stitches, first.needle_mm) == (1, 21, 128, 4.0)
    assert (second.first_round, second.rounds, second.needle_mm) == (22, 19, 4.5)
    assert 0 < first.yarn_per_stitch_sd_mm < 0.05
    # the gauge was counted on the first needle
    assert (first.gauge_stitches_per_cm, second.gauge_stitches_per_cm) == (2.2, None)
    (step,) = found.steps
    assert step.expected_log == pytest.approx(log(6.7 / 6.2))
    assert step.answer_log == pytest.approx(log(129.5 / 124), abs=0.003)
    whole = hypot(
        first.yarn_per_stitch_sd_mm / first.yarn_per_stitch_mm,
        second.yarn_per_stitch_sd_mm / second.yarn_per_stitch_mm,
    )
    assert step.answer_sd == pytest.approx(whole, rel=1e-6)
    # the fix of one stitch is too small to say what share of it was done
    assert [(f.how, f.meant) for f in found.fixes] == [
        ("tapestry needle", 10.0),
        ("rip back", -10.0),
    ]
    assert [f.did for f in found.fixes] == pytest.approx([6.0, -6.0], abs=0.4)


def test_sittings_are_told_from_end_to_end_with_fixes_put_back() -> None:
    found = look_back(knitted(), "cowl", WORK)
    first, second = found.sittings
    # sittings of 4 rounds end at rounds 4, 8 ... 20 and with the needle's last round, 21
    assert first.rounds == (4, 4, 4, 4, 1)
    # 6 a sitting; to round 12 a fix that did 6 and is put back as the 10 it was meant to be
    assert first.moved == pytest.approx((6.0, 10.0, 6.0, 6.0, 1.5), abs=0.3)
    # root(0.3^2 + (0.15 x 10)^2) = 1.5297
    assert first.known_sd == pytest.approx((0.0, 1.5297, 0.0, 0.0, 0.0), abs=1e-4)
    assert second.rounds == (4, 4, 4, 4)
    assert (first.stitches, second.stitches) == (128, 128)


def test_a_count_between_two_needles_is_no_needle_step() -> None:
    stints = (Stint(1, 128, 4.0), Stint(11, 130, 4.0), Stint(22, 130, 4.5))
    worked = replace(knitted(), stints=stints)
    (step,) = look_back(worked, "cowl", WORK).steps
    # by the loop law, thickness 2.2: (4.5 + 2.2) / (4.0 + 2.2)
    assert step.expected_log == pytest.approx(log(6.7 / 6.2))


def test_three_sittings_are_too_few_to_tell_them_apart() -> None:
    log = knitted()
    few = replace(log, readings=log.readings[:12], stints=log.stints[:1], fixes=())
    assert look_back(few, "cowl", WORK).sittings == ()
    more = replace(few, readings=log.readings[:16])
    assert [run.rounds for run in look_back(more, "cowl", WORK).sittings] == [(4, 4, 4)]


def test_a_landing_tells_what_stood_before_and_what_was_left() -> None:
    first, *_ = landings(fit(knitted()))
    assert first.did is not None
    # nine rounds of 1.5 by round 10, where the fix was made; 6 of it went
    assert first.before == pytest.approx(13.5, abs=0.3)
    assert first.did.mean == pytest.approx(6.0, abs=0.3)
    assert first.after == pytest.approx(first.before - first.did.mean)
    assert first.did.high95 - first.did.mean == pytest.approx(1.96 * first.did.sd, rel=1e-3)
    assert first.did.mean - first.did.low95 == pytest.approx(1.96 * first.did.sd, rel=1e-3)


def test_one_project_told_of_leaves_the_next_as_far_as_projects_are_apart() -> None:
    # of the log: its own spread 0.1 / 12 and twice the square of 3 %, once for her mean about
    # it and once for the next about her mean: root(0.00833^2 + 2 x 0.03^2) = 4.324 %
    found = yarn_of_projects([(12.0, 0.1)])
    share = 0.043237
    assert found.mean == pytest.approx(12.0 * exp(share**2 / 2), rel=1e-3)
    assert found.sd / found.mean == pytest.approx(share, rel=0.01)


@pytest.mark.parametrize(("one", "other", "sd"), [(11.8, 12.2, 0.1), (11.5, 12.5, 0.2)])
def test_two_projects_told_of_against_quadrature(one: float, other: float, sd: float) -> None:
    # tau ~ half-normal(3 %); given it their difference is N(0, 2 (s^2 + tau^2)), and the next
    # lies (s^2 + tau^2) / 2 + tau^2 about their middle; scipy.integrate.quad over tau
    s, apart = sd / 12.0, log(other / one)

    def density(tau: float) -> float:
        spread = sqrt(2 * (s**2 + tau**2))
        return float(stats.halfnorm.pdf(tau, scale=0.03) * stats.norm.pdf(apart, scale=spread))

    total = integrate.quad(density, 0, 0.3)[0]
    variance = integrate.quad(lambda t: density(t) * ((s**2 + t**2) / 2 + t**2), 0, 0.3)[0] / total
    found = yarn_of_projects([(one, sd), (other, sd)])
    assert found.mean == pytest.approx(sqrt(one * other) * exp(variance / 2), rel=1e-3)
    assert found.sd / found.mean == pytest.approx(sqrt(variance), rel=0.01)


def test_projects_that_agree_narrow_the_next() -> None:
    assert yarn_of_projects([(12.0, 0.05)] * 4).sd < yarn_of_projects([(12.0, 0.05)]).sd
    # given without a spread they are as good as exact
    assert yarn_of_projects([(11.8, 0.0), (12.2, 0.0)]).sd > 0.2


@pytest.mark.parametrize("told", [[], [(0.0, 0.1)], [(12.0, -0.1)]])
def test_what_is_no_past_project_is_refused(told: list[tuple[float, float]]) -> None:
    with pytest.raises(HandsError, match=r"past project.*\.$"):
        yarn_of_projects(told)
