"""Damage is found, named by its line, and never takes the rest with it."""

import contextlib
import json
import tracemalloc
import zlib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knitlog.journal import lines
from knitlog.journal.errors import JournalError
from knitlog.journal.lines import MAX_LINE_BYTES, Decoded, decode

FIXTURE = (Path(__file__).parent / "fixtures" / "schema_1.knitlog").read_bytes()
LINES = FIXTURE.splitlines(keepends=True)


def lines_lost(read: Decoded) -> set[int]:
    return set(range(1, len(LINES) + 1)) - set(read.lines)


def sealed(line: bytes) -> bytes:
    """Give the line with the check it should have."""
    body = line.rsplit(b',"check"', 1)[0]
    return b'%b,"check":"%08x"}\n' % (body, zlib.crc32(body))


def test_every_flipped_bit_is_noticed() -> None:
    """CRC-32 finds every error of one bit (and every burst up to 32 bits)."""
    line = LINES[3]
    for place in range(len(line) - 1):  # the line break itself is another test
        for bit in range(8):
            broken = bytearray(line)
            broken[place] ^= 1 << bit
            read = decode(LINES[0] + bytes(broken) + LINES[4])
            assert 2 not in read.lines, (place, bit)
            assert read.lines[0] == 1
            assert len(read.problems) >= 1


def test_a_damaged_line_is_named_and_the_rest_is_used() -> None:
    broken = FIXTURE.replace(b'"stitch":39.5', b'"stitch":89.5')
    read = decode(broken)
    assert lines_lost(read) == {4}
    assert [p.line for p in read.problems] == [4]
    assert read.problems[0].sentence == (
        "Line 4 is damaged; it is kept as it is and the rest is used."
    )


def test_a_torn_last_line_is_set_aside_wherever_it_tears() -> None:
    whole = b"".join(LINES[:4])
    for cut in range(1, len(LINES[4]) - 1):
        read = decode(whole + LINES[4][:cut])
        assert read.lines == (1, 2, 3, 4)
        assert read.open_tail
        assert [p.line for p in read.problems] == [5]
        assert "never finished" in read.problems[0].sentence


def test_a_last_line_that_only_lacks_its_line_break_is_used() -> None:
    read = decode(FIXTURE.removesuffix(b"\n"))
    assert lines_lost(read) == set()
    assert read.open_tail
    assert read.problems == ()


def test_a_block_of_zeros_after_a_power_cut_is_set_aside() -> None:
    read = decode(FIXTURE + b"\0" * 4096)
    assert lines_lost(read) == set()
    assert len(read.problems) == 1


def test_a_line_written_by_hand_needs_no_check() -> None:
    event = json.loads(LINES[2])
    del event["check"]
    read = decode(json.dumps(event, indent=None).encode() + b"\n")
    assert read.events == decode(LINES[2]).events


def test_line_breaks_and_marks_of_other_systems_do_no_harm() -> None:
    read = decode(b"\xef\xbb\xbf" + FIXTURE.replace(b"\n", b"\r\n") + b"\r\n\r\n")
    assert lines_lost(read) == set()
    assert read.problems == ()


def test_a_newer_schema_is_told_from_damage() -> None:
    newer = sealed(LINES[2].replace(b'"schema":1', b'"schema":7').replace(b"round", b"ronde"))
    read = decode(LINES[0] + newer)
    assert read.newer_schema == 7
    assert read.problems == ()


@pytest.mark.parametrize(
    "hostile",
    [
        b"[" * 100_000,
        b'{"schema":1,"a":' * 10_000,
        b'{"schema":1,"kind":"note","text":"' + b"x" * (MAX_LINE_BYTES + 1) + b'"}',
        b'{"schema":NaN}',
        b'{"schema":1e308}',
        b'{"schema":' + b"9" * 10_000 + b"}",
        b'{"schema":true}',
        b"\xff\xfe\x00",
        b'"schema"',
        b"null",
        b'{"schema":1,"id":"' + b"0" * 32 + b'","at":"2031-01-05T19:00:00Z","kind":"note",'
        b'"text":"\\ud800"}',
    ],
    ids=range(11),
)
def test_a_hostile_line_is_one_damaged_line(hostile: bytes) -> None:
    read = decode(LINES[0] + hostile + b"\n" + LINES[2])
    assert read.lines == (1, 3)
    assert len(read.problems) == 1
    assert read.newer_schema is None


@given(st.binary(max_size=400), st.integers(0, len(FIXTURE)))
@settings(max_examples=200, deadline=None, derandomize=True)
def test_bytes_thrown_in_lose_at_most_the_lines_they_touch(junk: bytes, place: int) -> None:
    read = decode(FIXTURE[:place] + junk + FIXTURE[place:])
    touched = FIXTURE[:place].count(b"\n") + 1
    known = [event.id for event in decode(FIXTURE).events]
    lost = set(known) - {event.id for event in read.events}
    assert lost <= set(known[touched - 1 : touched])


@pytest.mark.parametrize(
    "hostile",
    [
        b"\n" * 3_000_000,
        b"x\n" * 1_000_000,
        b"{\n" * 15_000,
        b'{"schema":3}\n' * 15_000,
        b"x" * 3_000_000,
        b"[" * 3_000_000,
        b'{"schema":1,"note":"' + b"y" * 3_000_000 + b'"}\n',
    ],
    ids=["blank", "short", "broken", "newer", "one line", "deep", "long note"],
)
def test_a_large_and_hostile_file_takes_little_memory(
    hostile: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(lines, "MAX_LINES", 20_000)  # the same in a tenth of the time
    tracemalloc.start()
    try:
        with contextlib.suppress(JournalError):
            assert len(decode(hostile).problems) <= 101
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert peak < 4 * len(hostile) + 20_000_000


def test_very_many_damaged_lines_are_counted_not_listed() -> None:
    read = decode(LINES[0] + b"x\n" * 500 + LINES[2])
    assert len(read.events) == 2
    assert len(read.problems) == 101
    assert read.problems[-1].sentence == "And 400 more lines are damaged."
