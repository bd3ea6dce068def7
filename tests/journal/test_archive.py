"""Everything out and everything back: the same project, by either file."""

import csv
import json
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knitlog.journal.actions import add_note, log_round, undo
from knitlog.journal.archive import (
    export_all,
    from_json,
    import_all,
    read_export,
    to_json,
)
from knitlog.journal.errors import JournalError
from knitlog.journal.events import (
    Event,
    FixMade,
    NeedleChanged,
    NoteAdded,
    PlaceChanged,
    Position,
    ProjectChanged,
    ProjectFinished,
    ProjectSetUp,
    RoundLogged,
    RoundsRippedBack,
    SittingEnded,
    SittingStarted,
    SkeinJoined,
    StitchCountChanged,
    TensionChanged,
    Withdrawn,
    as_written,
)
from knitlog.journal.facts import ColourPart, FactChanges, ProjectFacts
from knitlog.journal.flat import from_table, header, to_table
from knitlog.journal.fold import fold
from knitlog.journal.library import Library
from knitlog.journal.minutes import WORK
from knitlog.journal.store import JournalFile

YEAR = Path(__file__).parents[2] / "sample_logs" / "history"
NASTY = st.text(st.sampled_from("ab '\"=+-@;,|:%\t\n\r\\#1[]{}.＝\x1b\u202e"), max_size=14)
WORDS = NASTY | st.text(max_size=14)
SOME = WORDS.filter(lambda text: any(c.isalnum() for c in text)).map(lambda t: f"x{t}")
NUMBERS = st.floats(0.5, 40, allow_nan=False)
AT = st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1)).map(lambda d: d.replace(tzinfo=UTC))
FACTS = st.builds(
    ProjectFacts,
    stitches=st.integers(2, 400),
    repeats=NUMBERS,
    repeat_length_mm=st.none() | st.floats(10, 1_000_000),
    needles_owned_mm=st.lists(NUMBERS, max_size=3).map(tuple),
    homes=st.dictionaries(st.integers(1, 24), st.floats(0, 100), max_size=3),
    flat=st.booleans(),
    target_drift=st.floats(-1000, 1000),
    fibre=st.none() | SOME,
    pattern_rounds=st.none() | st.integers(1, 100),
    hand_range_percent=st.none() | st.floats(0, 20),
    as_given=st.none()
    | st.dictionaries(
        st.sampled_from(("repeat_length_mm", "gauge", "needle_mm")), SOME, max_size=2
    ),
    minutes=st.none() | st.dictionaries(st.sampled_from(WORK), st.floats(0, 10_000), max_size=4),
    colours=st.lists(
        st.builds(ColourPart, name=SOME, length_mm=NUMBERS, colour=st.just("#b5452c")), max_size=3
    ).map(tuple),
)
CHANGES = st.builds(
    FactChanges,
    name=st.none() | SOME,
    tolerance=st.none() | NUMBERS,
    needles_owned_mm=st.none() | st.lists(NUMBERS, max_size=2).map(tuple),
    homes=st.none() | st.dictionaries(st.integers(1, 24), st.floats(0, 100), max_size=2),
    colours=st.none() | st.just(()),
    minutes=st.none()
    | st.dictionaries(st.sampled_from(WORK), st.none() | st.floats(0, 10_000), max_size=4),
    count_changes=st.none() | st.integers(0, 1000),
    cleared=st.sets(st.sampled_from(("repeat_length_mm", "fibre", "minutes"))).map(tuple),
)
POSITIONS = st.lists(
    st.builds(
        Position,
        stitch=st.floats(0, 400),
        change=st.integers(1, 24),
        period_shift=st.none() | st.integers(-5, 5),
    ),
    min_size=1,
    max_size=12,
    unique_by=lambda p: p.change,
).map(tuple)
ROUND = st.integers(1, 30)
EVENT = st.one_of(
    st.builds(RoundLogged, at=AT, round=ROUND, positions=POSITIONS, note=SOME),
    st.builds(RoundLogged, at=AT, round=ROUND, positions=POSITIONS),
    st.builds(FixMade, at=AT, after_round=ROUND, taken_out=st.floats(-99, 99), how=WORDS),
    st.builds(NeedleChanged, at=AT, from_round=ROUND, needle_mm=NUMBERS),
    st.builds(StitchCountChanged, at=AT, from_round=ROUND, stitches=st.integers(2, 400)),
    st.builds(NoteAdded, at=AT, text=SOME, round=st.none() | ROUND),
    st.builds(
        TensionChanged,
        at=AT,
        from_round=ROUND,
        percent=st.floats(-20, 20),
        aim_stitch=st.none() | st.floats(0, 400),
    ),
    st.builds(PlaceChanged, at=AT, from_round=ROUND, stitch=st.none() | st.floats(0, 400)),
    st.builds(SkeinJoined, at=AT, round=ROUND, stitch=st.none() | NUMBERS, note=SOME),
    st.builds(RoundsRippedBack, at=AT, to_round=st.integers(0, 30)),
    st.builds(SittingStarted, at=AT),
    st.builds(SittingEnded, at=AT),
    st.builds(ProjectFinished, at=AT, note=SOME),
    st.builds(ProjectChanged, at=AT, changes=CHANGES),
)


@st.composite
def histories(draw: st.DrawFn) -> list[Event]:
    """A project with anything in it, some of it taken back."""
    set_up = draw(st.builds(ProjectSetUp, at=AT, name=SOME, about=WORDS, facts=FACTS))
    events = draw(st.lists(EVENT, max_size=10))
    if events and draw(st.booleans()):
        events.append(Withdrawn(at=events[-1].at, target=draw(st.sampled_from(events)).id))
    return [as_written(event) for event in (set_up, *events)]


@given(histories())
@settings(max_examples=60, deadline=None)
def test_written_and_read_it_is_the_same_project(events: list[Event]) -> None:
    state = fold(events)
    by_json = from_json(to_json(state, events))
    by_table = from_table(to_table(events))
    assert list(by_json) == events
    assert list(by_table) == events
    assert fold(by_json) == state
    assert fold(by_table) == state


@given(histories())
@settings(max_examples=30, deadline=None)
def test_no_spreadsheet_runs_a_cell(events: list[Event]) -> None:
    for row in csv.reader(to_table(events).splitlines(keepends=True)):
        for cell in row:
            assert not cell.startswith(("=", "+", "@"))
            if cell.startswith("-"):
                float(cell)


@pytest.mark.parametrize("tables", [False, True], ids=["json", "tables"])
def test_the_whole_year_goes_out_and_comes_back(tmp_path: Path, tables: bool) -> None:
    old = Library(YEAR)
    out = export_all(old, tmp_path / "out")
    new = Library(tmp_path / "again")
    back = import_all(new, tmp_path / "out", tables=tables)
    assert out.problems == back.problems == ()
    assert sorted(back.names) == sorted(s.slug for s in old.projects())
    for shelf in old.projects():
        assert new.open(shelf.slug).state == shelf.state
        assert new.open(shelf.slug).events == JournalFile.open(shelf.path).events


def test_units_stand_in_every_header(tmp_path: Path) -> None:
    export_all(Library(YEAR), tmp_path)
    words = {"project", "name", "note", "how", "fibre", "stitch pattern"}
    tables = sorted(tmp_path.glob("all *.csv"))
    assert {p.stem for p in tables} == {
        "all projects", "all rounds", "all fixes", "all stints", "all sittings", "all notes",
    }  # fmt: skip
    for path in tables:
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.reader(file))
        assert all(name in words or "[" in name for name in rows[0]), rows[0]
        assert all(len(row) == len(rows[0]) for row in rows)
    assert header("facts.gauge_stitches_per_cm") == "facts.gauge_stitches_per_cm [per cm]"
    assert header("at") == "at [ISO 8601]"
    assert header("minutes") == "minutes [min]"
    assert header("changes.minutes.ripped-stitch") == "changes.minutes.ripped-stitch [min]"
    content = json.loads((tmp_path / "02-woodpile-cowl.json").read_text(encoding="utf-8"))
    assert content["units"]["_mm"] == "millimetres"


def test_what_was_taken_back_stays_taken_back(tmp_path: Path, journal: JournalFile) -> None:
    log_round(journal, [37.0])
    add_note(journal, "=1+1 is no formula")
    undo(journal)
    library = Library(journal.path.parent)
    export_all(library, tmp_path / "out")
    again = Library(tmp_path / "again")
    import_all(again, tmp_path / "out", tables=True)
    state = again.projects()[0].state
    assert state == journal.state
    assert state.redo_label is not None


def test_a_name_that_is_taken_is_left_alone(tmp_path: Path) -> None:
    export_all(Library(YEAR), tmp_path / "out")
    library = Library(tmp_path / "again")
    import_all(library, tmp_path / "out")
    before = [s.path.read_bytes() for s in library.projects()]
    back = import_all(library, tmp_path / "out")
    assert back.names == ()
    assert len(back.problems) == 9
    assert "already" in back.problems[0]
    assert [s.path.read_bytes() for s in library.projects()] == before


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("a.json", "", "not a JSON file"),
        ("a.json", "[1]", "no exported project"),
        ("a.json", '{"events": [{"kind": "moon"}]}', "Event 1 cannot be read"),
        ("a.json", '{"knitlog": 9, "events": []}', "newer knitlog"),
        ("a.json", '{"events": []}', "sets this project up"),
        ("a.json", "[" * 100_000, "not a JSON file"),
        ("a.events.csv", "", "no column called kind"),
        ("a.events.csv", "kind,round\nround logged,x\n", "Line 2 is no event"),
        ("a.events.csv", "kind,round.0,round\nround logged,1,2\n", "Line 2 is no event"),
        ("a.events.csv", "kind,Rose Red!\n", "no field of an event"),
    ],
)
def test_what_is_no_export_says_so(tmp_path: Path, name: str, text: str, words: str) -> None:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    with pytest.raises(JournalError, match=words):
        read_export(path)


def test_an_empty_folder_says_so(tmp_path: Path) -> None:
    with pytest.raises(JournalError, match="no exported project"):
        import_all(Library(tmp_path / "again"), tmp_path)
    with pytest.raises(JournalError, match="cannot be read"):
        import_all(Library(tmp_path / "again"), tmp_path / "nowhere")


def test_a_project_that_cannot_be_opened_is_left_out_and_named(
    tmp_path: Path, journal: JournalFile
) -> None:
    log_round(journal, [37])
    (journal.path.parent / "torn.knitlog").write_bytes(b"")
    done = export_all(Library(journal.path.parent), tmp_path / "out")
    assert done.names == ("hut-shawl",)
    assert [problem.startswith("torn is left out: ") for problem in done.problems] == [True]
    (tmp_path / "out" / "binary.json").write_bytes(b"\xff\xfe\x00")
    back = import_all(Library(tmp_path / "again"), tmp_path / "out")
    assert back.names == ("hut-shawl",)
    assert back.problems == ("binary.json is left out: it is not text; is it the right file?",)


def test_a_table_no_reader_takes_says_so() -> None:
    with pytest.raises(JournalError, match="This table cannot be read"):
        from_table("kind\n" + "x" * 200_000)  # the csv module takes no field over 131,072
