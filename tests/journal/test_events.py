"""The bytes of an event are a promise: files outlive the program."""

import hashlib
import json
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from pydantic import ValidationError

from knitlog.journal.events import (
    UNDOABLE,
    Event,
    FixMade,
    NeedleChanged,
    NoteAdded,
    PlaceChanged,
    Position,
    ProjectChanged,
    ProjectFinished,
    ProjectSetUp,
    Restored,
    RoundLogged,
    RoundsRippedBack,
    SittingEnded,
    SittingStarted,
    SkeinJoined,
    StitchCountChanged,
    TensionChanged,
    Withdrawn,
    as_written,
    describe,
    event_adapter,
)
from knitlog.journal.facts import ColourPart, FactChanges, ProjectFacts
from knitlog.journal.lines import decode, encode
from knitlog.journal.project import to_drift_log
from knitlog.journal.store import JournalFile

FIXTURES = Path(__file__).parent / "fixtures"
START = datetime(2031, 1, 5, 19, 0, tzinfo=timezone(timedelta(hours=1)))


def one_of_each() -> list[Event]:
    """Every kind of event, in an order that makes sense, with ids and times of our own."""
    count = 0

    def common() -> dict[str, object]:
        nonlocal count
        count += 1
        return {"id": f"{count:032x}", "at": START + timedelta(minutes=count)}

    facts = ProjectFacts(
        stitches=128,
        repeats=1,
        repeat_length_mm=1524.0,
        needle_mm=4.5,
        gauge_stitches_per_cm=2.0,
        gauge_rounds_per_cm=2.8,
        planned_rounds=60,
        tolerance=3.0,
        multiple=8,
        needles_owned_mm=(4.0, 4.5, 5.0),
        target_drift=0.0,
        homes={1: 37.0, 2: 90.0},
        yarn_thickness_mm=2.2,
        max_size_change_percent=5.0,
        colours=(
            ColourPart(name="frost", length_mm=762.0, colour="#a8c8d8"),
            ColourPart(name="ember", length_mm=762.0, colour="#c8552a"),
        ),
    )
    return [
        ProjectSetUp(**common(), name="Hut shawl", about="Invented.\nTwo lines.", facts=facts),
        SittingStarted(**common()),
        RoundLogged(
            **common(), round=1, positions=(Position(stitch=37), Position(stitch=90.5, change=2))
        ),
        RoundLogged(
            **common(),
            round=2,
            positions=(Position(stitch=39.5, period_shift=-1),),
            note="K\u00e4lte draussen",
        ),
        NoteAdded(**common(), text="The stove smokes.", round=2),
        NoteAdded(**common(), text="A quiet evening."),
        FixMade(
            **common(), after_round=2, taken_out=2.5, over_stitches=20.0, minutes=6.0, note="Even."
        ),
        NeedleChanged(**common(), from_round=3, needle_mm=4.0),
        StitchCountChanged(**common(), from_round=4, stitches=126),
        SkeinJoined(**common(), round=4, stitch=12.0),
        SittingEnded(**common()),
        RoundLogged(**common(), round=3, positions=(Position(stitch=40.0),), imported=True),
        RoundLogged(**common(), round=9, positions=(Position(stitch=41.0),)),
        RoundsRippedBack(**common(), to_round=5, note="Moth."),
        ProjectChanged(
            **common(), changes=FactChanges(tolerance=4.0, cleared=("yarn_thickness_mm",))
        ),
        ProjectFinished(**common(), note="Off the needles."),
        Withdrawn(**common(), target=f"{16:032x}"),
        Restored(**common(), target=f"{16:032x}"),
    ]


def test_the_bytes_of_every_event_are_as_they_always_were() -> None:
    written = b"".join(encode(event) for event in one_of_each())
    assert written == (FIXTURES / "schema_1.knitlog").read_bytes()


def test_the_file_of_schema_1_has_not_been_touched() -> None:
    digest = hashlib.sha256((FIXTURES / "schema_1.knitlog").read_bytes()).hexdigest()
    assert digest == "d016945ffaa53f6f287d709706b8dc6c65ae748b9c1c03d3d5f1b2b8a4f3954d"


def test_a_file_of_schema_1_opens_and_says_what_it_always_said() -> None:
    state = JournalFile.open(FIXTURES / "schema_1.knitlog").state
    assert state.problems == ()
    assert state.name == "Hut shawl"
    assert state.about == "Invented.\nTwo lines."
    assert [(e.round, [p.stitch for p in e.positions]) for e in state.entries] == [
        (1, [37.0, 90.5]),
        (2, [39.5]),
        (3, [40.0]),
    ]
    assert [e.sitting for e in state.entries] == [1, 1, 0]
    assert [(s.first_round, s.stitches, s.needle_mm) for s in state.stints] == [
        (1, 128, 4.5),
        (3, 128, 4.0),
        (4, 126, 4.0),
    ]
    assert [(f.after_round, f.taken_out) for f in state.fixes] == [(2, 2.5)]
    assert [n.text for n in state.notes] == [
        "K\u00e4lte draussen",
        "The stove smokes.",
        "A quiet evening.",
        "Even.",
        "Moth.",
        "Off the needles.",
    ]
    assert [(j.round, j.stitch) for j in state.joins] == [(4, 12.0)]
    assert state.facts.tolerance == 4.0
    assert state.facts.yarn_thickness_mm is None
    assert state.facts.homes == {1: 37.0, 2: 90.0}
    assert state.facts.gauge is not None
    assert state.facts.gauge.stitches_per_cm == 2.0
    assert state.facts.colour_run is not None
    assert state.facts.colour_run.repeat_length_mm == 1524.0
    assert state.finished
    assert state.undo_label == "project finished"
    log = to_drift_log(state)
    assert [(r.round, r.change, r.stitch, r.sitting, r.period_shift) for r in log.readings] == [
        (1, 1, 37.0, 1, None),
        (1, 2, 90.5, 1, None),
        (2, 1, 39.5, 1, -1),
        (3, 1, 40.0, None, None),
    ]
    assert log.homes == {1: 37.0, 2: 90.0}


def what_came_with_schema_2() -> list[Event]:
    """A short project that tells everything schema 1 had no words for."""
    count = 0

    def common() -> dict[str, object]:
        nonlocal count
        count += 1
        return {"id": f"{count:032x}", "at": START + timedelta(minutes=count)}

    facts = ProjectFacts(
        stitches=96,
        repeat_length_mm=1524.0,
        needle_mm=4.5,
        minutes={"count-line": 15.0, "round-out": 1.0},
        pattern_rounds=4,
        hand_range_percent=2.5,
        count_changes=2,
        as_given={"repeat_length_mm": "60in", "needle_mm": "US 7"},
    )
    events = [
        ProjectSetUp(**common(), name="Hut cowl", about="Invented.", facts=facts),
        RoundLogged(**common(), round=1, positions=(Position(stitch=30),)),
        RoundLogged(**common(), round=2, positions=(Position(stitch=32.5),)),
        TensionChanged(**common(), from_round=3, percent=-2.0, aim_stitch=31.5, note="Tighter."),
        RoundLogged(
            **common(),
            round=3,
            positions=(Position(stitch=33),),
            tension_percent=-2.0,
            aim_stitch=31.5,
        ),
        RoundLogged(**common(), round=4, positions=(Position(stitch=33),), tension_percent=-1.0),
        NeedleChanged(**common(), from_round=5, needle_mm=5.0, as_given="US 8"),
        PlaceChanged(**common(), from_round=4),
        RoundLogged(**common(), round=5, positions=(Position(stitch=33.5),)),
        PlaceChanged(**common(), from_round=5, stitch=34.0, note="There it stays."),
        TensionChanged(**common(), from_round=6, percent=0.0),
        ProjectChanged(
            **common(), changes=FactChanges(pattern_rounds=2, cleared=("count_changes",))
        ),
    ]
    return [as_written(event) for event in events]


def test_the_bytes_of_schema_2_are_as_they_always_were() -> None:
    written = b"".join(encode(event) for event in what_came_with_schema_2())
    assert written == (FIXTURES / "schema_2.knitlog").read_bytes()


def test_a_file_of_schema_2_opens_and_says_what_it_always_said() -> None:
    journal = JournalFile.open(FIXTURES / "schema_2.knitlog")
    state = journal.state
    assert state.problems == ()
    assert [(e.round, e.positions[0].stitch) for e in state.entries] == [
        (1, 30.0),
        (2, 32.5),
        (3, 33.0),
        (4, 33.0),
        (5, 33.5),
    ]
    assert [(t.first_round, t.percent) for t in state.tension] == [(3, -2.0), (4, -1.0), (6, 0.0)]
    assert [state.tension_of(r) for r in range(1, 8)] == [0, 0, -2, -1, -1, 0, 0]
    assert state.aims == {3: 31.5}
    assert [(h.from_round, h.stitch) for h in state.new_homes] == [(4, None), (5, 34.0)]
    assert [(s.first_round, s.needle_mm, s.needle_given) for s in state.stints] == [
        (1, 4.5, None),
        (5, 5.0, "US 8"),
    ]
    assert [n.text for n in state.notes] == ["Tighter.", "There it stays."]
    facts = state.facts
    assert (facts.pattern_rounds, facts.hand_range_percent, facts.count_changes) == (2, 2.5, None)
    assert facts.minutes == {"count-line": 15.0, "round-out": 1.0}
    assert facts.as_given == {"repeat_length_mm": "60in", "needle_mm": "US 7"}
    log = to_drift_log(state)
    assert [(t.first_round, t.percent) for t in log.tension] == [(3, -2.0), (4, -1.0), (6, 0.0)]
    assert [(h.first_round, h.stitch) for h in log.new_homes] == [(4, None), (5, 34.0)]
    assert log.pattern_rounds == 2
    assert [event.schema_version for event in journal.events] == [
        2, 1, 1, 2, 2, 2, 2, 2, 1, 2, 2, 2
    ]  # fmt: skip


def test_every_kind_of_event_is_in_the_fixtures() -> None:
    kinds = {type(event) for event in [*one_of_each(), *what_came_with_schema_2()]}
    assert kinds == set(Event.__args__)


def test_a_line_carries_the_lowest_schema_that_can_take_it() -> None:
    """What tells nothing new is still read, and written on, by a version that knows schema 1."""
    assert {event.schema_version for event in map(as_written, one_of_each())} == {1}
    told = ProjectChanged(changes=FactChanges(minutes={"new-place": 5.0}))
    assert as_written(told).schema_version == 2
    assert b'"schema":2' in encode(told)


def test_events_come_back_from_their_lines() -> None:
    events = [*one_of_each(), *what_came_with_schema_2()]
    read = decode(b"".join(encode(event) for event in events))
    assert list(read.events) == events
    assert read.lines == tuple(range(1, len(events) + 1))
    assert read.problems == ()


@pytest.mark.parametrize(
    "wrong",
    [
        {"round": 0},
        {"round": 1.5},
        {"round": True},
        {"round": 10**9},
        {"positions": []},
        {"positions": [{"stitch": -1.0}]},
        {"positions": [{"stitch": 1e308}]},
        {"positions": [{"stitch": float("nan")}]},
        {"positions": [{"stitch": float("inf")}]},
        {"positions": [{"stitch": "37"}]},
        {"positions": [{"stitch": 3.0, "change": 99}]},
        {"note": "x" * 4001},
        {"at": "2031-01-05T19:00:00"},
        {"at": "1031-01-05T19:00:00Z"},
        {"id": "../../etc"},
        {"schema": 3},
        {"tension_percent": 21.0},
        {"aim_stitch": -1.0},
        {"kind": "round lagged"},
        {"surprise": 1},
    ],
)
def test_an_event_that_makes_no_sense_is_refused(wrong: dict[str, object]) -> None:
    right = {
        "schema": 1,
        "id": "0" * 32,
        "at": "2031-01-05T19:00:00Z",
        "kind": "round logged",
        "round": 1,
        "positions": [{"stitch": 3.0}],
    }
    assert event_adapter.validate_json(json.dumps(right))
    with pytest.raises(ValidationError):
        event_adapter.validate_json(json.dumps(right | wrong))


def test_what_undo_takes_back_has_words_of_its_own() -> None:
    labels = [describe(event) for event in one_of_each() if isinstance(event, UNDOABLE)]
    assert labels == [
        "round 1",
        "round 2",
        "the note on round 2",
        "the note",
        "the fix after round 2",
        "the change to 4 mm needles at round 3",
        "the change to 126 stitches at round 4",
        "the skein joined in round 4",
        "round 3",
        "round 9",
        "ripping back to round 5",
        "the change of settings",
        "project finished",
    ]
