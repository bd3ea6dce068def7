"""A library's finished projects, learnt from and handed to fit and advice."""

from pathlib import Path

import pytest

from knitlog.advice import Limits
from knitlog.analysis.analysis import analyse, situation
from knitlog.analysis.past import (
    USUAL,
    WITHOUT_VARIABLE,
    Past,
    cast_on_of,
    learn_from,
    materials_of,
)
from knitlog.drift import Prior, fit
from knitlog.journal.errors import JournalError
from knitlog.journal.library import Library
from knitlog.journal.project import to_drift_log

YEAR = Library(Path(__file__).parents[2] / "sample_logs" / "history")


@pytest.fixture(autouse=True)
def _with_hands(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(WITHOUT_VARIABLE, raising=False)


def state_of(slug: str):
    return next(s.state for s in YEAR.projects() if s.slug == slug)


def test_only_finished_projects_are_learnt_from() -> None:
    told: list[tuple[int, int]] = []
    learnt = Past(YEAR, progress=lambda number, of: told.append((number, of))).learnt()
    assert [p.name[:2] for p in learnt.hands.projects] == [f"0{n}" for n in range(1, 9)]
    assert learnt.left_out == ()
    assert told == [(n, 8) for n in range(8)]


def test_a_project_does_not_judge_itself() -> None:
    names = {p.name for p in Past(YEAR).learnt("02-woodpile-cowl").hands.projects}
    assert len(names) == 7
    assert "02-woodpile-cowl" not in names


def test_the_switch_to_do_without(monkeypatch: pytest.MonkeyPatch) -> None:
    state = state_of("09-second-frost-hat")
    assert Past(YEAR, without=True).beliefs(state) == USUAL
    for said, without in (("1", True), ("yes", True), ("0", False), ("no", False), ("", False)):
        monkeypatch.setenv(WITHOUT_VARIABLE, said)
        past = Past(YEAR)
        assert past.learnt().hands.known != without, said
        assert (past.beliefs(state) == USUAL) == without, said


def test_a_project_that_cannot_be_fitted_is_named() -> None:
    from knitlog.journal.events import ProjectFinished, ProjectSetUp
    from knitlog.journal.facts import ProjectFacts
    from knitlog.journal.fold import fold

    empty = fold([ProjectSetUp(name="Hut hat", facts=ProjectFacts(stitches=90)), ProjectFinished()])
    learnt = learn_from([empty])
    assert not learnt.hands.known
    ((name, why),) = learnt.left_out
    assert name == "Hut hat"
    assert why.startswith("There is no reading yet")


def test_fit_and_advice_start_from_her_history() -> None:
    state = state_of("09-second-frost-hat")
    past = Past(YEAR)
    beliefs = past.beliefs(state)
    prior, limits = beliefs.prior, beliefs.limits
    assert prior is not None
    assert limits is not None
    assert prior.needle_response_factor < Prior().needle_response_factor
    assert prior.drift_sd is not None
    seen = analyse(state, with_advice=False, past=past)
    assert seen.fit is not None
    assert seen.fit.prior == prior
    assert seen.fit.drift.sd < fit(to_drift_log(state)).drift.sd
    described = situation(seen)
    assert described.limits.miss_share == limits.miss_share != Limits().miss_share
    assert situation(analyse(state, with_advice=False)).limits == Limits()


def test_what_is_asked_of_her_hands_is_what_she_said() -> None:
    state = state_of("05-chimney-shawl-collar")
    work, cast_on = materials_of(state), cast_on_of(state)
    assert (work.needle_mm, work.fibre, work.stitch_pattern) == (4.0, "alpaca and wool", "plain")
    # as cast on, not as changed later
    assert cast_on.stitches == 67
    assert cast_on.repeat_length_mm == 1524.0


def test_a_folder_that_cannot_be_read_says_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_: Library) -> None:
        raise JournalError("The folder cannot be read.")

    state = state_of("09-second-frost-hat")
    past = Past(YEAR)
    monkeypatch.setattr(Library, "projects", refuse)
    assert past.beliefs(state) == USUAL
    with pytest.raises(JournalError):
        past.learnt()
