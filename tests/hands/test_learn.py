"""From logs to hands to the next project's beliefs."""

from dataclasses import replace
from math import exp, log

import pytest

from knitlog.advice.limits import Limits
from knitlog.drift import Fix, Prior, Stint
from knitlog.hands.learn import learn
from knitlog.hands.look_back import look_back
from knitlog.hands.next_project import (
    CastOn,
    expected_drift,
    kinds_knitted,
    to_limits,
    to_prior,
    yarn_per_stitch,
)
from knitlog.hands.records import Materials
from knitlog.report.hands_words import sentences
from tests.simulator.person import Person, Undertaking, knit_project

PERSON = Person(
    kw=4.4,
    project_sd=0.008,
    needle_answer=0.6,
    answer_sd=0.03,
    tension_noise_sd=1.2,
    reading_noise_sd=0.3,
    fix_shares=(("tapestry needle", 0.75),),
    fix_sd=0.04,
)
PLAN = Undertaking(
    stitches=76,
    rounds=44,
    gauge_stitches_per_cm=2.2,
    needle_mm=4.0,
    yarn_thickness_mm=2.2,
    fibre="wool",
    pattern="plain",
    homes=(20.0,),
    changes=(Stint(23, 73, 4.5),),
    fixes=(Fix(10, 10.0), Fix(34, -12.0)),
)
WORK = Materials(4.0, 2.2, 2.2, "wool", "plain")
BEGUN = CastOn(76, 1, 1524.0)


@pytest.fixture(scope="module")
def finished():
    return [look_back(knit_project(PERSON, PLAN, seed).log, f"p{seed}", WORK) for seed in range(8)]


@pytest.fixture(scope="module")
def hands(finished):
    return learn(finished)


def test_a_project_gives_its_own_yarn_per_stitch() -> None:
    made = knit_project(PERSON, PLAN, 3)
    found = look_back(made.log, "p", WORK)
    assert len(found.stints) == 2
    for stint, truth in zip(found.stints, made.yarn_per_stitch_mm, strict=True):
        assert abs(stint.yarn_per_stitch_mm - truth) < 4 * stint.yarn_per_stitch_sd_mm
    step = found.steps[0]
    truth = log(made.yarn_per_stitch_mm[1] / made.yarn_per_stitch_mm[0])
    assert abs(step.answer_log - truth) < 4 * step.answer_sd
    # the gauge was counted on the first needle only
    assert [s.gauge_stitches_per_cm for s in found.stints] == [2.2, None]


def test_it_finds_her_hands(hands) -> None:
    assert exp(
        hands.by_gauge.expect(Materials(4.0, fibre="wool", stitch_pattern="plain")).mean
    ) == pytest.approx(4.4, rel=0.03)
    response = hands.needle_response.mean
    assert response.low95 < 0.6 < response.high95
    assert response.high95 < 1.0
    # of 128, as the record keeps it
    assert exp(hands.tension_noise.mean.mean) == pytest.approx(1.2, rel=0.25)
    assert exp(hands.reading_noise.mean.mean) < 0.5
    fix = hands.fixes[0]
    assert fix.how == "tapestry needle"
    assert fix.share.mean.low95 < 0.75 < fix.share.mean.high95
    assert fix.share.mean.high95 < 1.0


def test_the_next_fit_starts_from_them(hands) -> None:
    prior = to_prior(hands, WORK, BEGUN)
    assert prior.needle_response_factor == pytest.approx(0.6, abs=0.08)
    assert prior.needle_response_log_sd < Prior().needle_response_log_sd
    assert prior.tension_noise_median > Prior().tension_noise_median
    # d = k L / s - N with s = Kw / (stitches per mm)
    truth = 1524.0 / (10 * 4.4 / 2.2) - 76
    assert prior.drift_mean == pytest.approx(truth, abs=2.0)
    assert prior.drift_sd < 0.05 * 76


def test_doing_without_is_any_knitter() -> None:
    nobody = learn([])
    assert to_prior(nobody, WORK, BEGUN) == Prior()
    assert to_limits(nobody) == Limits()
    assert expected_drift(nobody, WORK, BEGUN) is None
    assert "No finished project" in sentences(nobody)[0]
    # by Munden's law (4.1, wet relaxed): s = 41 / 2.2 mm, give or take 8 % or so
    said = yarn_per_stitch(nobody, WORK)
    assert said.low95 < 41 / 2.2 < said.high95
    assert said.sd / said.mean == pytest.approx(0.08, abs=0.03)


def test_any_knitters_needle_answer_is_the_drift_rooms() -> None:
    nobody = learn([])
    assert nobody.needle_response.next.sd == pytest.approx(Prior().needle_response_log_sd, rel=0.02)
    assert nobody.tension_noise.next.sd == pytest.approx(Prior().noise_log_sd, rel=0.02)


def test_the_advice_learns_that_her_fixes_fall_short(hands) -> None:
    # a quarter too little, and hardly two alike
    assert to_limits(hands).miss_share == pytest.approx(0.25, abs=0.07)


def test_a_new_yarn_is_known_less_well_than_an_old_one(hands) -> None:
    new = yarn_per_stitch(hands, replace(WORK, fibre="silk", stitch_pattern="lace"))
    old = yarn_per_stitch(hands, WORK)
    assert new.sd > 1.3 * old.sd


def test_it_is_told_in_plain_words(hands) -> None:
    told = " ".join(sentences(hands))
    assert "From 8 finished projects." in told
    assert "stitch widths of yarn" in told
    assert "you take out too little" in told
    assert not any(word in told for word in ("prior", "posterior", "sigma", "nan"))


def test_every_kind_is_listed_with_its_yarn(hands) -> None:
    rows = kinds_knitted(hands)
    assert [(r.needle_mm, r.fibre, r.projects) for r in rows] == [
        (4.0, "wool", 8),
        (4.5, "wool", 8),
    ]
    assert rows[0].low_mm < 20.0 < rows[0].high_mm
    assert rows[0].next_mm.low95 < 20.0 < rows[0].next_mm.high95


def test_sittings_that_differ_are_seen() -> None:
    even = replace(PERSON, sitting_sd=0.0, tension_noise_sd=0.6)
    moody = replace(even, sitting_sd=1.5)
    # 2560 mm make 128 stitches of 20
    plan = replace(
        PLAN, stitches=128, repeat_length_mm=2560.0, homes=(40.0,), fixes=(), changes=(), rounds=80
    )
    found = [
        learn(
            [look_back(knit_project(p, plan, seed).log, str(seed), WORK) for seed in range(3)]
        ).sittings
        for p in (even, moody)
    ]
    assert found[0].mean < 0.35
    assert found[1].low95 < 1.5
    assert found[1].mean > 0.8


def words_of(person: Person, plan: Undertaking, work: Materials, projects: int = 4) -> str:
    finished = [
        look_back(knit_project(person, plan, seed).log, f"p{seed}", work)
        for seed in range(projects)
    ]
    return " ".join(sentences(learn(finished)))


def test_a_hand_that_takes_out_too_much_is_told() -> None:
    heavy = replace(PERSON, fix_shares=(("tapestry needle", 1.5),))
    assert "you take out too much" in words_of(heavy, PLAN, WORK)
    assert "you take out too little" in words_of(PERSON, PLAN, WORK)


def test_without_a_gauge_or_a_change_of_needle_it_says_what_it_can() -> None:
    plan = replace(PLAN, changes=(), fixes=())
    told = words_of(PERSON, plan, Materials(4.0, None, 2.2, None, None))
    assert "A stitch of yours takes" in told
    assert "% of the loop round the needle" in told
    assert "You have not changed needles in a finished project" in told


def test_what_cannot_be_expected_is_none(hands) -> None:
    assert yarn_per_stitch(hands, Materials(None, None, 2.2, "wool", "plain")) is None
    assert expected_drift(hands, Materials(None, None, 2.2, "wool", "plain"), BEGUN) is None
    assert expected_drift(hands, WORK, replace(BEGUN, repeat_length_mm=None)) is None
