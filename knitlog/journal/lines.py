"""Events to lines of bytes and back.

A line is one JSON object that ends in ``"check":"xxxxxxxx"}``: the CRC-32 (as in
ISO 3309 and zlib) of everything before it, so that a damaged digit is noticed and
not believed.  A line without a check, written by hand, is taken as it is.

Reading never gives up on a file because of one line: a line that cannot be
understood is reported by its number and skipped.
"""

import json
import re
import zlib
from dataclasses import dataclass

from pydantic import ValidationError

from knitlog.journal.events import SCHEMA, Event, event_adapter

MAX_LINE_BYTES = 256 * 1024
"""Longest line read; the longest an event of ours can be is well below."""

_CHECK = re.compile(rb',"check":"([0-9a-f]{8})"\}\Z')
_CHECK_BYTES = 20
_BOM = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True)
class Problem:
    """Something in a file that could not be used; the rest still is."""

    line: int
    """Line number, from 1."""
    sentence: str
    """What is wrong, for the knitter."""


@dataclass(frozen=True, slots=True)
class Decoded:
    """What a file holds."""

    events: tuple[Event, ...]
    lines: tuple[int, ...]
    """Line number of each event."""
    problems: tuple[Problem, ...]
    newer_schema: int | None
    """Highest schema met that this version does not know."""
    open_tail: bool
    """True if the file does not end with a line break."""


def encode(event: Event) -> bytes:
    """Give the line of an event, with its check and line break."""
    body = event.model_dump_json(by_alias=True, exclude_none=True).encode()[:-1]
    return b'%b,"check":"%08x"}\n' % (body, zlib.crc32(body))


def decode(data: bytes) -> Decoded:
    """Read a whole file's bytes."""
    events: list[Event] = []
    numbers: list[int] = []
    problems: list[Problem] = []
    newer: int | None = None
    chunks = data.removeprefix(_BOM).split(b"\n")
    open_tail = chunks[-1] != b""
    for number, chunk in enumerate(chunks, start=1):
        line = chunk.removesuffix(b"\r")
        if not line:
            continue
        event = _event_of(line)
        if event is not None:
            events.append(event)
            numbers.append(number)
            continue
        schema = _schema_of(line)
        if schema is not None and schema > SCHEMA:
            newer = max(newer or 0, schema)
        elif open_tail and number == len(chunks):
            problems.append(
                Problem(
                    number,
                    f"Line {number} was never finished (a power cut, perhaps); it is set aside "
                    "and everything before it is used.",
                )
            )
        else:
            problems.append(
                Problem(
                    number,
                    f"Line {number} is damaged; it is kept as it is and the rest is used.",
                )
            )
    return Decoded(tuple(events), tuple(numbers), tuple(problems), newer, open_tail)


def _event_of(line: bytes) -> Event | None:
    if len(line) > MAX_LINE_BYTES:
        return None
    found = _CHECK.search(line, max(0, len(line) - _CHECK_BYTES))
    if found:
        body = line[: found.start()]
        if zlib.crc32(body) != int(found[1], 16):
            return None
        line = body + b"}"
    try:
        return event_adapter.validate_json(line)
    except ValidationError:
        return None


def _schema_of(line: bytes) -> int | None:
    """Give the schema a line says it was written under, if it says one at all."""
    if len(line) > MAX_LINE_BYTES:
        return None
    try:
        found = json.loads(line)
    except (ValueError, RecursionError):
        return None
    schema = found.get("schema") if isinstance(found, dict) else None
    return schema if type(schema) is int else None
