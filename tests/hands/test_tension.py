"""How her tension wanders, how her purls differ, how her hand answers when asked."""

from dataclasses import replace

import pytest

from knitlog.drift import Prior
from knitlog.hands.learn import Hands, learn
from knitlog.hands.look_back import look_back
from knitlog.hands.next_project import CastOn, to_prior
from knitlog.hands.records import Materials
from knitlog.report.hands_words import sentences
from tests.simulator.person import Person, Undertaking, knit_project

STEADY = Person(kw=4.1, project_sd=0.005, needle_sd=0.0, reading_noise_sd=0.3)
# 128 stitches of 4.1 widths at 2.2 to the cm take 2385 mm
PLAN = Undertaking(
    stitches=128, rounds=40, gauge_stitches_per_cm=2.2, repeat_length_mm=2385.5, homes=(40.0,)
)
WORK = Materials(4.0, 2.2, 2.2, None, None)


def hands_of(person: Person, plan: Undertaking, projects: int = 4) -> Hands:
    return learn(
        [
            look_back(knit_project(person, plan, seed).log, f"p{seed}", WORK)
            for seed in range(projects)
        ]
    )


def test_a_tension_that_wanders_is_told_from_a_steady_one() -> None:
    steady = hands_of(STEADY, PLAN)
    wanders = hands_of(replace(STEADY, creep_sd=0.2), PLAN)
    assert steady.creep.count == wanders.creep.count == 4
    assert wanders.wander > 2.0 * steady.wander
    # sqrt(40) steps of 0.2
    assert 0.5 < wanders.wander < 2.5
    assert "your tension wanders" in " ".join(sentences(wanders))
    before, after = dict(Prior().creep_nodes)[0.0], dict(to_prior(wanders).creep_nodes)[0.0]
    assert after < before < dict(to_prior(steady).creep_nodes)[0.0]


def test_purl_rows_are_weighed_against_knit_rows() -> None:
    plan = replace(PLAN, flat=True, rounds=30, homes=(20.0,))
    hands = hands_of(replace(STEADY, purl_percent=2.5), plan)
    assert hands.purl.mean.low95 < 2.5 < hands.purl.mean.high95
    assert hands.purl.mean.low95 > 1.0
    assert "more yarn than your knit rows" in " ".join(sentences(hands))
    flat, around = (to_prior(hands, WORK, CastOn(128, 1, 2385.5, flat=f)) for f in (True, False))
    # 2.5 % of 128 stitches apart: 1.6 either way
    assert flat.pattern_nodes[0][0] == pytest.approx(1.6, abs=0.5)
    assert around.pattern_nodes == Prior().pattern_nodes


def test_her_answer_to_a_tension_asked_is_learned() -> None:
    plan = replace(PLAN, asked=((11, 3.0), (26, -2.0)))
    hands = hands_of(replace(STEADY, tension_answer=0.9, tension_answer_sd=0.05), plan)
    assert hands.tension_answer.mean.mean == pytest.approx(0.9, abs=0.12)
    prior = to_prior(hands)
    assert prior.tension_response_mean == pytest.approx(0.9, abs=0.12)
    assert prior.tension_response_sd < Prior().tension_response_sd
    assert "of what is asked" in " ".join(sentences(hands))


def test_what_no_project_shows_is_any_knitters() -> None:
    hands = hands_of(STEADY, replace(PLAN, rounds=10), projects=1)
    assert hands.purl.count == hands.tension_answer.count == hands.creep.count == 0
    prior = to_prior(hands)
    assert dict(prior.creep_nodes) == pytest.approx(dict(Prior().creep_nodes))
    assert prior.tension_response_sd == pytest.approx(Prior().tension_response_sd, rel=0.03)
