"""CSV logs out: they read back the same, and no spreadsheet runs them."""

import csv
import io
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knitlog.journal.actions import (
    add_note,
    change_facts,
    change_needle,
    change_stitches,
    join_skein,
    log_round,
    make_fix,
)
from knitlog.journal.csvlog import read_any, read_csv_log
from knitlog.journal.csvout import to_csv, write_csv
from knitlog.journal.csvtable import guarded, unguarded
from knitlog.journal.errors import JournalError
from knitlog.journal.events import (
    Event,
    FixMade,
    NeedleChanged,
    NoteAdded,
    PlaceChanged,
    Position,
    ProjectSetUp,
    RoundLogged,
    StitchCountChanged,
    TensionChanged,
)
from knitlog.journal.facts import ProjectFacts, make_facts
from knitlog.journal.fold import fold
from knitlog.journal.library import Library
from knitlog.journal.project import ProjectState, to_drift_log
from knitlog.journal.store import JournalFile

NASTY = st.text(st.sampled_from("ab '\"=+-@;,|:%\t\n\\#1＝\x1b\u202e"), max_size=12)
WORDS = st.one_of(NASTY, st.text(max_size=12))


def number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False).filter(lambda x: x == 0 or abs(x) > 1e-9)


def maybe(strategy: st.SearchStrategy[object]) -> st.SearchStrategy[object]:
    return st.none() | strategy


STITCHES = 40
FACTS = st.builds(
    ProjectFacts,
    stitches=st.just(STITCHES),
    repeats=number(0.1, 100),
    repeat_length_mm=maybe(number(10, 1_000_000)),
    needle_mm=maybe(number(0.5, 40)),
    gauge_stitches_per_cm=st.none(),
    planned_rounds=maybe(st.integers(1, 100_000)),
    tolerance=number(0.1, STITCHES),
    multiple=st.integers(0, 40),
    needles_owned_mm=st.lists(number(0.5, 40), max_size=4, unique=True).map(
        lambda needles: tuple(sorted(needles))
    ),
    flat=st.booleans(),
    target_drift=number(-1000, 1000),
    homes=st.dictionaries(st.integers(1, 24), number(0, STITCHES), max_size=3),
    yarn_thickness_mm=maybe(number(0.05, 60)),
    max_size_change_percent=maybe(number(0, 100)),
    pattern_rounds=maybe(st.integers(1, 100)),
    hand_range_percent=maybe(number(0, 20)),
    count_changes=maybe(st.integers(0, 1000)),
)
ROUND = st.integers(1, 12)
POSITIONS = st.lists(
    st.builds(
        Position,
        stitch=number(0, STITCHES),
        change=st.integers(1, 24),
        period_shift=maybe(st.integers(-5, 5)),
    ),
    min_size=1,
    max_size=3,
    unique_by=lambda p: p.change,
).map(tuple)
EVENTS = st.lists(
    st.one_of(
        st.builds(RoundLogged, round=ROUND, positions=POSITIONS, note=WORDS),
        st.builds(RoundLogged, round=ROUND, positions=POSITIONS),
        st.builds(FixMade, after_round=ROUND, taken_out=number(-100, 100), note=WORDS),
        st.builds(NeedleChanged, from_round=ROUND, needle_mm=number(0.5, 40)),
        st.builds(TensionChanged, from_round=ROUND, percent=number(-20, 20)),
        st.builds(PlaceChanged, from_round=ROUND, stitch=maybe(number(0, STITCHES))),
        st.builds(StitchCountChanged, from_round=ROUND, stitches=st.integers(STITCHES, 99)),
        st.builds(
            NoteAdded, text=WORDS.filter(lambda text: text.strip()), round=maybe(st.integers(1, 12))
        ),
    ),
    max_size=12,
)


def project(facts: ProjectFacts, events: list[Event], name: str = "Hut socks") -> ProjectState:
    first = RoundLogged(round=1, positions=(Position(stitch=3.0),))
    return fold([ProjectSetUp(name=name, facts=facts), first, *events])


def readings(state: ProjectState) -> list[tuple[object, ...]]:
    return [(e.round, p) for e in state.entries for p in e.positions]


@given(facts=FACTS, events=EVENTS)
@settings(max_examples=150, deadline=None, derandomize=True)
def test_a_project_written_and_read_is_the_same(facts: ProjectFacts, events: list[Event]) -> None:
    state = project(facts, events)
    csv_log = read_csv_log(to_csv(state).encode())
    again = csv_log.state
    assert csv_log.warnings == ()
    # a change from round 1 on is what it was begun with
    begun = {"stitches": state.stints[0].stitches, "needle_mm": state.stints[0].needle_mm}
    assert again.facts == facts.model_copy(update=begun)
    assert readings(again) == readings(state)
    assert again.stints == state.stints
    assert [(t.first_round, t.percent) for t in again.tension] == [
        (t.first_round, t.percent) for t in state.tension
    ]
    assert [(h.from_round, h.stitch) for h in again.new_homes] == [
        (h.from_round, h.stitch) for h in state.new_homes
    ]
    sums: dict[int, float] = {}
    for fix in state.fixes:
        sums[fix.after_round] = sums.get(fix.after_round, 0.0) + fix.taken_out
    assert {f.after_round: f.taken_out for f in again.fixes} == {
        r: pytest.approx(total) for r, total in sums.items() if total
    }
    assert to_csv(again) == to_csv(state)


@given(name=WORDS.filter(lambda text: text.strip()), note=WORDS.filter(lambda text: text.strip()))
@settings(deadline=None, derandomize=True)
def test_names_and_notes_come_back(name: str, note: str) -> None:
    set_up = ProjectSetUp(name=name, about=note, facts=ProjectFacts(stitches=40))
    noted = RoundLogged(round=1, positions=(Position(stitch=3.0),), note=note)
    state = fold([set_up, noted])
    again = read_csv_log(to_csv(state).encode()).state
    assert again.name == state.name
    assert [n.text for n in again.notes] == [n.text for n in state.notes]


@given(per_cm=st.tuples(number(0.05, 40), maybe(number(0.05, 40))))
@settings(derandomize=True, deadline=None)
def test_a_gauge_comes_back(per_cm: tuple[float, float | None]) -> None:
    facts = ProjectFacts(
        stitches=40, gauge_stitches_per_cm=per_cm[0], gauge_rounds_per_cm=per_cm[1]
    )
    again = read_csv_log(to_csv(project(facts, [])).encode()).state.facts
    assert (again.gauge_stitches_per_cm, again.gauge_rounds_per_cm) == per_cm


@given(text=st.one_of(NASTY, st.text()))
@settings(derandomize=True, deadline=None)
def test_what_is_guarded_is_unguarded(text: str) -> None:
    assert unguarded(guarded(text)) == text


@given(text=NASTY, separator=st.sampled_from(",;\t|:"))
@settings(derandomize=True, deadline=None)
def test_no_cell_of_guarded_text_begins_a_formula(text: str, separator: str) -> None:
    """However a program parts it, no part begins with what OWASP lists as dangerous."""
    for part in re.split(f'[{separator}\n"]', guarded(text)):
        assert not part.startswith(tuple("=+-@\uff1d\uff0b\uff0d\uff20"))
        assert not part.lstrip().startswith(tuple("=+-@"))


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_no_cell_of_an_export_is_a_formula(journal: JournalFile, separator: str) -> None:
    payload = '=HYPERLINK("//x","y");@SUM(1+1),-2+3;=1+1\t=2+2'
    log_round(journal, [37, 90], note=payload)
    make_fix(journal, -2, how=payload, note=payload)
    add_note(journal, payload)
    change_facts(journal, name=payload, about=payload)
    cells = [
        cell.strip()
        for row in csv.reader(io.StringIO(to_csv(journal.state)), delimiter=separator)
        for cell in row
    ]
    dangerous = [cell for cell in cells if cell.startswith(tuple("=+-@\t\r"))]
    assert [cell for cell in dangerous if not re.fullmatch(r"-?[0-9.]+", cell)] == []


def test_an_export_as_a_knitter_sees_it(journal: JournalFile) -> None:
    log_round(journal, [37], note="Stove lit.")
    log_round(journal, [38.5])
    make_fix(journal, 1.5)
    change_needle(journal, 4.0, from_round=4)
    change_stitches(journal, 126, from_round=4)
    log_round(journal, [39, 90], round_number=4)
    join_skein(journal, round_number=4, stitch=12)
    add_note(journal, "For the bench by the stove.")
    change_facts(journal, gauge_stitches_per_cm=2.0, multiple=2)
    assert to_csv(journal.state) == (
        "# name: Hut shawl\n"
        "# about: Invented for the tests.\n"
        "# stitches: 128\n"
        "# repeats: 1\n"
        "# repeat-length: 1524mm\n"
        "# needle: 4.5mm\n"
        "# gauge: 20 st/10cm\n"
        "# rounds: 60\n"
        "# tolerance: 3\n"
        "# multiple: 2\n"
        "# note: For the bench by the stove.\n"
        "round,stitch,change,needle_mm,stitches,fix_stitches,note\n"
        "1,37,1,4.5,128,,Stove lit.\n"
        "2,38.5,1,4.5,128,1.5,\n"
        "4,39,1,4,126,,Skein joined at stitch 12.\n"
        "4,90,2,,,,\n"
    )
    again = to_drift_log(read_csv_log(to_csv(journal.state).encode()).state)
    before = to_drift_log(journal.state)
    assert again.stints == before.stints
    assert [(r.round, r.change, r.stitch) for r in again.readings] == [
        (r.round, r.change, r.stitch) for r in before.readings
    ]


def test_an_export_does_not_write_over_a_file_unless_told(
    journal: JournalFile, tmp_path: Path
) -> None:
    path = tmp_path / "hut.csv"
    log_round(journal, [37])
    write_csv(journal.state, path)
    with pytest.raises(JournalError, match="already a file"):
        write_csv(journal.state, path)
    log_round(journal, [38])
    write_csv(journal.state, path, overwrite=True)
    assert read_csv_log(path).state.last_round == 2
    with pytest.raises(JournalError, match="not there any more"):
        write_csv(journal.state, tmp_path / "no" / "hut.csv")


def test_fibre_and_pattern_come_back(library: Library, tmp_path: Path) -> None:
    facts = make_facts(stitches=64, fibre="wool", stitch_pattern="=ribbing")
    journal = library.create("Hut socks", facts)
    log_round(journal, [12])
    write_csv(journal.state, tmp_path / "socks.csv")
    again = read_csv_log(tmp_path / "socks.csv").state.facts
    assert (again.fibre, again.stitch_pattern) == ("wool", "=ribbing")


def test_minutes_come_back_and_an_option_overrules_only_those_it_names(
    library: Library, tmp_path: Path
) -> None:
    facts = make_facts(stitches=64, minutes={"ripped-stitch": 0.125, "round-out": 1})
    journal = library.create("Hut socks", facts)
    log_round(journal, [12])
    path = tmp_path / "socks.csv"
    write_csv(journal.state, path)
    assert "\n# minutes: ripped-stitch=0.125, round-out=1\n" in path.read_text()
    assert read_csv_log(path).state.facts.minutes == {"ripped-stitch": 0.125, "round-out": 1.0}
    for source in (path, journal.path):
        state = read_any(source, {"minutes": "round-out=usual, needle=6"}).state
        assert state.facts.minutes == {"ripped-stitch": 0.125, "needle": 6.0}
    path.write_text(path.read_text().replace("round-out", "round_outs"))
    with pytest.raises(JournalError, match="Line 5: There are no minutes to set for 'round-outs'"):
        read_csv_log(path)
