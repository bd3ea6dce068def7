"""Whatever a file holds, it is read or refused in one plain sentence, soon.

A small sample runs by default; ``pytest -m long tests/journal/test_fuzz.py`` runs
100,000 files and lines.
"""

import random
import re
import resource
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from knitlog.journal.csvlog import read_any, read_csv_log
from knitlog.journal.csvout import to_csv
from knitlog.journal.errors import JournalError
from knitlog.journal.lines import encode
from knitlog.journal.project import ProjectState, to_drift_log
from knitlog.journal.registry import FACT_KEYS, parse_fact
from knitlog.typed.entry import Around, read_entry
from knitlog.typed.text import TypedError

from .test_events import one_of_each

JOURNAL = (Path(__file__).parent / "fixtures" / "schema_1.knitlog").read_bytes()
CSV = b"""\
# name: Hut socks
# stitches: 64
# repeat-length: 152.4cm
# needle: US 4
# gauge: 28 st/4in
# home: 1=10, 2=40
# needles-owned: 3.5mm, US 7
round,stitch,change,needle_mm,stitches,fix_stitches,note
1,10,1,,,,"a, note"
1,42.5,2,3.5,64,3,
2,12,1,,,-1.5,'=1+1
5,63,1,4,60,,
"""
PIECES = [
    *(b"nan", b"inf", b"-1", b"1e308", b"1e-308", b"99999999999999999999", b"0", b"0x1", b"1_0"),
    *(b'"', b"'", b",", b";", b"\t", b"\n", b"\r", b"\r\n", b"#", b":", b"{", b"}", b"[", b"]"),
    *(b"\0", b"\xff", b"\xef\xbb\xbf", b"\xff\xfe", "\u202e".encode(), b"\x1b[2J", b"\xc2\x9b"),
    *(b"null", b"true", b'{"schema":1', b'{"schema":3,', b'"kind":"withdrawn"', b'"check":"'),
    *(b"=cmd()", b"round", b"stitch", b"# stitches: 1", b"# stitches: 9999", b"mm", b"US 7"),
    *(b"[" * 3000, b"9" * 3000, b" " * 3000, b"\\ud800", b"\\u001b", "\u0663".encode()),
]
SLOWEST_SECONDS = 5.0
MOST_GROWTH_MB = 200.0


def mutated(whole: bytes, chance: random.Random) -> bytes:
    """Cut, repeat, overwrite and insert at random places."""
    data = bytearray(whole)
    for _ in range(chance.choice((1, 1, 2, 3, 8))):
        at = chance.randrange(len(data) + 1)
        until = min(len(data), at + chance.choice((0, 1, 2, 10, 200)))
        match chance.randrange(6):
            case 0:
                data[at:until] = chance.choice(PIECES)
            case 1:
                del data[at:until]
            case 2:
                data[at:at] = data[at:until]
            case 3:
                data[at:until] = bytes(chance.randrange(256) for _ in range(until - at))
            case 4:
                del data[at:]
            case 5:
                numbers = list(re.finditer(rb"[0-9][0-9.]*", data))
                if numbers:
                    found = chance.choice(numbers)
                    data[found.start() : found.end()] = chance.choice(PIECES[:9])
    return bytes(data)


def sealed_nonsense(chance: random.Random) -> bytes:
    """Lines with a right check around events in an order that makes no sense."""
    events = one_of_each()
    chosen = [chance.choice(events) for _ in range(chance.randrange(1, 12))]
    lines = [encode(event) for event in chosen]
    if chance.random() < 0.9:
        lines.insert(0, encode(events[0]))
    return b"".join(lines)


def check_state(state: ProjectState) -> None:
    """Everything that is made of a state can be made."""
    log = to_drift_log(state)
    assert all(0 <= reading.stitch <= 10_000 for reading in log.readings)
    assert state.name.isprintable()
    assert all(problem.sentence.isprintable() for problem in state.problems)
    again = read_csv_log(to_csv(state).encode()) if state.entries else None
    if again is not None and not state.problems:
        assert [e.positions for e in again.state.entries] == [e.positions for e in state.entries]


def answer(read: Callable[[], ProjectState]) -> str | None:
    """Read; give the sentence if it is refused."""
    begun = time.perf_counter()
    try:
        state = read()
    except JournalError as error:
        sentence = str(error)
    else:
        check_state(state)
        sentence = None
    assert time.perf_counter() - begun < SLOWEST_SECONDS
    return sentence


def fuzz_files(count: int, seed: int, folder: Path) -> tuple[int, int]:
    """Read that many files; give how many were read and how many refused."""
    chance = random.Random(seed)
    read = refused = 0
    for _ in range(count):
        kind = chance.randrange(3)
        whole = (JOURNAL, CSV, b"")[kind]
        data = mutated(whole, chance) if whole else sealed_nonsense(chance)
        path = folder / ("log.knitlog", "log.csv", "sealed.knitlog")[kind]
        path.write_bytes(data)
        sentence = answer(lambda path=path: read_any(path).state)
        read += sentence is None
        refused += sentence is not None
        if sentence is not None:
            assert sentence.isprintable(), data
            assert len(sentence) < 400, data
            assert "Traceback" not in sentence
    return read, refused


def fuzz_words(count: int, seed: int) -> None:
    """Read that many typed entries and facts."""
    chance = random.Random(seed)
    below = Around(64, below={1: 3.0, 2: 40.0})
    words = [b"37", b"+2", b"-1.5", b"=", b"60in", b"20 st/4in", b"US 7", b"1=3, 2=4", b"yes"]
    words += [b"@5", b"2: 41", b"37,5"]
    for _ in range(count):
        text = mutated(b" ".join(chance.choices(words, k=2)), chance).decode("utf-8", "replace")
        for sentence in (
            _said(lambda text=text: read_entry(text, lambda _: below)),
            _said(lambda text=text: parse_fact(chance.choice(FACT_KEYS), text)),
        ):
            assert sentence.isprintable(), text
            assert len(sentence) < 400, text


def peak_memory_mb() -> float:
    """Most memory this process has held so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024  # kilobytes on Linux


def _said(read: Callable[[], object]) -> str:
    try:
        read()
    except (TypedError, JournalError) as error:
        return str(error)
    return ""


def test_no_file_is_answered_with_a_traceback(tmp_path: Path) -> None:
    read, refused = fuzz_files(800, 1, tmp_path)
    assert read > 50
    assert refused > 50


def test_no_words_are_answered_with_a_traceback() -> None:
    fuzz_words(800, 1)


@pytest.mark.long
def test_a_hundred_thousand_files_and_words(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    fuzz_files(300, 3, tmp_path)  # everything is loaded before memory is measured
    before = peak_memory_mb()
    read, refused = fuzz_files(100_000, 2, tmp_path)
    fuzz_words(50_000, 2)
    grown = peak_memory_mb() - before
    with capsys.disabled():
        print(
            f"\nfiles read {read:,}, refused in a sentence {refused:,}; 100,000 words and facts;"
            f" memory grew by {grown:.0f} MB"
        )
    assert read + refused == 100_000
    assert grown < MOST_GROWTH_MB
