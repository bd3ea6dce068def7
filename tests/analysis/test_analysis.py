"""The analysis: one look at a project, the same for every screen and command."""

from dataclasses import replace
from pathlib import Path

import pytest

from knitlog.analysis.analysis import analyse, situation
from knitlog.analysis.files import import_log, read_log_file
from knitlog.analysis.next_round import doubt
from knitlog.analysis.samples import lay_out_samples, sample_year, samples
from knitlog.analysis.standing import Tone
from knitlog.drift import Estimate
from knitlog.journal.actions import change_needle, finish, log_round, make_fix
from knitlog.journal.events import Position, ProjectSetUp, RoundLogged
from knitlog.journal.facts import make_facts
from knitlog.journal.fold import fold
from knitlog.journal.library import Library
from knitlog.journal.project import ProjectState
from knitlog.journal.store import JournalFile
from knitlog.report.verdict_words import doubt_words, unexplained_words, verdict
from tests.simulator import Work, hand_for, knit

SAMPLES = Path(__file__).parents[2] / "sample_logs"


def state_of(
    drift: float, rounds: int, *, seed: int = 1, noise: float = 0.5, **facts: object
) -> ProjectState:
    """A project a simulated knitter would have logged."""
    stitches = 120
    work = Work(stitches=stitches, rounds=rounds)
    hand = hand_for(work, drift, tension_noise_sd=noise, reading_sd=0.3)
    log = knit(hand, work, seed).to_drift_log()
    told = make_facts(**{"stitches": stitches, "planned_rounds": 60, **facts})
    events = [
        ProjectSetUp(name="Hut hat", facts=told),
        *(RoundLogged(round=r.round, positions=(Position(stitch=r.stitch),)) for r in log.readings),
    ]
    return fold(events)


def seen(state: ProjectState) -> tuple[str, Tone]:
    view = analyse(state, with_advice=False)
    return verdict(view), view.tone


def test_before_the_first_round_and_after_it() -> None:
    view = analyse(state_of(0, 1), with_advice=False)
    assert view.fit is not None
    assert view.tone is Tone.WAITING
    assert "1 round logged" in verdict(view)
    empty = fold([ProjectSetUp(name="Hut hat", facts=make_facts(stitches=120))])
    view = analyse(empty)
    assert (view.log, view.fit, view.advice) == (None, None, None)
    assert "No round logged yet" in verdict(view)


@pytest.mark.parametrize(
    ("drift", "rounds", "said", "tone"),
    [
        (0.0, 30, "In line", Tone.IN_LINE),
        (3.0, 10, "Stitches too small: the colours slide", Tone.ACT),
        (-3.0, 10, "Stitches too large: the colours slide", Tone.ACT),
    ],
)
def test_the_verdict_says_which_way_and_how_it_sounds(
    drift: float, rounds: int, said: str, tone: Tone
) -> None:
    told, sounds = seen(state_of(drift, rounds, noise=0.2))
    assert told.startswith(said)
    assert sounds is tone
    assert len(told) < 100


def test_in_line_but_out_of_place_is_a_matter_for_the_offset(tmp_path: Path) -> None:
    state = replace(state_of(0.0, 25, noise=0.2))
    moved = [
        ProjectSetUp(name="Hut hat", facts=make_facts(stitches=120, homes={1: 17.0})),
        *(RoundLogged(round=e.round, positions=e.positions) for e in state.entries),
    ]
    said, tone = seen(fold(moved))
    assert said.startswith("The drift is in line, but the colours sit 2")
    assert "past" in said
    assert tone is Tone.ACT


def test_a_wanted_spiral_is_judged_against_the_wanted_drift() -> None:
    said, tone = seen(state_of(2.0, 30, noise=0.2, target_drift=2.0))
    assert said.startswith("The spiral goes 2 on each round as wanted, ")
    assert tone is Tone.IN_LINE


def test_too_few_rounds_to_know() -> None:
    said, tone = seen(state_of(0.3, 4, noise=1.2))
    assert said.startswith("Not clear yet")
    assert tone is Tone.UNCLEAR


def test_a_finished_project_has_no_advice(tmp_path: Path) -> None:
    journal = Library(tmp_path).create("Hut hat", make_facts(stitches=120))
    for stitch in (40.0, 42.0, 44.0, 46.0):
        log_round(journal, [stitch])
    view = analyse(finish(journal))
    assert view.tone is Tone.DONE
    assert view.advice is None
    assert verdict(view) == "Finished after 4 rounds, 6 past their place."


def test_the_situation_is_the_project_as_it_stands_now(tmp_path: Path) -> None:
    facts = make_facts(
        stitches=120, needle_mm=4.0, needles_owned_mm=(4.0, 4.5), multiple=4, planned_rounds=50,
        repeat_length_mm=1524.0, tolerance=2.0, gauge_stitches_per_cm=2.4,
        as_given={"needle_mm": "US 6"},
    )  # fmt: skip
    journal = Library(tmp_path).create("Hut hat", facts)
    for stitch in (40.0, 42.0, 44.0, 46.0):
        log_round(journal, [stitch])
    state = change_needle(journal, 4.5)
    view = analyse(state, with_advice=False)
    assert view.fit is not None
    about = situation(view)
    assert (about.stitches, about.needle_mm, about.needles_owned_mm) == (120, 4.5, (4.0, 4.5))
    assert (about.multiple, about.rounds_planned, about.tolerance) == (4, 50, 2.0)
    assert about.repeat_length_mm == 1524.0
    assert about.gauge is not None
    assert about.gauge.stitches_per_cm == 2.4
    assert about.units.needle(4.5) == "US 7 (4.5 mm)"


def test_advice_comes_with_the_look_and_is_repeatable() -> None:
    state = state_of(3.0, 8, needle_mm=4.5, repeat_length_mm=1524.0)
    one, two = analyse(state, seed=3), analyse(state, seed=3)
    assert one.advice is not None
    assert one.advice == two.advice


def test_questions_name_the_round() -> None:
    view = analyse(read_log_file(SAMPLES / "needle-changed.csv"), with_advice=False)
    assert [q.round for q in view.questions] == [6]
    assert unexplained_words(view.questions[0].about).endswith("?")


def test_an_odd_entry_is_asked_about_and_an_ordinary_one_is_not() -> None:
    view = analyse(state_of(2.0, 12, noise=0.3), with_advice=False)
    last = view.state.entries[-1].positions[0].stitch
    assert doubt(view, [Position(stitch=(last + 2) % 120)]) is None
    question = doubt(view, [Position(stitch=(last + 42) % 120)])
    assert question is not None
    assert abs(question.off) == pytest.approx(40.0, abs=1.5)
    assert doubt_words(question).endswith("?")
    assert f"{abs(question.off):.0f} stitches" in doubt_words(question)
    # a colour change never logged before, and a correction, are her own business
    assert doubt(view, [Position(stitch=1.0, change=2)]) is None
    assert doubt(view, [Position(stitch=(last + 40) % 120)], round_number=5) is None


def test_an_entry_that_wraps_is_ordinary() -> None:
    events = [ProjectSetUp(name="Hut hat", facts=make_facts(stitches=120))]
    events += [
        RoundLogged(round=r, positions=(Position(stitch=(100.0 + 3 * r) % 120),))
        for r in range(1, 8)
    ]  # fmt: skip
    view = analyse(fold(events), with_advice=False)
    assert doubt(view, [Position(stitch=4.0)]) is None
    assert doubt(view, [Position(stitch=64.0)]) is not None


def test_flat_rows_are_doubted_in_their_own_direction() -> None:
    view = analyse(read_log_file(SAMPLES / "worked-flat.csv"), with_advice=False)
    # row 15 is a right-side row; the last right-side row read 40, sliding 1.7 a row
    assert doubt(view, [Position(stitch=43.0)]) is None
    assert doubt(view, [Position(stitch=15.0)]) is not None


def test_a_fix_since_the_last_reading_is_expected_in_the_next(tmp_path: Path) -> None:
    journal = Library(tmp_path).create("Hut hat", make_facts(stitches=120))
    for r in range(10):
        log_round(journal, [20.0 + 3 * r])
    state = make_fix(journal, 27.0)
    view = analyse(state, with_advice=False)
    assert doubt(view, [Position(stitch=23.0)]) is None
    assert doubt(view, [Position(stitch=50.0)]) is not None


def test_a_log_from_anywhere_becomes_a_project(tmp_path: Path) -> None:
    library = Library(tmp_path)
    for path in sorted(SAMPLES.glob("too-*")):
        journal = import_log(library, path, name=path.name, facts={"tolerance": "5"})
        assert journal.state.facts.tolerance == 5.0
        assert journal.state.name == path.name
        assert journal.state.last_round == read_log_file(path).last_round
        assert JournalFile.open(journal.path).state == journal.state


def test_what_a_file_leaves_out_is_told(tmp_path: Path) -> None:
    journal = Library(tmp_path).create("Hut hat", make_facts(stitches=120))
    log_round(journal, [40.0])
    with journal.path.open("ab") as file:
        file.write(b'{"kind":"round lo')
    view = analyse(read_log_file(journal.path), with_advice=False)
    assert len(view.problems) == 1
    assert view.fit is not None


def test_a_log_that_cannot_be_fitted_says_why_and_is_shown_all_the_same() -> None:
    state = fold(
        [
            ProjectSetUp(name="Hut hat", facts=make_facts(stitches=90)),
            RoundLogged(round=1, positions=(Position(stitch=10.0),)),
            RoundLogged(round=99_000, positions=(Position(stitch=11.0),)),  # a slip of the keys
        ]
    )
    view = analyse(state)
    assert view.fit is None
    assert any("Round 99,000 is beyond" in problem for problem in view.problems)
    assert verdict(view)


def test_an_installation_without_samples_has_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("importlib.resources.files", lambda _: tmp_path / "package")
    assert samples() == sample_year() == {}
    assert lay_out_samples(tmp_path / "wool") == ()


def logged(readings: dict[int, float], **facts: object) -> ProjectState:
    told = make_facts(**{"stitches": 128, "planned_rounds": 80, **facts})
    rounds = (RoundLogged(round=r, positions=(Position(stitch=s),)) for r, s in readings.items())
    return fold([ProjectSetUp(name="Hut hat", facts=told), *rounds])


def test_two_readings_far_apart_tell_as_much_as_many() -> None:
    near, far = logged({1: 31.0, 2: 33.5}), logged({1: 31.0, 5: 41.0})
    assert analyse(near, with_advice=False).tone is Tone.WAITING
    found = analyse(far)
    assert found.tone is not Tone.WAITING
    # 10 stitches in 4 rounds: past, whatever else is not known yet
    assert found.fit is not None
    assert found.fit.drift.mean == pytest.approx(2.5, abs=0.3)
    said = verdict(found)
    assert "on each round" in said or "the slide is not clear yet" in said
    assert "10 past their place" in said


def test_a_slide_known_to_point_one_way_is_told_from_least_to_most() -> None:
    found = analyse(logged({1: 31.0, 5: 41.0}, repeats=2.0, repeat_length_mm=1524.0))
    assert found.fit is not None
    fitted = replace(found.fit, direction="unclear", drift=Estimate(2.5, 0.7, 1.1, 3.9))
    said = verdict(replace(found, fit=fitted, tone=Tone.WATCH))
    assert said == "The colours slide 1.1 to 3.9 on each round, now 10 past their place."
