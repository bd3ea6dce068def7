"""A log is read whatever it is."""

import shutil
from pathlib import Path

import pytest

from knitlog.journal.actions import log_round
from knitlog.journal.csvlog import read_any
from knitlog.journal.csvout import to_csv
from knitlog.journal.errors import JournalError
from knitlog.journal.store import JournalFile

FIXTURE = Path(__file__).parent / "fixtures" / "schema_1.knitlog"


def test_a_journal_and_its_export_tell_the_same(journal: JournalFile, tmp_path: Path) -> None:
    for stitch in (37, 38, 39.5):
        log_round(journal, [stitch])
    csv_path = tmp_path / "hut.csv"
    csv_path.write_text(to_csv(journal.state))
    one, two = read_any(journal.path), read_any(csv_path)
    assert (one.is_journal, two.is_journal) == (True, False)
    assert one.state.name == two.state.name
    assert one.state.facts == two.state.facts
    assert [e.positions for e in one.state.entries] == [e.positions for e in two.state.entries]


def test_a_journal_is_known_by_what_is_in_it(tmp_path: Path) -> None:
    path = tmp_path / "backup.txt"
    shutil.copy(FIXTURE, path)
    assert read_any(path).is_journal


def test_options_come_before_a_journals_own_facts() -> None:
    before = FIXTURE.read_bytes()
    log = read_any(FIXTURE, {"tolerance": "1.5", "stitches": "130", "gauge": "21 st/10cm"})
    assert log.state.facts.tolerance == 1.5
    assert log.state.facts.gauge_stitches_per_cm == 2.1
    assert [s.stitches for s in log.state.stints] == [130, 130, 126]
    assert FIXTURE.read_bytes() == before


def test_what_could_not_be_used_is_said(tmp_path: Path) -> None:
    path = tmp_path / "hut.knitlog"
    path.write_bytes(FIXTURE.read_bytes().replace(b'"stitch":39.5', b'"stitch":3x.5') + b'{"sch')
    log = read_any(path)
    assert [w[:6] for w in log.warnings] == ["Line 4", "Line 1"]
    assert len(log.state.entries) == 2


@pytest.mark.parametrize("name", ["none.csv", "none.knitlog", "none"])
def test_a_missing_file_is_said(tmp_path: Path, name: str) -> None:
    with pytest.raises(JournalError, match="There is no file"):
        read_any(tmp_path / name)


def test_a_name_no_file_can_have_is_said() -> None:
    with pytest.raises(JournalError):
        read_any("a\0b.csv")
    with pytest.raises(JournalError):
        read_any("x" * 5000)
