"""The facts of a project, and what is said when one will not do."""

import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knitlog.journal.actions import (
    change_facts,
    change_stitches,
    finish,
    log_round,
    make_fix,
    undo,
)
from knitlog.journal.csvlog import read_any
from knitlog.journal.csvout import write_csv
from knitlog.journal.errors import JournalError
from knitlog.journal.facts import ColourPart, FactChanges, make_facts
from knitlog.journal.store import JournalFile

FROST = ColourPart(name="frost", length_mm=762.0, colour="#a8c8d8")


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({}, "The stitch count must be given."),
        ({"stitches": 1}, "The stitch count cannot be '1': it must be 2 or more."),
        ({"stitches": 10_001}, "The stitch count cannot be '10001': it must be 10,000 or less."),
        ({"stitches": 12.5}, "The stitch count cannot be '12.5': it must be a whole number."),
        ({"stitches": "many"}, "The stitch count cannot be 'many': it must be a whole number."),
        ({"stitches": None}, "The stitch count cannot be 'None': it must be a whole number."),
        ({"stitches": 10**40}, f"The stitch count cannot be '1{'0' * 39}...': it must be 10,000 "
         "or less."),
        ({"repeats": 0}, "The repeats cannot be '0': it must be above 0."),
        ({"repeat_length_mm": 5}, "The repeat length cannot be '5': it must be 10 or more."),
        ({"needle_mm": math.nan}, "The needle cannot be 'nan': it must be a plain number."),
        ({"needle_mm": math.inf}, "The needle cannot be 'inf': it must be a plain number."),
        ({"needle_mm": 1e308}, "The needle cannot be '1e+308': it must be 40 or less."),
        ({"flat": 1}, "The flat cannot be '1': it must be yes or no."),
        ({"fibre": 3}, "The fibre cannot be '3': it must be plain text."),
        ({"fibre": "x" * 61}, f"The fibre cannot be '{'x' * 40}...': it must be 60 characters at "
         "most."),
        ({"homes": {0: 3.0}}, "The home cannot be '0': it must be 1 or more."),
        ({"needles_owned_mm": (4.0,) * 101}, None),
        ({"colours": (FROST,) * 101}, None),
        ({"colours": ({"name": "x", "length_mm": 3.0, "colour": "red"},)},
         "The colour cannot be 'red': it must be a colour such as #cc6677."),
        ({"colours": "red"}, "The colours cannot be 'red': it must be something else; check it."),
        ({"speed": 3}, "There is nothing called 'speed' to set."),
        ({"minutes": 3}, "The minutes cannot be '3': it must be something else; check it."),
        ({"minutes": {3: 3}}, "There are no minutes to set for '3'; there are tapestry, "
         "rip, ripped-stitch, needle, gauge-line, count, count-stitch, "
         "count-line, new-place, round-again, pattern-anew, attention and round-out."),
        ({"minutes": {"rip": True}}, "The minutes for rip cannot be 'True': type 0 to 10,000, as "
         "rip=6, or rip=usual."),
        ({"minutes": {"rip": math.nan}}, "The minutes for rip cannot be 'nan': type 0 to 10,000, "
         "as rip=6, or rip=usual."),
    ],
)  # fmt: skip
def test_a_fact_that_will_not_do_is_answered_in_one_sentence(
    values: dict[str, object], sentence: str | None
) -> None:
    with pytest.raises(JournalError) as raised:
        make_facts(**({"stitches": 128} if values and "stitches" not in values else {}), **values)
    said = str(raised.value)
    if sentence is None:
        assert said.endswith("it must be 100 at most.")
        assert len(said) < 120
    else:
        assert said == sentence


def test_what_is_not_known_is_none() -> None:
    facts = make_facts(stitches=128)
    assert facts.gauge is None
    assert facts.colour_run is None


@given(
    per_cm=st.tuples(st.floats(0.05, 40), st.none() | st.floats(0.05, 40)),
    lengths=st.lists(st.floats(0.001, 1_000_000), min_size=1, max_size=5),
    turn=st.booleans(),
)
@settings(derandomize=True, deadline=None)
def test_facts_that_are_taken_are_taken_by_the_yarn_room_too(
    per_cm: tuple[float, float | None], lengths: list[float], turn: bool
) -> None:
    facts = make_facts(
        stitches=128,
        gauge_stitches_per_cm=per_cm[0],
        gauge_rounds_per_cm=per_cm[1],
        colours=tuple(ColourPart(name="a", length_mm=x, colour="#a8c8d8") for x in lengths),
        colours_turn_back=turn,
    )
    assert facts.gauge is not None
    assert (facts.gauge.stitches_per_cm, facts.gauge.rounds_per_cm) == per_cm
    assert facts.colour_run is not None
    assert [segment.length_mm for segment in facts.colour_run.segments] == lengths
    assert facts.colour_run.palindrome == turn


@pytest.mark.parametrize("name", ["stitches", "name", "speed", "x\x1b[31m"])
def test_only_what_may_be_unknown_can_be_forgotten(journal: JournalFile, name: str) -> None:
    before = journal.path.read_bytes()
    with pytest.raises(JournalError, match="There is no fact") as raised:
        change_facts(journal, cleared=(name,))
    assert str(raised.value).isprintable()
    assert journal.path.read_bytes() == before


def test_changes_leave_the_other_facts_alone() -> None:
    facts = make_facts(stitches=128, needle_mm=4.5, colours=(FROST,), homes={1: 37.0})
    changed = FactChanges(tolerance=5.0, cleared=("homes",)).applied_to(facts)
    assert changed == facts.model_copy(update={"tolerance": 5.0, "homes": {}})


def test_some_minutes_leave_the_others_as_they_were(journal: JournalFile) -> None:
    assert journal.state.facts.minutes is None
    change_facts(journal, minutes={"round-out": 1, "needle": 6})
    change_facts(journal, minutes={"rip": 0.5, "needle": None})
    change_facts(journal, tolerance=4.0)
    assert journal.state.facts.minutes == {"rip": 0.5, "round-out": 1.0}
    again = JournalFile.open(journal.path)
    assert again.state.facts.minutes == {"rip": 0.5, "round-out": 1.0}
    undo(again)
    undo(again)
    assert again.state.facts.minutes == {"needle": 6.0, "round-out": 1.0}
    change_facts(again, minutes={"needle": None, "round-out": None})
    assert again.state.facts.minutes is None
    undo(again)
    change_facts(again, cleared=("minutes",))
    assert again.state.facts.minutes is None
    assert JournalFile.open(journal.path).state == again.state


def test_what_will_not_do_is_never_written(journal: JournalFile) -> None:
    before = journal.path.read_bytes()
    for wrong in (
        lambda: log_round(journal, [math.nan]),
        lambda: log_round(journal, []),
        lambda: log_round(journal, [3], round_number=0),
        lambda: log_round(journal, [3], note="x" * 5000),
        lambda: log_round(journal, [3] * 25),
        lambda: make_fix(journal, 1e9, after_round=1),
        lambda: change_stitches(journal, 0),
        lambda: change_facts(journal, tolerance=-1.0),
        lambda: change_facts(journal, minutes={"needle": -1.0}),
        lambda: change_facts(journal, minutes={"tea": 1.0}),
    ):
        with pytest.raises(JournalError) as raised:
            wrong()
        assert len(str(raised.value)) < 200
    assert journal.path.read_bytes() == before
    finish(journal)
    with pytest.raises(JournalError, match="finished"):
        finish(journal)


def test_a_tolerance_is_no_more_than_the_round(journal: JournalFile, tmp_path: Path) -> None:
    sentence = "A tolerance of 129 stitches is more than the round, which has 128; type what"
    with pytest.raises(JournalError, match=sentence):
        make_facts(stitches=128, tolerance=129)
    with pytest.raises(JournalError, match=sentence):
        change_facts(journal, tolerance=129.0)
    log_round(journal, [37])
    path = tmp_path / "hut.csv"
    write_csv(journal.state, path)
    for source in (path, journal.path):
        with pytest.raises(JournalError, match=sentence):
            read_any(source, {"tolerance": "129"})
    # a file that holds one is read as before, and everything is in place
    path.write_text(path.read_text().replace("# tolerance: 3", "# tolerance: 10000"))
    assert read_any(path).state.facts.tolerance == 128
