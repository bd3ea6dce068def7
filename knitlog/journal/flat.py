"""Events as rows of a table, and back.

Every field of an event has a column of its own, named by its way in (``facts.colours.0.name``)
with its unit behind in square brackets; a cell is empty where an event has no such field.
So a whole history can be opened in a spreadsheet, and read back as the same history.
"""

import csv
import io
import json
import re
from collections.abc import Iterator, Sequence
from typing import Any

from pydantic import ValidationError

from knitlog.journal.csvtable import guarded, unguarded
from knitlog.journal.errors import JournalError, sentence_of
from knitlog.journal.events import Event, event_adapter
from knitlog.typed.text import quoted

_TEXTS = frozenset(
    (
        "id",
        "at",
        "kind",
        "target",
        "name",
        "about",
        "text",
        "note",
        "how",
        "colour",
        "fibre",
        "stitch_pattern",
        "cleared",
        "as_given",
    )
)
"""Fields that hold words; all others hold numbers or yes and no, written as JSON has them."""
_NO_WORD = "'"
"""Stands for words that are there and empty; an apostrophe of hers is written twice."""
_UNITS = (
    (re.compile(r"(^|\.)at$"), "ISO 8601"),
    (re.compile(r"_mm(\.\d+)?$"), "mm"),
    (re.compile(r"_per_cm$"), "per cm"),
    (re.compile(r"(^|_)percent$"), "%"),
    (re.compile(r"(^|\.)minutes(\.[a-z-]+)?$"), "min"),
    (re.compile(r"target_drift$"), "stitches a round"),
    (re.compile(r"(stitch|stitches|taken_out|tolerance|multiple)$"), "stitches"),
    (re.compile(r"homes\.\d+$"), "stitches"),
    (re.compile(r"(^|\.)(repeats|period_shift)$"), "repeats"),
    (re.compile(r"(^|\.)(planned|pattern)_rounds$"), "rounds"),
    (re.compile(r"(round|^to_round|(^|\.)change|count_changes)$"), "number"),
)
_HEADER = re.compile(r"^(?P<path>[a-z0-9_.-]+)(?: \[[^\]]*\])?$")


def to_table(events: Sequence[Event]) -> str:
    """Give events as CSV text, one a row, units in the headers."""
    rows = [dict(_flat(event.model_dump(mode="json", by_alias=True, exclude_none=True)))
            for event in events]  # fmt: skip
    columns = list(dict.fromkeys(path for row in rows for path in row))
    first = [c for c in ("at", "kind", "round") if c in columns]
    columns = first + [c for c in columns if c not in first]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([header(path) for path in columns])
    writer.writerows([row.get(path, "") for path in columns] for row in rows)
    return out.getvalue()


def from_table(text: str) -> tuple[Event, ...]:
    """Read events back from what :func:`to_table` gave.

    Raises:
        JournalError: it is no such table, or a row is no event.

    """
    reader = csv.reader(io.StringIO(text, newline=""))
    try:
        names = next(reader, [])
        paths = [_path(name) for name in names]
        if "kind" not in paths:
            raise JournalError("This is no table of events: there is no column called kind.")
        return tuple(_event(paths, row, reader.line_num) for row in reader if any(row))
    except csv.Error as error:
        raise JournalError(f"This table cannot be read: {error}.") from None


def header(path: str) -> str:
    """Give the heading of a column, with its unit.

    >>> header("facts.repeat_length_mm")
    'facts.repeat_length_mm [mm]'
    """
    if "as_given" in path:
        return path
    unit = next((unit for pattern, unit in _UNITS if pattern.search(path)), None)
    return path if unit is None else f"{path} [{unit}]"


def _flat(value: Any, path: str = "") -> Iterator[tuple[str, str]]:
    items: Any = None
    if isinstance(value, dict):
        items = value.items()
    elif isinstance(value, list):
        items = enumerate(value)
    if items is None:
        yield path, _word(value) if isinstance(value, str) else json.dumps(value)
    elif not value:
        yield path, json.dumps(value)
    else:
        for key, inner in items:
            yield from _flat(inner, f"{path}.{key}" if path else str(key))


def _word(text: str) -> str:
    return guarded(text) if text else _NO_WORD


def _path(name: str) -> str:
    found = _HEADER.match(name.strip().removeprefix("\ufeff"))
    if found is None:
        raise JournalError(f"There is no field of an event called {quoted(name)}.")
    return found["path"]


def _event(paths: Sequence[str], row: Sequence[str], line: int) -> Event:
    content: dict[str, Any] = {}
    try:
        for path, cell in zip(paths, row, strict=False):
            if cell:
                _put(content, path.split("."), cell)
        return event_adapter.validate_json(json.dumps(_listed(content)))
    except ValidationError as error:
        raise JournalError(f"Line {line} is no event: {sentence_of(error)}") from None
    except (ValueError, TypeError, AttributeError, RecursionError):
        raise JournalError(f"Line {line} is no event: a cell in it cannot be read.") from None


def _put(content: dict[str, Any], way: list[str], cell: str) -> None:
    named = [part for part in way if not part.isdigit()]
    empty = cell in ("[]", "{}")
    kind = "as_given" if "as_given" in named else named[-1] if named else ""
    word = kind in _TEXTS and not (kind == "cleared" and empty)
    for part in way[:-1]:
        content = content.setdefault(part, {})
    if cell == _NO_WORD and word:
        content[way[-1]] = ""
    else:
        content[way[-1]] = unguarded(cell) if word else json.loads(cell)


def _listed(value: Any, name: str = "") -> Any:
    """Turn dicts numbered from 0 back into lists; homes are numbered by their colour change."""
    if not isinstance(value, dict):
        return value
    inner = {key: _listed(item, key) for key, item in value.items()}
    if name != "homes" and inner and all(key.isdigit() for key in inner):
        return [inner[key] for key in sorted(inner, key=int)]
    return inner
