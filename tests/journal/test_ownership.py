"""What is logged is hers alone, and what lies in a folder is not ours to follow or replace."""

import os
import stat
from pathlib import Path

import pytest

from knitlog.journal.actions import log_round
from knitlog.journal.archive import export_all
from knitlog.journal.csvout import write_csv
from knitlog.journal.disk import create_file
from knitlog.journal.errors import JournalError
from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile

unix = pytest.mark.skipif(os.name == "nt", reason="this system knows no owner's permissions")


@unix
def test_journals_locks_folders_and_exports_are_for_their_owner_alone(
    journal: JournalFile, library: Library, tmp_path: Path
) -> None:
    log_round(journal, [37])
    write_csv(journal.state, tmp_path / "hut.csv")
    done = export_all(library, tmp_path / "out")
    lock = journal.path.with_name(f".{journal.path.name}.lock")
    for path in (journal.path, lock, tmp_path / "hut.csv", *done.files):
        assert stat.S_IMODE(path.stat().st_mode) & 0o077 == 0, path
    for folder in (library.folder, tmp_path / "out"):
        assert stat.S_IMODE(folder.stat().st_mode) & 0o077 == 0


@unix
def test_a_link_where_a_draft_goes_is_not_followed(tmp_path: Path) -> None:
    hers = tmp_path / "letter.txt"
    hers.write_text("Dear aunt.")
    (tmp_path / ".hut.csv.new").symlink_to(hers)
    create_file(tmp_path / "hut.csv", b"round,stitch\n")
    assert hers.read_text() == "Dear aunt."
    assert (tmp_path / "hut.csv").read_bytes() == b"round,stitch\n"


@unix
def test_a_link_where_the_lock_goes_is_not_followed(journal: JournalFile, tmp_path: Path) -> None:
    hers = tmp_path / "letter.txt"
    hers.write_text("Dear aunt.")
    lock = journal.path.with_name(f".{journal.path.name}.lock")
    lock.unlink()
    lock.symlink_to(hers)
    with pytest.raises(JournalError, match=r"There is a link .* take it away and try again"):
        log_round(journal, [37])
    assert hers.read_text() == "Dear aunt."


def test_an_export_of_all_replaces_its_own_files_and_no_other(
    journal: JournalFile, library: Library, tmp_path: Path
) -> None:
    log_round(journal, [37])
    done = export_all(library, tmp_path)
    assert export_all(library, tmp_path).files == done.files
    for name in ("hut-shawl.json", "hut-shawl.events.csv", "all rounds.csv"):
        hers = tmp_path / name
        before = hers.read_bytes()
        hers.write_text("Dear aunt.")
        with pytest.raises(JournalError, match="that knitlog did not write"):
            export_all(library, tmp_path)
        assert hers.read_text() == "Dear aunt."
        hers.write_bytes(before)


@unix
def test_an_export_of_all_follows_no_link(
    journal: JournalFile, library: Library, tmp_path: Path
) -> None:
    hers = tmp_path / "elsewhere.json"
    hers.write_text('{\n "knitlog": 1')
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "hut-shawl.json").symlink_to(hers)
    with pytest.raises(JournalError, match="that knitlog did not write"):
        export_all(library, tmp_path / "out")
    assert hers.read_text() == '{\n "knitlog": 1'


def test_half_a_character_is_no_folder() -> None:
    with pytest.raises(JournalError, match="cannot be the name of a folder"):
        Library("/tmp/half-\ud800")
