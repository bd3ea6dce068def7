"""What events add up to: corrections, undo, redo, stints, sittings."""

import random
from functools import partial

import pytest

from knitlog.journal.actions import (
    add_note,
    ask_tension,
    change_facts,
    change_needle,
    change_stitches,
    end_sitting,
    finish,
    join_skein,
    log_round,
    make_fix,
    redo,
    rip_back,
    start_sitting,
    take_new_home,
    together,
    undo,
)
from knitlog.journal.errors import JournalError
from knitlog.journal.events import Position, ProjectSetUp, RoundLogged, Withdrawn
from knitlog.journal.facts import make_facts
from knitlog.journal.fold import fold
from knitlog.journal.project import ProjectState, to_drift_log
from knitlog.journal.store import JournalFile

from .conftest import Clock


def stitches(state: ProjectState) -> dict[int, list[float]]:
    return {entry.round: [p.stitch for p in entry.positions] for entry in state.entries}


def test_a_new_project_waits_for_round_1(journal: JournalFile) -> None:
    state = journal.state
    assert (state.last_round, state.next_round) == (0, 1)
    assert state.stitches == 128
    assert state.needle_mm == 4.5
    assert state.below() == ()
    assert state.undo_label is None
    assert state.redo_label is None
    assert state.facts.tolerance == 3.0


def test_rounds_are_numbered_as_they_come_and_may_be_skipped(journal: JournalFile) -> None:
    log_round(journal, [37])
    log_round(journal, [38.5], round_number=4)
    state = log_round(journal, [39])
    assert stitches(state) == {1: [37], 4: [38.5], 5: [39]}
    assert state.below() == (Position(stitch=39.0),)
    assert state.below(4) == (Position(stitch=37.0),)
    assert state.below(1) == ()


def test_a_later_entry_replaces_the_reading_but_not_when_it_was_knitted(
    journal: JournalFile, clock: Clock
) -> None:
    first = log_round(journal, [37]).entries[0]
    clock.wait(days=2)
    log_round(journal, [38])
    state = log_round(journal, [36, 90], round_number=1)
    assert stitches(state) == {1: [36, 90], 2: [38]}
    entry = state.entries[0]
    assert entry.corrected
    assert entry.at == first.at
    assert entry.sitting == 1
    assert state.entries[1].sitting == 2


def test_undo_walks_back_and_redo_walks_forth(journal: JournalFile) -> None:
    log_round(journal, [37])
    log_round(journal, [38])
    assert log_round(journal, [39]).undo_label == "round 3"
    assert undo(journal).undo_label == "round 2"
    assert undo(journal).undo_label == "round 1"
    assert stitches(journal.state) == {1: [37]}
    assert journal.state.redo_label == "round 2"
    redo(journal)
    assert stitches(journal.state) == {1: [37], 2: [38]}
    redo(journal)
    assert stitches(journal.state) == {1: [37], 2: [38], 3: [39]}
    assert journal.state.redo_label is None
    with pytest.raises(JournalError, match="nothing to bring back"):
        redo(journal)


def test_what_was_logged_as_one_step_is_taken_back_and_brought_back_as_one(
    journal: JournalFile,
) -> None:
    log_round(journal, [37])
    log_round(journal, [44])
    state = together(
        journal,
        [partial(take_new_home, from_round=3), partial(ask_tension, percent=2, from_round=3)],
    )
    said = "the new place from round 3 and the tension (+2 %) from round 3"
    assert state.undo_label == said
    assert state.tension_percent == 2
    state = undo(journal)
    assert state.undo_label == "round 2"
    assert state.redo_label == said
    assert not state.new_homes
    assert not state.tension
    state = redo(journal)
    assert state.undo_label == said
    assert state.new_homes
    assert state.tension_percent == 2
    # what is logged by itself afterwards is a step of its own
    assert ask_tension(journal, 0).undo_label == "the tension (as usual) from round 3"
    assert undo(journal).undo_label == said


def test_of_one_step_all_is_logged_or_nothing(journal: JournalFile) -> None:
    log_round(journal, [37])
    before = journal.path.read_bytes()
    with pytest.raises(JournalError, match="below it"):
        together(journal, [partial(ask_tension, percent=2), partial(rip_back, to_round=1)])
    assert journal.path.read_bytes() == before
    assert journal.state.undo_label == "round 1"


def test_one_step_is_made_of_what_the_steps_before_it_left(journal: JournalFile) -> None:
    for stitch in (37, 44, 51):
        log_round(journal, [stitch])
    state = together(
        journal, [partial(rip_back, to_round=0), partial(change_stitches, stitches=132)]
    )
    assert state.next_round == 1
    assert state.stitches == 132
    assert undo(journal).last_round == 3


def test_undo_of_a_correction_brings_the_first_reading_back(journal: JournalFile) -> None:
    log_round(journal, [37])
    log_round(journal, [99], round_number=1)
    assert stitches(undo(journal)) == {1: [37]}


def test_redo_is_gone_once_something_new_was_logged(journal: JournalFile) -> None:
    log_round(journal, [37])
    undo(journal)
    log_round(journal, [38])
    assert journal.state.redo_label is None
    with pytest.raises(JournalError, match="nothing to bring back"):
        redo(journal)


def test_a_sitting_begun_in_between_leaves_redo_alone(journal: JournalFile) -> None:
    log_round(journal, [37])
    undo(journal)
    start_sitting(journal)
    assert journal.state.redo_label == "round 1"


def test_setting_up_cannot_be_undone(journal: JournalFile) -> None:
    start_sitting(journal)
    with pytest.raises(JournalError, match="nothing to take back"):
        undo(journal)


def test_one_event_can_be_withdrawn_however_old(journal: JournalFile) -> None:
    log_round(journal, [37])
    middle = log_round(journal, [99]).entries[-1].event_id
    log_round(journal, [38])
    state = journal.append(lambda *_: Withdrawn(at=journal.clock(), target=middle))
    assert stitches(state) == {1: [37], 3: [38]}
    assert stitches(redo(journal)) == {1: [37], 2: [99], 3: [38]}


def test_stints_follow_needle_and_stitch_count(journal: JournalFile) -> None:
    for stitch in (37, 38, 39):
        log_round(journal, [stitch])
    change_needle(journal, 4.0)
    log_round(journal, [40])
    state = change_stitches(journal, 126, from_round=6)
    assert [(s.first_round, s.stitches, s.needle_mm) for s in state.stints] == [
        (1, 128, 4.5),
        (4, 128, 4.0),
        (6, 126, 4.0),
    ]
    assert state.stitches == 128  # round 5 comes next
    log_round(journal, [41])
    assert journal.state.stitches == 126
    with pytest.raises(JournalError, match="beyond the round, which has 126"):
        log_round(journal, [127])
    undo(journal)
    assert [s.stitches for s in undo(journal).stints] == [128, 128]


def test_a_change_to_the_same_needle_makes_no_stint(journal: JournalFile) -> None:
    log_round(journal, [37])
    assert len(change_needle(journal, 4.5).stints) == 1


def test_correcting_the_cast_on_corrects_the_first_stint(journal: JournalFile) -> None:
    log_round(journal, [37])
    change_stitches(journal, 126)
    state = change_facts(journal, stitches=120, name="Hut cowl", cleared=("repeat_length_mm",))
    assert [s.stitches for s in state.stints] == [120, 126]
    assert state.name == "Hut cowl"
    assert state.facts.repeat_length_mm is None


def test_rounds_logged_beyond_a_corrected_count_are_named_and_left_out(
    journal: JournalFile,
) -> None:
    log_round(journal, [37])
    log_round(journal, [127])
    state = change_facts(journal, stitches=120)
    assert [p.line for p in state.problems] == [3]
    assert "Round 2 was logged at stitch 127" in state.problems[0].sentence
    assert [r.round for r in to_drift_log(state).readings] == [1]


def test_fixes_notes_and_joins_are_kept(journal: JournalFile) -> None:
    with pytest.raises(JournalError, match="Log a round first"):
        make_fix(journal, 3)
    log_round(journal, [37], note="Stove lit.")
    make_fix(journal, -2.5, over_stitches=20, minutes=4, note="Gave some out.")
    add_note(journal, "Snow up to the window.")
    state = join_skein(journal, stitch=12)
    assert [(f.after_round, f.taken_out, f.how) for f in state.fixes] == [
        (1, -2.5, "tapestry needle")
    ]
    assert [(n.round, n.text) for n in state.notes] == [
        (1, "Stove lit."),
        (1, "Gave some out."),
        (None, "Snow up to the window."),
    ]
    assert [(j.round, j.stitch) for j in state.joins] == [(2, 12.0)]
    log = to_drift_log(state)
    assert [(f.after_round, f.taken_out, f.kind) for f in log.fixes] == [
        (1, -2.5, "tapestry needle")
    ]


def test_ripping_back_takes_the_rounds_above_with_all_that_was_theirs(
    journal: JournalFile,
) -> None:
    for stitch in (37, 38, 39, 40):
        log_round(journal, [stitch])
    make_fix(journal, 2)
    change_needle(journal, 4.0)
    with pytest.raises(JournalError, match="last round logged is 4"):
        rip_back(journal, 4)
    state = rip_back(journal, 2, note="A dropped stitch.")
    assert stitches(state) == {1: [37], 2: [38]}
    assert state.next_round == 3
    assert state.fixes == ()
    assert len(state.stints) == 1
    log_round(journal, [38.5])
    undo(journal)
    state = undo(journal)
    assert stitches(state) == {1: [37], 2: [38], 3: [39], 4: [40]}
    assert len(state.fixes) == 1


def test_what_is_asked_of_the_hand_stands_until_it_is_asked_anew(journal: JournalFile) -> None:
    log_round(journal, [37])
    state = ask_tension(journal, -2, aim_stitch=36)
    assert (state.tension_percent, state.aims) == (-2.0, {2: 36.0})
    assert state.undo_label == "the tension (-2 %) from round 2"
    state = log_round(journal, [36.5], tension_percent=-2, aim_stitch=36)
    assert [(t.first_round, t.percent) for t in state.tension] == [(2, -2.0)]
    state = log_round(journal, [36], tension_percent=-1, aim_stitch=35.5)
    assert [(t.first_round, t.percent) for t in state.tension] == [(2, -2.0), (3, -1.0)]
    assert state.aims == {2: 36.0, 3: 35.5}
    state = ask_tension(journal, 0)
    assert state.tension_percent == 0.0
    assert state.undo_label == "the tension (as usual) from round 4"
    assert undo(journal).tension_percent == -1.0
    assert undo(journal).tension_percent == -2.0
    state = rip_back(journal, 1)
    assert (state.tension, state.aims) == ((), {})


def test_a_new_home_is_where_the_last_round_fell_unless_said(journal: JournalFile) -> None:
    with pytest.raises(JournalError, match="Log a round first"):
        take_new_home(journal)
    log_round(journal, [37])
    log_round(journal, [40])
    state = take_new_home(journal, note="Let it be.")
    assert [(h.from_round, h.stitch, h.note) for h in state.new_homes] == [(2, None, "Let it be.")]
    assert state.undo_label == "the new place from round 2"
    state = take_new_home(journal, from_round=2, stitch=39)
    assert [(h.from_round, h.stitch) for h in state.new_homes] == [(2, 39.0)]
    assert undo(journal).new_homes[0].stitch is None
    assert rip_back(journal, 1).new_homes == ()
    with pytest.raises(JournalError, match="tension cannot be '21'"):
        ask_tension(journal, 21)


def test_a_finished_project_takes_no_rounds_until_that_is_undone(journal: JournalFile) -> None:
    log_round(journal, [37])
    assert finish(journal).finished
    with pytest.raises(JournalError, match="finished"):
        log_round(journal, [38])
    assert not undo(journal).finished
    assert log_round(journal, [38]).last_round == 2


def test_a_gap_of_more_than_two_hours_parts_sittings(journal: JournalFile, clock: Clock) -> None:
    log_round(journal, [37])
    clock.wait(hours=1, minutes=58)
    log_round(journal, [38])
    clock.wait(hours=2)
    log_round(journal, [39])
    state = log_round(journal, [40])
    assert [e.sitting for e in state.entries] == [1, 1, 2, 2]
    assert [s.rounds for s in state.sittings] == [(1, 2), (3, 4)]
    assert state.sittings[0].length.total_seconds() == (60 + 59) * 60
    assert [r.sitting for r in to_drift_log(state).readings] == [1, 1, 2, 2]


def test_a_sitting_said_by_hand_comes_before_the_gaps(journal: JournalFile, clock: Clock) -> None:
    start_sitting(journal)
    log_round(journal, [37])
    clock.wait(hours=3)
    log_round(journal, [38])
    end_sitting(journal)
    log_round(journal, [39])
    start_sitting(journal)
    log_round(journal, [40])
    clock.wait(hours=9)  # nobody knits that long without a round: she forgot to end it
    state = log_round(journal, [41])
    assert [e.sitting for e in state.entries] == [1, 1, 2, 3, 4]


def test_a_clock_set_back_does_not_confuse_the_order(journal: JournalFile, clock: Clock) -> None:
    log_round(journal, [37])
    clock.wait(days=-300)
    state = log_round(journal, [38])
    assert stitches(state) == {1: [37], 2: [38]}
    assert [e.sitting for e in state.entries] == [1, 2]


def test_a_colour_change_is_logged_once_a_round(journal: JournalFile) -> None:
    with pytest.raises(JournalError, match="only once a round"):
        log_round(journal, [Position(stitch=37), Position(stitch=38)])
    state = journal.append(
        RoundLogged(round=1, positions=(Position(stitch=37), Position(stitch=38)))
    )
    assert stitches(state) == {1: [38.0]}


def test_an_event_written_twice_counts_once(journal: JournalFile) -> None:
    event = RoundLogged(round=1, positions=(Position(stitch=37),))
    journal.append(event)
    state = journal.append(event)
    assert stitches(state) == {1: [37]}
    assert [p.line for p in state.problems] == [3]
    assert stitches(undo(journal)) == {}


def test_withdrawing_what_is_not_there_is_left_out(journal: JournalFile) -> None:
    state = journal.append(Withdrawn(target="f" * 32))
    assert [p.line for p in state.problems] == [2]
    assert "not there" in state.problems[0].sentence


def test_undo_and_redo_agree_with_a_plain_list(journal: JournalFile) -> None:
    """Any walk of log, undo and redo ends where a list with a cursor ends."""
    random_walk = random.Random(20310105)
    done: list[float] = []
    undone: list[float] = []
    for _ in range(300):
        step = random_walk.choice(("log", "log", "undo", "redo"))
        if step == "log":
            stitch = float(random_walk.randrange(257)) / 2
            log_round(journal, [stitch])
            done.append(stitch)
            undone.clear()
        elif step == "undo" and done:
            undo(journal)
            undone.append(done.pop())
        elif step == "redo" and undone:
            redo(journal)
            done.append(undone.pop())
        assert [e.positions[0].stitch for e in journal.state.entries] == done
        assert (journal.state.undo_label is not None) == bool(done)
        assert (journal.state.redo_label is not None) == bool(undone)
    assert JournalFile.open(journal.path).state == journal.state


def test_a_second_set_up_is_left_out_and_said() -> None:
    first = ProjectSetUp(name="Hut shawl", facts=make_facts(stitches=128))
    second = ProjectSetUp(name="Other", facts=make_facts(stitches=64))
    state = fold([first, second])
    assert (state.name, state.stitches) == ("Hut shawl", 128)
    assert [p.sentence for p in state.problems] == [
        "Line 2 sets the project up again; it is left out."
    ]
