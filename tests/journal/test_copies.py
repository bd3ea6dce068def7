"""Two copies that have parted become one, with every round of both once."""

import shutil
from collections.abc import Callable
from datetime import datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knitlog.journal.actions import (
    add_note,
    ask_tension,
    change_facts,
    change_needle,
    finish,
    log_round,
    make_fix,
    redo,
    restore,
    rip_back,
    undo,
)
from knitlog.journal.copies import copies_of, join_copy
from knitlog.journal.errors import JournalError
from knitlog.journal.events import ProjectSetUp
from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile

from .conftest import WINTER, Clock


def parted(journal: JournalFile) -> JournalFile:
    """A copy of the file as it is now, as a shared folder leaves one."""
    path = journal.path.with_name("Hut shawl (copy of the laptop).knitlog")
    shutil.copy(journal.path, path)
    return JournalFile.open(path)


def places(journal: JournalFile) -> dict[int, float]:
    return {e.round: e.positions[0].stitch for e in journal.state.entries}


def test_rounds_of_both_are_there_once(journal: JournalFile, library: Library) -> None:
    log_round(journal, [37])
    log_round(journal, [38])
    copy = parted(journal)
    assert copies_of(library, journal) == (copy.path,)
    assert copies_of(library, copy) == (journal.path,)
    log_round(journal, [39])
    log_round(copy, [42], round_number=4, note="By the stove.")
    add_note(copy, "The moth again.")
    log_round(copy, [37.5], round_number=1)  # put right there only
    joined = join_copy(journal, copy)
    assert places(journal) == {1: 37.5, 2: 38.0, 3: 39.0, 4: 42.0}
    assert (joined.rounds, joined.disagreements) == ((4,), ())
    assert [n.text for n in joined.state.notes] == ["By the stove.", "The moth again."]
    assert JournalFile.open(journal.path).state == joined.state
    size = journal.path.stat().st_size
    again = join_copy(journal, copy)
    assert (again.added, again.rounds, journal.path.stat().st_size) == (0, (), size)


def test_where_they_disagree_this_copy_stands_and_the_other_is_asked_about(
    journal: JournalFile,
) -> None:
    log_round(journal, [37])
    copy = parted(journal)
    for number, (here, there) in enumerate([(38, 38), (39, 41), (40, 43)], start=2):
        log_round(journal, [here], round_number=number)
        log_round(copy, [there], round_number=number)
    change_needle(journal, 4.0, from_round=5)
    change_needle(copy, 5.0, from_round=5)
    change_facts(journal, tolerance=4.0)
    change_facts(copy, tolerance=5.0)
    make_fix(journal, 3)
    make_fix(copy, 3)  # the same one, logged twice
    joined = join_copy(journal, copy)
    assert places(journal) == {1: 37.0, 2: 38.0, 3: 39.0, 4: 40.0}
    assert [d.round for d in joined.disagreements] == [3, 4, 5, None]
    state = joined.state
    assert state.needle_mm == 4.0
    assert state.facts.tolerance == 4.0
    assert [f.taken_out for f in state.fixes] == [3.0]
    assert state.notes[-1].text == (
        "Joined with another copy, which said 4 things differently (round 3, 4, 5); what was "
        "logged here stands."
    )
    # the question is answered for the other copy, one by one
    for question in joined.disagreements:
        restore(journal, question.there.id)
    assert places(journal) == {1: 37.0, 2: 38.0, 3: 41.0, 4: 43.0}
    assert journal.state.needle_mm == 5.0
    assert journal.state.facts.tolerance == 5.0
    assert join_copy(journal, copy).added == 0
    with pytest.raises(JournalError, match="was not taken back"):
        restore(journal, joined.disagreements[0].there.id)


def test_what_was_undone_in_one_is_undone_in_both(journal: JournalFile) -> None:
    log_round(journal, [37])
    log_round(journal, [38])
    undo(journal)
    copy = parted(journal)
    redo(copy)
    log_round(copy, [39])
    undo(journal)
    joined = join_copy(journal, copy)
    assert places(journal) == {2: 38.0, 3: 39.0}
    assert joined.disagreements == ()


def test_ripping_back_in_one_never_takes_the_rounds_of_the_other(journal: JournalFile) -> None:
    for stitch in (37, 38, 39):
        log_round(journal, [stitch])
    copy = parted(journal)
    log_round(journal, [40])
    rip_back(copy, 1)
    log_round(copy, [37])
    joined = join_copy(journal, copy)
    assert places(journal) == {1: 37.0, 2: 37.0, 3: 39.0, 4: 40.0}
    (ripped,) = joined.disagreements
    assert ripped.there.kind == "rounds ripped back"
    assert ripped.round == 1


def test_rounds_beyond_what_was_ripped_here_are_asked_about(journal: JournalFile) -> None:
    for stitch in (37, 38, 39):
        log_round(journal, [stitch])
    copy = parted(journal)
    rip_back(journal, 1)
    log_round(copy, [40])
    joined = join_copy(journal, copy)
    assert places(journal) == {1: 37.0}
    assert [d.there.kind for d in joined.disagreements] == ["round logged"]


def test_a_finished_copy_and_one_asked_for_tension(journal: JournalFile) -> None:
    log_round(journal, [37])
    copy = parted(journal)
    finish(journal)
    ask_tension(copy, -2)
    log_round(copy, [36])
    state = join_copy(journal, copy).state
    assert state.finished
    assert (state.tension_of(2), state.last_round) == (-2.0, 2)


def test_another_project_is_no_copy(journal: JournalFile, library: Library) -> None:
    other = library.create("Hut socks", make_facts(stitches=64))
    with pytest.raises(JournalError, match="'Hut socks' is another project than 'Hut shawl'"):
        join_copy(journal, other)
    assert copies_of(library, journal) == ()


DEEDS: dict[str, Callable[[JournalFile, int], object]] = {
    "next": lambda j, n: log_round(j, [n]),
    "far": lambda j, n: log_round(j, [n], round_number=n),
    "note": lambda j, n: add_note(j, f"Note {n}."),
    "fix": lambda j, n: make_fix(j, n, after_round=n),
    "needle": lambda j, n: change_needle(j, 4.0 + n / 10),
    "facts": lambda j, n: change_facts(j, tolerance=float(n)),
    "undo": lambda j, n: undo(j) if j.state.undo_label else None,
    "redo": lambda j, n: redo(j) if j.state.redo_label else None,
    "rip": lambda j, n: rip_back(j, n % j.state.last_round) if j.state.last_round else None,
}
EVENING = st.lists(st.tuples(st.sampled_from(sorted(DEEDS)), st.integers(1, 12)), max_size=7)


@given(before=EVENING, here=EVENING, there=EVENING)
@settings(max_examples=50, deadline=None)
def test_any_two_copies_become_one(
    tmp_path_factory: pytest.TempPathFactory,
    before: list[tuple[str, int]],
    here: list[tuple[str, int]],
    there: list[tuple[str, int]],
) -> None:
    folder = tmp_path_factory.mktemp("copies")
    clock = Clock()
    facts = make_facts(stitches=128)
    set_up = ProjectSetUp(at=datetime(2031, 1, 5, tzinfo=WINTER), name="Hut shawl", facts=facts)
    one = JournalFile.create(folder / "one.knitlog", set_up)
    spend(one, before, clock)
    shutil.copy(one.path, folder / "other.knitlog")
    other = JournalFile.open(folder / "other.knitlog")
    spend(one, here, clock)
    clock.wait(days=1)
    spend(other, there, clock)
    mine, theirs = places(one), places(other)
    shared = {event.id for event in one.events} & {event.id for event in other.events}
    joined = join_copy(one, other)
    # joining again, or the other way round, changes nothing more
    assert join_copy(one, other).added == 0
    after = places(one)
    assert JournalFile.open(one.path).state.problems == ()
    ripped = any(what == "rip" for what, _ in (*here, *there))
    undone = any(what in ("undo", "redo") for what, _ in (*here, *there))
    if not ripped and not undone:
        assert after.keys() == mine.keys() | theirs.keys()
        asked = {d.round for d in joined.disagreements if d.there.kind == "round logged"}
        since_here = {e.round for e in one.state.entries if e.event_id not in shared}
        for number, stitch in after.items():
            if number in asked:
                assert stitch == mine[number] != theirs[number]
            elif number in mine and number in theirs and mine[number] != theirs[number]:
                # logged anew on one side only: the newer word
                assert number in since_here
            else:
                assert stitch == mine.get(number, theirs.get(number))
    for question in joined.disagreements:
        restore(one, question.there.id)
    if not ripped and not undone:
        assert {n: s for n, s in places(one).items() if n in asked} == {
            n: s for n, s in theirs.items() if n in asked
        }


def spend(journal: JournalFile, evening: list[tuple[str, int]], clock: Clock) -> None:
    journal.clock = clock
    for what, number in evening:
        clock.wait(**{"minutes": 3})
        DEEDS[what](journal, number)
    assert clock.now - datetime(2031, 1, 5, tzinfo=WINTER) < timedelta(days=30)
