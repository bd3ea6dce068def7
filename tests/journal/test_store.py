"""Opening, appending and sharing a journal file."""

import multiprocessing
import os
import shutil
from pathlib import Path

import pytest

from knitlog.journal import disk
from knitlog.journal.actions import log_round, undo
from knitlog.journal.errors import (
    JournalError,
    JournalMissingError,
    JournalReadOnlyError,
    NotSavedError,
)
from knitlog.journal.events import Position, ProjectSetUp
from knitlog.journal.facts import make_facts
from knitlog.journal.lines import encode
from knitlog.journal.store import JournalFile

from .conftest import as_nobody

FIXTURE = Path(__file__).parent / "fixtures" / "schema_1.knitlog"


def set_up() -> ProjectSetUp:
    return ProjectSetUp(name="Hut shawl", facts=make_facts(stitches=128))


def rounds(journal: JournalFile) -> list[int]:
    return [entry.round for entry in journal.state.entries]


def test_what_is_appended_is_there_for_the_next_reader(journal: JournalFile) -> None:
    state = log_round(journal, [37])
    assert JournalFile.open(journal.path).state == state


def test_appending_only_ever_adds_to_the_end(journal: JournalFile) -> None:
    before = journal.path.read_bytes()
    for _ in range(5):
        log_round(journal, [37])
        undo(journal)
        after = journal.path.read_bytes()
        assert after.startswith(before)
        assert after.endswith(b"}\n")
        before = after


def test_two_open_journals_see_each_other(journal: JournalFile) -> None:
    other = JournalFile.open(journal.path)
    log_round(journal, [37])
    assert rounds(other) == []
    assert other.refresh()
    assert rounds(other) == [1]
    assert not other.refresh()
    log_round(other, [38])
    log_round(journal, [39])  # numbered after the other's, which it had not read
    assert rounds(journal) == [1, 2, 3]


def test_a_torn_line_is_left_alone_and_the_next_begins_a_new_one(journal: JournalFile) -> None:
    log_round(journal, [37])
    torn = encode(set_up())[:25]
    with journal.path.open("ab") as file:
        file.write(torn)
    before = journal.path.read_bytes()
    again = JournalFile.open(journal.path)
    assert [p.line for p in again.state.problems] == [3]
    log_round(again, [38])
    log_round(again, [39])
    assert journal.path.read_bytes().startswith(before + b"\n")
    read = JournalFile.open(journal.path)
    assert rounds(read) == [1, 2, 3]
    assert [p.line for p in read.state.problems] == [3]
    assert read.state.entries == again.state.entries


def test_any_torn_append_loses_nothing_before_it(journal: JournalFile) -> None:
    """A power cut may leave any beginning of the last line, or zeros."""
    log_round(journal, [37])
    whole = journal.path.read_bytes()
    log_round(journal, [38])
    last = journal.path.read_bytes()[len(whole) :]
    for cut in range(len(last)):
        for tail in (last[:cut], last[:cut] + b"\0" * (len(last) - cut)):
            journal.path.write_bytes(whole + tail)
            again = JournalFile.open(journal.path)
            assert 1 in rounds(again)
            log_round(again, [40], round_number=7)
            assert rounds(JournalFile.open(journal.path))[-1] == 7


def test_a_journal_of_a_newer_version_opens_for_reading_only(tmp_path: Path) -> None:
    path = tmp_path / "hut.knitlog"
    path.write_bytes(
        FIXTURE.read_bytes() + b'{"schema":3,"id":"x","kind":"cable crossed","round":4}\n'
    )
    before = path.read_bytes()
    journal = JournalFile.open(path)
    assert rounds(journal) == [1, 2, 3]
    assert journal.state.read_only is not None
    assert "newer knitlog (schema 3" in journal.state.read_only
    assert journal.state.read_only is not None
    with pytest.raises(JournalReadOnlyError, match="reading only"):
        undo(journal)
    assert path.read_bytes() == before


def test_a_journal_that_is_all_newer_says_so(tmp_path: Path) -> None:
    path = tmp_path / "hut.knitlog"
    path.write_bytes(b'{"schema":3,"kind":"project set up"}\n')
    with pytest.raises(JournalError, match="written by a newer knitlog"):
        JournalFile.open(path)


def test_a_damaged_set_up_can_be_mended_without_touching_it(journal: JournalFile) -> None:
    log_round(journal, [37])
    broken = journal.path.read_bytes().replace(b'"stitches":128', b'"stitches":1#8', 1)
    journal.path.write_bytes(broken)
    with pytest.raises(JournalError, match="sets the project up is damaged"):
        JournalFile.open(journal.path)
    mended = JournalFile.mend(journal.path, set_up())
    assert rounds(mended) == [1]
    assert mended.state.stitches == 128
    assert [p.line for p in mended.state.problems] == [1]
    assert journal.path.read_bytes().startswith(broken)
    with pytest.raises(JournalError, match="needs no mending"):
        JournalFile.mend(journal.path, set_up())


def test_mending_leaves_alone_what_is_no_journal(tmp_path: Path) -> None:
    path = tmp_path / "recipe.knitlog"
    path.write_text("Goulash for six.\n")
    with pytest.raises(JournalError, match="not a knitlog journal"):
        JournalFile.mend(path, set_up())
    assert path.read_text() == "Goulash for six.\n"


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "'x.knitlog' is empty; there is no project in it."),
        (b"\n \n", "'x.knitlog' is empty; there is no project in it."),
        (b"round,stitch\n1,37\n", "'x.knitlog' is not a knitlog journal; is it the right file?"),
        (bytes(range(256)) * 40, "'x.knitlog' is not a knitlog journal; is it the right file?"),
        (b"\x7fELF\0\0\n\0", "'x.knitlog' is not a knitlog journal; is it the right file?"),
        (
            FIXTURE.read_bytes()[:100],
            "The line of 'x.knitlog' that sets the project up is damaged, so its rounds cannot be "
            "placed; the file is kept as it is. Set the project up again from its facts, with "
            "'knitlog mend'.",
        ),
    ],
    ids=["empty", "blank", "csv", "binary", "program", "cut short"],
)
def test_what_is_no_journal_is_refused_in_one_sentence(
    tmp_path: Path, content: bytes, sentence: str
) -> None:
    path = tmp_path / "x.knitlog"
    path.write_bytes(content)
    with pytest.raises(JournalError) as raised:
        JournalFile.open(path)
    assert str(raised.value) == sentence
    assert path.read_bytes() == content


def test_a_huge_file_is_refused_without_reading_it(tmp_path: Path) -> None:
    path = tmp_path / "x.knitlog"
    with path.open("wb") as file:
        file.truncate(5 * 1024**3)  # sparse: takes no space
    with pytest.raises(JournalError, match="larger than 16 MB"):
        JournalFile.open(path)


def test_a_missing_file_and_a_folder_are_told_apart(tmp_path: Path) -> None:
    with pytest.raises(JournalMissingError, match="There is no file"):
        JournalFile.open(tmp_path / "nowhere.knitlog")
    with pytest.raises(JournalMissingError, match="There is no file"):
        JournalFile.open(tmp_path / "no" / "where.knitlog")
    with pytest.raises(JournalError, match="is a folder"):
        JournalFile.open(tmp_path)


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="a Unix device")
def test_an_endless_device_is_refused() -> None:
    with pytest.raises(JournalError, match="is not a file"):
        JournalFile.open("/dev/zero")


def test_a_second_journal_of_the_same_name_is_refused(journal: JournalFile) -> None:
    before = journal.path.read_bytes()
    with pytest.raises(JournalError, match="already a file"):
        JournalFile.create(journal.path, set_up())
    assert journal.path.read_bytes() == before


def test_a_full_journal_says_so(journal: JournalFile, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(disk, "MAX_FILE_BYTES", journal.path.stat().st_size + 10)
    before = journal.path.read_bytes()
    with pytest.raises(NotSavedError, match="journal is full"):
        log_round(journal, [37])
    assert journal.path.read_bytes() == before


def test_a_removed_folder_is_said_and_not_made_again(journal: JournalFile) -> None:
    log_round(journal, [37])
    shutil.move(journal.path.parent, journal.path.parent.with_name("elsewhere"))
    with pytest.raises(JournalMissingError, match=r"folder .* is not there any more"):
        log_round(journal, [38])
    assert not journal.path.parent.exists()
    shutil.move(journal.path.parent.with_name("elsewhere"), journal.path.parent)
    log_round(journal, [38])
    assert rounds(JournalFile.open(journal.path)) == [1, 2]


def test_a_removed_file_is_said_and_not_made_again(journal: JournalFile) -> None:
    journal.path.unlink()
    with pytest.raises(JournalMissingError):
        log_round(journal, [37])
    with pytest.raises(JournalMissingError):
        journal.refresh()
    assert not journal.path.exists()


def test_a_file_swapped_for_another_is_read_anew(journal: JournalFile) -> None:
    log_round(journal, [37])
    shutil.copy(FIXTURE, journal.path)
    assert journal.refresh()
    assert rounds(journal) == [1, 2, 3]


def test_a_read_only_folder_is_said_and_can_be_read(open_folder: Path) -> None:
    journal = JournalFile.create(open_folder / "hut.knitlog", set_up())
    before = journal.path.read_bytes()
    (open_folder / ".hut.knitlog.lock").unlink(missing_ok=True)
    journal.path.chmod(0o444)
    open_folder.chmod(0o555)
    with as_nobody():
        opened = JournalFile.open(journal.path)
        with pytest.raises(JournalReadOnlyError, match="read-only"):
            log_round(opened, [37])
        with pytest.raises(JournalReadOnlyError, match="read-only"):
            JournalFile.create(open_folder / "new.knitlog", set_up())
        with pytest.raises(JournalReadOnlyError, match="cannot be made"):
            JournalFile.create(open_folder / "deeper" / "new.knitlog", set_up())
    open_folder.chmod(0o755)
    assert journal.path.read_bytes() == before
    assert [p.name for p in open_folder.iterdir()] == ["hut.knitlog"]


def test_a_read_only_file_is_said(open_folder: Path) -> None:
    journal = JournalFile.create(open_folder / "hut.knitlog", set_up())
    journal.path.chmod(0o444)
    open_folder.chmod(0o777)
    (open_folder / ".hut.knitlog.lock").chmod(0o666)
    with as_nobody(), pytest.raises(JournalReadOnlyError, match="read-only"):
        log_round(journal, [37])


def test_a_file_that_may_not_be_read_is_said(open_folder: Path) -> None:
    journal = JournalFile.create(open_folder / "hut.knitlog", set_up())
    journal.path.chmod(0o000)
    with as_nobody(), pytest.raises(JournalError, match="may not be read"):
        JournalFile.open(journal.path)


def test_a_lock_held_by_another_is_waited_for_and_then_said(
    journal: JournalFile, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(disk, "LOCK_SECONDS", 0.05)
    other = JournalFile.open(journal.path)
    with disk.locked(journal.path), pytest.raises(NotSavedError, match="busy with this journal"):
        log_round(other, [37])
    log_round(other, [37])


def _log_many(path: Path, number: int, count: int, ready: object, go: object) -> None:
    journal = JournalFile.open(path)
    ready.release()
    go.wait()
    for turn in range(count):
        # its own number and turn, hidden in the reading
        log_round(journal, [Position(stitch=number + turn / 1000)])
    os._exit(0)


@pytest.mark.parametrize(("processes", "count"), [(2, 60), (8, 20)])
def test_processes_logging_at_once_keep_every_event_once_and_in_order(
    journal: JournalFile, processes: int, count: int
) -> None:
    fork = multiprocessing.get_context("fork")
    ready, go = fork.Semaphore(0), fork.Event()
    workers = [
        fork.Process(target=_log_many, args=(journal.path, n, count, ready, go))
        for n in range(processes)
    ]
    for worker in workers:
        worker.start()
    for _ in workers:
        assert ready.acquire(timeout=30)
    go.set()
    for worker in workers:
        worker.join(60)
        assert worker.exitcode == 0
    read = JournalFile.open(journal.path)
    assert read.state.problems == ()
    assert rounds(read) == list(range(1, processes * count + 1))  # no round taken twice
    readings = [entry.positions[0].stitch for entry in read.state.entries]
    for number in range(processes):
        own = [stitch for stitch in readings if int(stitch) == number]
        assert own == [number + turn / 1000 for turn in range(count)]
