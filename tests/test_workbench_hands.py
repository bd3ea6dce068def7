"""A library's finished projects, learnt from and handed to fit and advice."""

from pathlib import Path

import pytest

from knitlog.advice import Limits
from knitlog.drift import Prior, fit
from knitlog.journal import Library
from knitlog.journal.project import to_drift_log
from knitlog.workbench import look, situation
from knitlog.workbench.hands import (
    WITHOUT_VARIABLE,
    begun_of,
    learn_from,
    learn_hands,
    limits_of,
    prior_of,
    work_of,
)

YEAR = Library(Path(__file__).parents[1] / "sample_logs" / "history")


@pytest.fixture(autouse=True)
def _with_hands(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(WITHOUT_VARIABLE, raising=False)


def state_of(slug: str):
    return next(s.state for s in YEAR.projects() if s.slug == slug)


def test_only_finished_projects_are_learnt_from() -> None:
    told: list[tuple[int, int]] = []
    learnt = learn_hands(YEAR, progress=lambda number, of: told.append((number, of)))
    assert [p.name[:2] for p in learnt.hands.projects] == [f"0{n}" for n in range(1, 9)]
    assert learnt.problems == ()
    assert told == [(n, 8) for n in range(8)]


def test_a_project_does_not_judge_itself() -> None:
    names = {p.name for p in learn_hands(YEAR, besides="02-woodpile-cowl").hands.projects}
    assert len(names) == 7
    assert "02-woodpile-cowl" not in names


def test_the_switch_to_do_without(monkeypatch: pytest.MonkeyPatch) -> None:
    assert not learn_hands(YEAR, without=True).hands.known
    for said, without in (("1", True), ("yes", True), ("0", False), ("no", False), ("", False)):
        monkeypatch.setenv(WITHOUT_VARIABLE, said)
        assert learn_hands(YEAR).hands.known != without, said


def test_a_project_that_cannot_be_fitted_is_named() -> None:
    from knitlog.journal import ProjectFacts
    from knitlog.journal.events import ProjectFinished, ProjectSetUp
    from knitlog.journal.fold import fold

    empty = fold([ProjectSetUp(name="Hut hat", facts=ProjectFacts(stitches=90)), ProjectFinished()])
    learnt = learn_from([empty])
    assert not learnt.hands.known
    assert learnt.problems[0].startswith("Hut hat is left out: There is no reading yet")


def test_fit_and_advice_start_from_her_history() -> None:
    state = state_of("09-second-frost-hat")
    hands = learn_hands(YEAR).hands
    prior, limits = prior_of(hands, state), limits_of(hands)
    assert prior.needle_response_factor < Prior().needle_response_factor
    assert prior.drift_sd is not None
    seen = look(state, with_advice=False, prior=prior)
    assert seen.fit is not None
    assert seen.fit.prior == prior
    assert seen.fit.drift.sd < fit(to_drift_log(state)).drift.sd
    described = situation(state, seen.fit, limits=limits)
    assert described.limits.miss_share == limits.miss_share != Limits().miss_share
    assert situation(state, seen.fit).limits == Limits()


def test_what_is_asked_of_her_hands_is_what_she_said() -> None:
    state = state_of("05-chimney-shawl-collar")
    work, begun = work_of(state), begun_of(state)
    assert (work.needle_mm, work.fibre, work.stitch_pattern) == (4.0, "alpaca and wool", "plain")
    # as cast on, not as changed later
    assert begun.stitches == 67
    assert begun.repeat_length_mm == 1524.0
