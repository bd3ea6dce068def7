"""Files of every kind and schema ever written lie in ``fixtures`` and are still read.

They are never made again: a new schema gets files of its own beside them.  The journal with
one event of each kind has its tests in ``test_events``.
"""

import hashlib
from pathlib import Path

import pytest

from knitlog.journal.archive import read_export
from knitlog.journal.colour_runs import SCHEMA as COLOUR_RUN_SCHEMA
from knitlog.journal.colour_runs import ColourRunBook
from knitlog.journal.csvlog import read_any
from knitlog.journal.events import SCHEMA
from knitlog.journal.lines import encode
from knitlog.journal.store import JournalFile

FIXTURES = Path(__file__).parent / "fixtures"
DIGESTS = {
    "schema_1.knitlog": "d016945ffaa53f6f287d709706b8dc6c65ae748b9c1c03d3d5f1b2b8a4f3954d",
    "schema_1_fibre.knitlog": "76627b36b2a5b364160c6fb4cbfa228f209a3bbe0b2bd0b87d96869d6d9a47a0",
    "schema_1_minutes.knitlog": "91adf03de293b5086e1f746802cf4b4f09c5befa1ef2e6996d07b6095a9b752b",
    "schema_2.knitlog": "55b29a2ea0c11de2c8dc8a6885ed2800fc065d0d49397312f20081810c8c1327",
    "export_2.json": "cb96b3c3dc73f39c3eb4c92402c89199ad7ae29acc27eaf0efb8690a7b98e10b",
    "export_2.events.csv": "23aaffbb159b2ebd943343f3b7ce1bce1056aac29a98f7ebad60a22c0a2cf3a7",
    "log_2.csv": "130122270988114c1aea6b5433d27bb98be5e20e054f7487c83bfa7b9f37ef6f",
    "export_1.json": "e68476a0818deb9c1c851d60ed1e82a60613ccbc8c8d4ff6eed9fcd5c0a872fb",
    "export_1.events.csv": "ce9daee3188f463b9c1799ff2b241af805734380a81489ecfa153093d6c8492a",
    "log_1.csv": "b71a6426e16171c2df11bb21dab402247c85fb22370436999af4d38ffe0ae619",
    "colour_runs_1.jsonl": "258485bd8a32c2f5b4085874e57fe287e7f635bb035a171e90e3ab493a8aa434",
}
"""SHA-256 of each file as it was when it was written."""


def test_no_file_has_been_touched_and_none_is_forgotten() -> None:
    there = {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in FIXTURES.iterdir()}
    assert there == DIGESTS


def test_every_schema_ever_written_has_its_files() -> None:
    for schema in range(1, SCHEMA + 1):
        for name in (f"schema_{schema}.knitlog", f"export_{schema}.json"):
            assert name in DIGESTS
        assert f"export_{schema}.events.csv" in DIGESTS
    for schema in range(1, COLOUR_RUN_SCHEMA + 1):
        assert f"colour_runs_{schema}.jsonl" in DIGESTS


def test_facts_that_came_later_are_read() -> None:
    state = JournalFile.open(FIXTURES / "schema_1_fibre.knitlog").state
    assert state.problems == ()
    assert (state.name, state.last_round) == ("Hut socks", 1)
    assert (state.facts.fibre, state.facts.stitch_pattern) == (None, "plain")
    state = JournalFile.open(FIXTURES / "schema_1_minutes.knitlog").state
    assert state.problems == ()
    assert (state.name, state.last_round) == ("Hut mitts", 1)
    assert state.facts.minutes == {"tapestry": 9.5, "round-out": 1.0}


def test_a_journal_from_before_a_fact_opens_and_is_written_as_before() -> None:
    for name in ("schema_1.knitlog", "schema_1_fibre.knitlog"):
        before = (FIXTURES / name).read_bytes()
        assert b'"minutes":{' not in before
        journal = JournalFile.open(FIXTURES / name)
        assert journal.state.problems == ()
        assert journal.state.facts.minutes is None
        # what was never told is not written, so that an older version reads the line as well
        assert encode(journal.events[0]) == before.splitlines(keepends=True)[0]


@pytest.mark.parametrize("schema", range(1, SCHEMA + 1))
@pytest.mark.parametrize("suffix", [".json", ".events.csv"])
def test_an_export_reads_back_as_the_journal_it_was_made_of(schema: int, suffix: str) -> None:
    journal = JournalFile.open(FIXTURES / f"schema_{schema}.knitlog")
    assert read_export(FIXTURES / f"export_{schema}{suffix}") == journal.events


def test_a_csv_log_with_tension_and_a_new_home_says_what_it_always_said() -> None:
    read = read_any(FIXTURES / "log_2.csv")
    state = read.state
    assert read.warnings == ()
    assert [(t.first_round, t.percent) for t in state.tension] == [(3, -2.0), (4, -1.0), (6, 0.0)]
    assert [(h.from_round, h.stitch) for h in state.new_homes] == [(4, None), (5, 34.0)]
    assert state.facts.pattern_rounds == 2
    assert state.facts.hand_range_percent == 2.5
    assert state.facts.minutes == {"count-line": 15.0, "round-out": 1.0}
    assert state.facts.repeat_length_mm == 1524.0


def test_a_csv_log_says_what_it_always_said() -> None:
    read = read_any(FIXTURES / "log_1.csv")
    state = read.state
    assert read.warnings == ()
    assert (state.name, state.about) == ("Hut shawl", "Invented.\nTwo lines.")
    assert [(e.round, [p.stitch for p in e.positions]) for e in state.entries] == [
        (1, [37.0, 90.5]),
        (2, [39.5]),
        (3, [40.0]),
    ]
    assert [(s.first_round, s.stitches, s.needle_mm) for s in state.stints] == [
        (1, 128, 4.5),
        (3, 128, 4.0),
        (4, 126, 4.0),
    ]
    assert [(f.after_round, f.taken_out) for f in state.fixes] == [(2, 2.5)]
    assert state.facts.repeat_length_mm == 1524.0
    assert state.facts.homes == {1: 37.0, 2: 90.0}
    assert state.facts.tolerance == 4.0


def test_a_book_of_colour_runs_says_what_it_always_said(tmp_path: Path) -> None:
    book = ColourRunBook(tmp_path)
    book.path.write_bytes((FIXTURES / "colour_runs_1.jsonl").read_bytes())
    assert book.problems() == ()
    lake, sunset = book.runs()
    assert (lake.name, lake.run.palindrome, lake.note) == ("Lake at night", True, "")
    assert [(s.name, s.length_mm, s.colour) for s in sunset.run.segments] == [
        ("rose", 300.0, "#e69f00"),
        ("moss", 450.0, "#117733"),
        ("snow", 200.0, "#56b4e9"),
    ]
    assert sunset.note == "From the loft."
