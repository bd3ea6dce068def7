"""The book of colour runs: kept, found, replaced, dropped; nothing lost."""

import errno
import os
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from knitlog.journal.colour_runs import FILE_NAME, ColourRunBook
from knitlog.journal.errors import JournalError, JournalReadOnlyError, NotSavedError
from knitlog.plan.run_notation import parse_colour_run
from knitlog.yarn.colours import ColourRun, ColourSegment

SUNSET = parse_colour_run("rose 30cm, moss 45cm #117733, snow 20cm")
LAKE = parse_colour_run("ice 40cm, reed 30cm, and back")


@pytest.fixture
def book(tmp_path: Path) -> ColourRunBook:
    return ColourRunBook(tmp_path / "wool")


def test_an_empty_book_reads_as_empty_and_makes_nothing(book: ColourRunBook) -> None:
    assert book.runs() == ()
    assert not book.path.parent.exists()
    with pytest.raises(JournalError, match="No colour runs are kept yet"):
        book.find("sunset")


def test_what_is_kept_comes_back_to_the_bit(book: ColourRunBook) -> None:
    book.keep("Sunset", SUNSET, note="from the loft")
    book.keep("Lake at night", LAKE)
    again = ColourRunBook(book.path.parent)
    assert [(k.name, k.run) for k in again.runs()] == [("Lake at night", LAKE), ("Sunset", SUNSET)]
    assert again.find("sun").note == "from the loft"
    assert again.find("night").name == "Lake at night"
    assert again.problems() == ()


def test_keeping_again_replaces_and_the_old_line_stays(book: ColourRunBook) -> None:
    book.keep("Sunset", SUNSET)
    before = book.path.read_bytes()
    book.keep("sunset", LAKE)
    assert [k.run for k in book.runs()] == [LAKE]
    assert book.path.read_bytes().startswith(before)


def test_a_dropped_run_is_gone_from_the_list_only(book: ColourRunBook) -> None:
    book.keep("Sunset", SUNSET)
    assert book.drop("Sunset").run == SUNSET
    assert book.runs() == ()
    assert b"rose" in book.path.read_bytes()


def test_a_name_that_could_be_two_is_asked_about(book: ColourRunBook) -> None:
    book.keep("Lake at night", LAKE)
    book.keep("Lake at dawn", LAKE)
    with pytest.raises(JournalError, match="type more of the name"):
        book.find("lake")
    with pytest.raises(JournalError, match="There is no colour run 'sea'; there are: Lake"):
        book.find("sea")


@pytest.mark.parametrize("name", ["", "   ", "x" * 200])
def test_a_name_that_will_not_do_is_refused(book: ColourRunBook, name: str) -> None:
    with pytest.raises(JournalError, match="name"):
        book.keep(name, SUNSET)
    assert not book.path.exists()


def test_a_colour_name_that_will_not_do_is_refused(book: ColourRunBook) -> None:
    run = ColourRun((ColourSegment("x" * 500, 100.0, "#aabbcc"),))
    with pytest.raises(JournalError, match="characters at most"):
        book.keep("Sunset", run)
    assert not book.path.exists()


def test_a_terminal_escape_in_a_name_is_made_harmless(book: ColourRunBook) -> None:
    assert "\x1b" not in book.keep("Red\x1b[31m", SUNSET).name


def test_a_torn_tail_is_set_aside_and_the_next_run_kept_whole(book: ColourRunBook) -> None:
    book.keep("Sunset", SUNSET)
    whole = book.path.read_bytes()
    book.path.write_bytes(whole + whole[: len(whole) // 2])
    assert [k.name for k in book.runs()] == ["Sunset"]
    assert "Line 2" in book.problems()[0].sentence
    assert "never finished" in book.problems()[0].sentence
    book.keep("Lake", LAKE)
    assert [k.name for k in book.runs()] == ["Lake", "Sunset"]


def test_a_changed_digit_is_noticed(book: ColourRunBook) -> None:
    book.keep("Sunset", SUNSET)
    book.keep("Lake", LAKE)
    data = book.path.read_bytes().replace(b"450.0", b"540.0")
    book.path.write_bytes(data)
    assert [k.name for k in book.runs()] == ["Lake"]
    assert "damaged" in book.problems()[0].sentence
    assert book.path.read_bytes() == data


def test_a_newer_file_is_read_only(book: ColourRunBook) -> None:
    book.keep("Sunset", SUNSET)
    with book.path.open("ab") as file:
        file.write(b'{"schema":2,"kind":"colour run kept","name":"New"}\n')
    assert [k.name for k in book.runs()] == ["Sunset"]
    with pytest.raises(JournalReadOnlyError, match="newer knitlog"):
        book.keep("Lake", LAKE)


def test_a_full_disk_loses_nothing(book: ColourRunBook, monkeypatch: pytest.MonkeyPatch) -> None:
    book.keep("Sunset", SUNSET)
    before = book.path.read_bytes()
    write: Callable[[int, bytes], int] = os.write

    def half(fd: int, data: bytes) -> int:
        write(fd, data[: len(data) // 2])
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "write", half)
    with pytest.raises(NotSavedError, match="disk is full"):
        book.keep("Lake", LAKE)
    monkeypatch.undo()
    assert [k.name for k in book.runs()] == ["Sunset"]
    assert book.path.read_bytes().startswith(before)
    book.keep("Lake", LAKE)
    assert len(book.runs()) == 2


def test_two_processes_keep_runs_at_once(tmp_path: Path) -> None:
    code = (
        "import sys; from knitlog.journal.colour_runs import ColourRunBook; "
        "from knitlog.plan.run_notation import parse_colour_run; "
        "book = ColourRunBook(sys.argv[1]); "
        "[book.keep(f'{sys.argv[2]} {n}', parse_colour_run('rose 30cm')) for n in range(15)]"
    )
    command = [sys.executable, "-c", code, str(tmp_path)]
    both = [subprocess.Popen([*command, who]) for who in ("one", "two")]
    assert [process.wait(60) for process in both] == [0, 0]
    assert len(ColourRunBook(tmp_path).runs()) == 30
    assert ColourRunBook(tmp_path).problems() == ()


def test_the_file_is_pinned(book: ColourRunBook) -> None:
    book.clock = lambda: datetime(2026, 1, 2, 3, 4, 5, tzinfo=UTC)
    book.keep("Lake", LAKE)
    line = book.path.read_text(encoding="utf-8")
    assert book.path.name == FILE_NAME
    assert line.startswith('{"schema":1,"id":"')
    assert (
        '"at":"2026-01-02T03:04:05Z","name":"Lake","kind":"colour run kept","colours":'
        '[{"name":"ice","length_mm":400.0,"colour":"#d6fffa"},'
        '{"name":"reed","length_mm":300.0,"colour":"#e69f00"}],"turns_back":true,"note":""'
    ) in line
