"""Whatever is typed or read: one clear sentence, the right exit code, nothing lost."""

import errno
import os
import resource
from collections.abc import Callable
from pathlib import Path

import pytest

from knitlog.journal.store import JournalFile

from .conftest import SAMPLES, Knitlog


@pytest.mark.parametrize(
    "nonsense",
    ["forty", "3e9", "nan", "inf", "1e400", "--", "0x10", "٣٧", "\x1b[2J", "37 " * 30, "'"],
)
def test_nonsense_for_a_round(knitlog: Knitlog, hat: str, folder: Path, nonsense: str) -> None:
    before = (folder / "red-hat.knitlog").read_bytes()
    done = knitlog("log", hat, nonsense)
    assert done.code == 2
    assert done.sentence
    assert "\x1b" not in done.err
    assert (folder / "red-hat.knitlog").read_bytes() == before


def test_a_stitch_beyond_the_round(knitlog: Knitlog, hat: str, folder: Path) -> None:
    done = knitlog("log", hat, "97")
    assert done.code == 2
    assert done.sentence == (
        "Stitch 97 is beyond the round, which has 96; type a position from 0 to 96."
    )
    assert JournalFile.open(folder / "red-hat.knitlog").state.last_round == 3


def test_a_stitch_beyond_the_round_in_a_csv(knitlog: Knitlog, tmp_path: Path) -> None:
    table = tmp_path / "log.csv"
    table.write_text("round,stitch\n1,30\n2,97\n")
    done = knitlog("fit", table, "--stitches", "96")
    assert done.code == 2
    assert "97" in done.sentence
    assert "3" in done.sentence  # the line


@pytest.mark.parametrize(
    ("option", "value", "hint"),
    [
        ("--repeat-length", "60", "no unit"),
        ("--repeat-length", "60 furlongs", "furlongs"),
        ("--repeat-length", "-60in", "above zero"),
        ("--needle", "US 7 and a half", "needle"),
        ("--needle", "900mm", "900"),
        ("--gauge", "20", "gauge"),
        ("--gauge", "20 st/4ells", "ells"),
        ("--stitches", "ninety", "ninety"),
        ("--stitches", "0", "0"),
        ("--stitches", "12.5", "whole number"),
        ("--rounds", "-3", "-3"),
        ("--tolerance", "nan", "nan"),
        ("--multiple", "1e3", "1e3"),
        ("--needles-owned", "4mm; blunt", "blunt"),
        ("--home", "somewhere", "somewhere"),
        ("--minutes", "needle=soon", "needle=6"),
        ("--minutes", "rip=-1", "0 to 10,000"),
    ],
)
def test_an_unknown_unit_or_a_nonsense_fact(
    knitlog: Knitlog, folder: Path, option: str, value: str, hint: str
) -> None:
    facts = ["--stitches", "96"] if option != "--stitches" else []
    done = knitlog("new", "Red hat", *facts, option, value)
    assert done.code == 2
    assert hint in done.sentence
    assert option in done.sentence
    assert not list(folder.glob("*")) if folder.exists() else True


@pytest.mark.parametrize(
    ("command", "told"),
    [
        (["log", "red-hat", "1000000000"], "Stitch 1000000000 is beyond the round"),
        (["log", "red-hat", "1000000000: 37"], "no colour change 1,000,000,000"),
        (["log", "red-hat", f"37 @1{'0' * 30}"], "names no round from 1 to 100,000"),
        (["rip", "red-hat", "1000000000"], "from 0 to 100,000"),
        (["rip", "red-hat", "9223372036854775808"], "more digits than any number here"),
        (["change", "red-hat", "--stitches", "10001"], "from 2 to 10,000"),
        (["fabric", "red-hat", "--seed", "-9223372036854775809"], "more digits than any number"),
        (["fabric", "red-hat", "--seed", "-1"], "from 0 to 4,294,967,295"),
        (["fabric", "red-hat", "--ahead", "1001"], "from 0 to 1,000"),
        (["plan", "enough", "--stitches", "96", "--rounds", "100001"], "from 1 to 100,000"),
        (["advise", "red-hat", "--needles-owned", "; ".join(["4mm"] * 100)], "400 characters"),
        (["advise", "red-hat", "--tolerance", "97"], "more than the round, which has 96"),
    ],
)
def test_what_is_far_too_large_is_told_with_what_is_not(
    knitlog: Knitlog, hat: str, command: list[str], told: str
) -> None:
    done = knitlog(*command)
    assert done.code == 2
    assert told in done.sentence


@pytest.mark.parametrize("suffix", [".csv", ".knitlog", ".txt"])
@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\n\n",
        bytes(range(256)) * 4,
        b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR",
        b"\xff\xfer\0o\0u\0n\0d\0",
        b"{" * 5000,
        b"round;stitch\n\xff\xff\n",
        b"[" * 100_000,
        b'{"kind":"project set up"',
        b'{"schema":99,"kind":"project set up"}\n',
        b"round,round\n1,1\n",
    ],
    ids=[
        *("empty", "blank", "binary", "picture", "utf-16", "braces", "latin-1", "deep"),
        *("torn", "newer", "twice"),
    ],
)
def test_an_empty_or_binary_or_alien_file(
    knitlog: Knitlog, tmp_path: Path, suffix: str, content: bytes
) -> None:
    file = tmp_path / f"strange{suffix}"
    file.write_bytes(content)
    for command in (["fit"], ["advise", "--json"], ["import"]):
        done = knitlog(*command, file)
        assert done.code == 2
        assert len(done.sentence) < 400
        assert done.out == ""
    assert file.read_bytes() == content


@pytest.mark.parametrize("suffix", [".csv", ".knitlog"])
@pytest.mark.parametrize(
    ("start", "filler", "size"),
    [
        (b"", b"\0", 3 * 1024**3),
        (b"round,stitch\n1,", b"9", 8 * 1024**2),
        (b"round,stitch\n1,", b"9", 100 * 1000**2),
        (b'{"schema":1,"id":"', b"a", 100 * 1000**2),
        (b"", b"[", 100 * 1000**2),
    ],
    ids=["3 GB of nothing", "8 MB line", "100 MB line", "100 MB event", "100 MB deep"],
)
def test_a_huge_file(
    knitlog_process: Knitlog, tmp_path: Path, suffix: str, start: bytes, filler: bytes, size: int
) -> None:
    huge = tmp_path / f"huge{suffix}"
    with huge.open("wb") as file:
        if filler == b"\0":
            file.truncate(size)  # sparse: takes no room on the disk
        else:
            file.write(start)
            for _ in range(size // 1_000_000):
                file.write(filler * 1_000_000)
            file.write(b"\n")

    def little_memory() -> None:
        resource.setrlimit(resource.RLIMIT_AS, (2 * 1024**3, 2 * 1024**3))

    done = knitlog_process("fit", huge, "--stitches", "96", preexec_fn=little_memory)
    huge.unlink()
    assert done.code == 2
    assert len(done.sentence) < 400


def test_a_truncated_journal_keeps_every_whole_round(
    knitlog: Knitlog, hat: str, folder: Path
) -> None:
    path = folder / "red-hat.knitlog"
    torn = path.read_bytes()[:-20]
    path.write_bytes(torn)
    done = knitlog("show", hat)
    assert done.code == 0
    assert "Round   2: 39" in done.out
    assert "! " in done.out  # the torn line is told
    assert "Round 3 logged" in knitlog("log", hat, "44").out
    assert path.read_bytes().startswith(torn)
    assert [e.round for e in JournalFile.open(path).state.entries] == [1, 2, 3]


def test_a_truncated_csv_names_the_line(knitlog: Knitlog, tmp_path: Path) -> None:
    table = tmp_path / "log.csv"
    table.write_text("round,stitch\n1,30\n2,32\n3,")
    done = knitlog("fit", table, "--stitches", "96", "--json")
    if done.code == 0:  # what is whole is used, what is not is told
        assert '"rounds": 2' in done.out
    else:
        assert "4" in done.sentence


def test_a_missing_file_and_a_folder(knitlog: Knitlog, tmp_path: Path) -> None:
    assert "no file" in knitlog("fit", tmp_path / "nope.csv").sentence
    assert "folder" in knitlog("fit", tmp_path).sentence
    assert knitlog("import", tmp_path).code == 2


Open = Callable[..., int]


def refuse(code: int, monkeypatch: pytest.MonkeyPatch, *, call: str) -> None:
    """Make the disk refuse, as root's tests cannot take a permission away."""

    def no(*_: object, **__: object) -> int:
        raise OSError(code, os.strerror(code))

    if call == "open":
        real: Open = os.open

        def open_to_write(path: str, flags: int, *rest: int, **more: int) -> int:
            if flags & (os.O_WRONLY | os.O_RDWR):
                raise OSError(code, os.strerror(code), str(path))
            return real(path, flags, *rest, **more)

        monkeypatch.setattr(os, "open", open_to_write)
    else:
        monkeypatch.setattr(os, call, no)


@pytest.mark.parametrize("code", [errno.EACCES, errno.EROFS])
def test_a_read_only_folder(
    knitlog: Knitlog, hat: str, folder: Path, monkeypatch: pytest.MonkeyPatch, code: int
) -> None:
    before = (folder / "red-hat.knitlog").read_bytes()
    refuse(code, monkeypatch, call="open")
    for command in (["log", hat, "37"], ["new", "Blue", "--stitches", "90"], ["undo", hat]):
        done = knitlog(*command)
        assert done.code == 1
        assert "read-only" in done.sentence
    monkeypatch.undo()
    assert (folder / "red-hat.knitlog").read_bytes() == before


def test_a_folder_that_is_a_file(knitlog: Knitlog, tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_text("")
    done = knitlog("--folder", file / "deeper", "new", "Red hat", "--stitches", "96")
    assert done.code == 1
    assert "folder" in done.sentence


@pytest.mark.parametrize("call", ["write", "fsync"])
@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO])
def test_a_full_or_failing_disk(
    knitlog: Knitlog,
    hat: str,
    folder: Path,
    monkeypatch: pytest.MonkeyPatch,
    call: str,
    code: int,
) -> None:
    before = (folder / "red-hat.knitlog").read_bytes()
    with monkeypatch.context() as patch:
        refuse(code, patch, call=call)
        done = knitlog("log", hat, "37")
    assert done.code == 1
    assert "not saved" in done.sentence
    assert done.out == ""  # nothing was acknowledged
    assert (folder / "red-hat.knitlog").read_bytes() == before
    assert "Round 4 logged" in knitlog("log", hat, "37").out


def test_a_file_that_may_not_grow_any_more(
    knitlog: Knitlog, knitlog_process: Knitlog, hat: str, folder: Path
) -> None:
    """The kernel itself refuses: a limit on file size just above what is there."""
    path = folder / "red-hat.knitlog"
    before = path.read_bytes()

    def no_room() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (len(before) + 30, len(before) + 30))

    # a measurement of coverage, if one is running, could not write its own file either
    unmeasured = {"COVERAGE_PROCESS_CONFIG": ""}
    done = knitlog_process("log", hat, "37", preexec_fn=no_room, env=unmeasured)
    assert done.code == 1
    assert "not saved" in done.sentence
    assert path.read_bytes() == before
    assert "Round 4 logged" in knitlog("log", hat, "37").out


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="the system has no /dev/full")
def test_output_to_a_full_disk(knitlog_process: Knitlog, hat: str) -> None:
    with Path("/dev/full").open("w") as full:
        done = knitlog_process("export", hat, stdout=full)
    assert done.code == 1
    assert "disk is full" in done.sentence


def test_export_to_a_place_that_cannot_be(knitlog: Knitlog, hat: str, tmp_path: Path) -> None:
    done = knitlog("export", hat, "-o", tmp_path / "no" / "such" / "folder.csv")
    assert done.code in (1, 2)
    assert done.sentence


@pytest.mark.parametrize("name", ["../../escape", "/etc/hat", "..", "a/b\\c", "con", "nul.", " "])
def test_path_tricks_in_names_stay_in_the_folder(
    knitlog: Knitlog, folder: Path, tmp_path: Path, name: str
) -> None:
    done = knitlog("new", name, "--stitches", "96")
    assert done.code in (0, 2)
    made = [p for p in tmp_path.rglob("*") if p.is_file()]
    assert all(p.parent == folder for p in made)


def test_escapes_in_names_and_notes_are_shown_harmless(knitlog: Knitlog, folder: Path) -> None:
    hostile = "hat\x1b]0;pwned\x07\u202egnp.exe"
    assert knitlog("new", hostile, "--stitches", "96", "--about", "\x1b[2Jgone").code == 0
    slug = next(folder.glob("*.knitlog")).stem
    assert knitlog("log", slug, "37", "--note", "\x1b[31mred\r\nfake").code == 0
    shown = [
        knitlog(*command)
        for command in (["list"], ["show", slug], ["export", slug], ["fit", slug], ["undo", slug])
    ]
    for done in shown:
        assert done.code == 0
        for character in "\x1b\x07\u202e\r":
            assert character not in done.out


@pytest.mark.parametrize("command", [["sample-year"], ["--folder"], ["log", "red-hat"], ["fit"]])
@pytest.mark.parametrize(("text", "told"), [("a\0b", "NUL character"), ("a\ud800b", "half a char")])
def test_what_no_system_can_name_is_refused_wherever_it_stands(
    knitlog: Knitlog, hat: str, folder: Path, command: list[str], text: str, told: str
) -> None:
    before = (folder / f"{hat}.knitlog").read_bytes()
    done = knitlog(*command, text)
    assert done.code == 2
    assert told in done.sentence
    assert (folder / f"{hat}.knitlog").read_bytes() == before


def test_a_hostile_file_name_is_shown_harmless(knitlog: Knitlog, tmp_path: Path) -> None:
    file = tmp_path / "a\x1b[2Jb.csv"
    file.write_text("nothing")
    assert "\x1b" not in knitlog("fit", file).err
    good = tmp_path / "c\x1b[2Jd.csv"
    good.write_bytes((SAMPLES / "in-line.csv").read_bytes())
    assert "\x1b" not in knitlog("fit", good, good).out
    assert "\x1b" not in knitlog("fit", good, "--json").out


@pytest.mark.parametrize(
    "command",
    [
        ["export", "red-hat", "-o"],
        ["review", "red-hat", "--quiet", "--html"],
        ["hands", "--quiet", "--html"],
    ],
)
def test_what_is_logged_is_never_written_over(
    knitlog: Knitlog, hat: str, folder: Path, command: list[str]
) -> None:
    assert knitlog("yarn", "keep", "Sunset", "rose 30cm, snow 1m").code == 0
    copy = folder / "copy.txt"
    copy.write_bytes((folder / f"{hat}.knitlog").read_bytes())
    for path in (folder / f"{hat}.knitlog", folder / "colour-runs.jsonl", copy):
        before = path.read_bytes()
        done = knitlog(*command, path)
        assert done.code == 2
        assert "not written over" in done.sentence
        assert path.read_bytes() == before
    assert knitlog(*command, folder / "new.knitlog").code == 2
    assert not (folder / "new.knitlog").exists()
    other = folder / "other.txt"
    other.write_text("an older export")
    assert knitlog(*command, other).code == 0
    assert "an older export" not in other.read_text(encoding="utf-8")
