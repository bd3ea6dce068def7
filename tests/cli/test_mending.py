"""A damaged journal, as its knitter meets it: told, mended, and never written over."""

from pathlib import Path

import pytest

from knitlog.journal.store import JournalFile

from .conftest import Knitlog


@pytest.fixture
def broken(hat: str, folder: Path) -> Path:
    """The hat with a byte gone bad in the line that sets it up."""
    path = folder / f"{hat}.knitlog"
    path.write_bytes(path.read_bytes().replace(b'"stitches":96', b'"stitches":\x1b6', 1))
    return path


def test_a_damaged_set_up_is_told_wherever_it_is_met(knitlog: Knitlog, broken: Path) -> None:
    for command in (["show", "red-hat"], ["log", "red-hat", "37"], ["fit", broken]):
        done = knitlog(*command)
        assert done.code == 2
        assert "knitlog mend" in done.sentence
    assert "knitlog mend" in knitlog("list").out


def test_what_is_left_of_the_set_up_is_shown_harmless(knitlog: Knitlog, broken: Path) -> None:
    before = broken.read_bytes()
    done = knitlog("mend", "red-hat")
    assert done.code == 2
    assert "knitlog mend red-hat --stitches 96" in done.sentence
    assert '"name":"Red hat"' in done.out
    assert '"repeat_length_mm":1524.0' in done.out  # 60 in of 25.4 mm exactly
    assert "\x1b" not in done.out
    assert broken.read_bytes() == before


def test_a_damaged_set_up_is_set_up_again(knitlog: Knitlog, broken: Path) -> None:
    before = broken.read_bytes()
    facts = ["--stitches", "96", "--needle", "US 4", "--colours", "rose 100cm, snow 20in"]
    done = knitlog("mend", "red-hat", "--name", "Red hat", "--about", "for the hut", *facts)
    assert (done.code, done.err) == (0, "")
    assert "Set Red hat up again, with 3 rounds." in done.out
    assert broken.read_bytes().startswith(before)
    state = JournalFile.open(broken).state
    assert (state.name, state.about, state.stitches, state.needle_mm) == (
        *("Red hat", "for the hut", 96),
        3.5,  # US 4
    )
    assert state.facts.repeat_length_mm == 1508.0  # 1000 mm and 20 in of 25.4 mm exactly
    assert [(e.round, e.positions[0].stitch) for e in state.entries] == [(1, 37), (2, 39), (3, 41)]
    assert "Round 4 logged" in knitlog("log", "red-hat", "43").out
    told = knitlog("mend", "red-hat")
    assert told.code == 0
    assert "Line 1 is damaged" in told.out


def test_facts_that_make_no_sense_mend_nothing(knitlog: Knitlog, broken: Path) -> None:
    before = broken.read_bytes()
    assert "ninety" in knitlog("mend", "red-hat", "--stitches", "ninety").sentence
    assert knitlog("mend", "red-hat", "--needle", "US 4").code == 2
    assert broken.read_bytes() == before


def test_a_whole_project_needs_no_mending(knitlog: Knitlog, hat: str, folder: Path) -> None:
    before = (folder / "red-hat.knitlog").read_bytes()
    assert "nothing to mend" in knitlog("mend", hat).out
    assert "knitlog settings red-hat" in knitlog("mend", hat, "--stitches", "97").sentence
    assert (folder / "red-hat.knitlog").read_bytes() == before


def test_a_damaged_round_is_told_and_how_to_log_it_again(
    knitlog: Knitlog, hat: str, folder: Path
) -> None:
    path = folder / "red-hat.knitlog"
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([*lines[:2], lines[2].replace(b"39", b"93"), *lines[3:]]))
    out = knitlog("mend", hat).out
    assert "Line 3 is damaged" in out
    assert "Not there: round 2." in out
    assert "knitlog log red-hat 37 --round 2" in out
    assert "Round 2 logged" in knitlog("log", hat, "39", "--round", "2").out
    assert "Not there" not in knitlog("mend", hat).out


def test_a_torn_tail_is_told(knitlog: Knitlog, hat: str, folder: Path) -> None:
    path = folder / "red-hat.knitlog"
    path.write_bytes(path.read_bytes()[:-20])
    out = knitlog("mend", hat).out
    assert "Line 4 was never finished" in out
    assert "2 rounds can be read." in out


def test_a_journal_of_a_newer_knitlog_is_left_alone(
    knitlog: Knitlog, hat: str, folder: Path
) -> None:
    path = folder / "red-hat.knitlog"
    with path.open("ab") as file:
        file.write(b'{"schema":3,"id":"x","kind":"cable crossed","round":4}\n')
    before = path.read_bytes()
    out = knitlog("mend", hat).out
    assert "newer knitlog" in out
    assert "nothing to mend" not in out
    assert path.read_bytes() == before
