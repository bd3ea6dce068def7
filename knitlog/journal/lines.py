"""Events to lines of bytes and back.

A line is one JSON object that ends in ``"check":"xxxxxxxx"}``: the CRC-32 (as in
ISO 3309 and zlib) of everything before it, so that a damaged digit is noticed and
not believed.  A line without a check, written by hand, is taken as it is.  Later
schemas must keep the check, so that a newer line can be told from a damaged one.

Reading never gives up on a file because of one line: a line that cannot be
understood is reported by its number and skipped.
"""

import io
import json
import zlib
from dataclasses import dataclass, replace

from pydantic import ValidationError

from knitlog.journal.errors import JournalError
from knitlog.journal.events import BY_KIND, SCHEMA, Event, as_written, event_adapter

MAX_LINE_BYTES = 256 * 1024
"""Longest line read; the longest an event of ours can be is well below."""
MAX_LINES = 200_000
"""More than the largest file we write can hold."""
MAX_PROBLEMS = 100
"""Damaged lines named one by one."""

_KIND = b'"kind":"'
_BY_KIND = {kind.encode(): model for kind, model in BY_KIND.items()}
_CHECK_KEY = b',"check":"'
_CHECK_BYTES = len(b',"check":"00000000"}')
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
    line_count: int
    """Lines in the file, an unfinished one counted too."""
    open_tail: bool
    """True if the file does not end with a line break."""

    def with_event(self, event: Event) -> "Decoded":
        """Give what the file holds once ``event`` is appended on a line of its own."""
        number = self.line_count + 1
        return replace(
            self,
            events=(*self.events, event),
            lines=(*self.lines, number),
            line_count=number,
            open_tail=False,
        )


def encode(event: Event) -> bytes:
    """Give the line of an event, with its check and line break."""
    return sealed(as_written(event).model_dump_json(by_alias=True, exclude_none=True).encode())


def sealed(content: bytes) -> bytes:
    """Give a JSON object as a line that ends in its check."""
    body = content[:-1]
    return b'%b,"check":"%08x"}\n' % (body, zlib.crc32(body))


def decode(data: bytes) -> Decoded:
    """Read a whole file's bytes.

    Raises:
        JournalError: there are more lines than any journal has.

    """
    events: list[Event] = []
    numbers: list[int] = []
    damaged: list[int] = []
    newer: int | None = None
    number = 0
    line = b"\n"
    for number, line in enumerate(io.BytesIO(data.removeprefix(_BOM)), start=1):
        if number > MAX_LINES:
            raise JournalError(f"There are more than {MAX_LINES:,} lines; is it the right file?")
        bare = line.rstrip(b"\r\n")
        if not bare:
            continue
        content = opened(bare)
        event = None if content is None else _event_of(content)
        if event is not None:
            events.append(event)
            numbers.append(number)
            continue
        schema = None if content is None else schema_of(content)
        if schema is not None and schema > SCHEMA:
            newer = max(newer or 0, schema)
        else:
            damaged.append(number)
    open_tail = not line.endswith(b"\n")
    return Decoded(
        events=tuple(events),
        lines=tuple(numbers),
        problems=_problems(damaged, number if open_tail else None),
        newer_schema=newer,
        line_count=number,
        open_tail=open_tail,
    )


def _problems(damaged: list[int], unfinished: int | None) -> tuple[Problem, ...]:
    """Say which lines are damaged; when there are very many, not each by itself."""
    problems = [
        Problem(
            number,
            f"Line {number} was never finished (a power cut, perhaps); it is set aside and "
            "everything before it is used."
            if number == unfinished
            else f"Line {number} is damaged; it is kept as it is and the rest is used.",
        )
        for number in damaged[:MAX_PROBLEMS]
    ]
    if more := damaged[MAX_PROBLEMS:]:
        problems.append(Problem(more[0], f"And {len(more):,} more lines are damaged."))
    return tuple(problems)


def opened(line: bytes) -> bytes | None:
    """Give the JSON object of a line without its check; None if the check is wrong."""
    if len(line) > MAX_LINE_BYTES:
        return None
    if line[-_CHECK_BYTES:-10] != _CHECK_KEY or line[-2:] != b'"}':
        return line
    body = line[:-_CHECK_BYTES]
    return body + b"}" if b"%08x" % zlib.crc32(body) == line[-10:-2] else None


def _event_of(content: bytes) -> Event | None:
    start = content.find(_KIND) + len(_KIND)
    model = _BY_KIND.get(content[start : content.find(b'"', start)])
    try:
        if model is None:  # written by hand, perhaps, with spaces between
            return event_adapter.validate_json(content)
        # the usual way: only the kinds that occur are ever built, and logging starts sooner
        return model.model_validate_json(content)
    except ValidationError:
        return None


def schema_of(content: bytes) -> int | None:
    """Give the schema a line says it was written under, if it says one at all."""
    try:
        found = json.loads(content)
    except (ValueError, RecursionError):
        return None
    schema = found.get("schema") if isinstance(found, dict) else None
    return schema if type(schema) is int else None
