"""CSV bytes to key lines and rows, each with its line number.

Knows about encodings, separators, quotation marks and formulas, nothing about knitting.
"""

import contextlib
import csv
import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import chain

from knitlog.journal.errors import JournalError
from knitlog.typed.text import quoted

MAX_ROWS = 100_000
_MAX_KEY_LINES = 1_000
_KEY_LINE = re.compile(r"#+\s*(?P<key>[A-Za-z][A-Za-z _-]{0,40}?)\s*:(?P<text>.*)", re.DOTALL)
_SEPARATORS = ",;\t"


class CsvError(JournalError):
    """A CSV log that cannot be read; the sentence names the line where there is one."""


@dataclass(frozen=True, slots=True)
class KeyLine:
    """A ``# key: value`` line."""

    line: int
    key: str
    """In small letters, with hyphens."""
    text: str


@dataclass(frozen=True, slots=True)
class Row:
    """One row under the column names."""

    line: int
    cells: Mapping[str, str]
    """By column; blank cells are left out."""


@dataclass(frozen=True, slots=True)
class CsvTable:
    """A CSV file taken apart."""

    keys: tuple[KeyLine, ...]
    columns: tuple[str, ...]
    """As in the file, in small letters with underscores."""
    column_line: int
    rows: tuple[Row, ...]


def read_table(data: bytes, needed: tuple[str, ...], known: tuple[str, ...]) -> CsvTable:
    """Take CSV bytes apart.

    Args:
        data: the whole file.
        needed: columns that must be there.
        known: all columns that mean something; cells of others are dropped.

    Raises:
        CsvError: one sentence naming the line.

    """
    lines = enumerate(io.StringIO(_text_of(data), newline=""), start=1)
    keys: list[KeyLine] = []
    separator = ","
    for number, line in lines:
        stripped = _whole_cell(line.strip())
        if number > _MAX_KEY_LINES:
            raise CsvError(f"There are no column names in the first {_MAX_KEY_LINES} lines.")
        if stripped.lower().startswith("sep="):
            continue
        if stripped and not stripped.startswith("#"):
            separator = max(_SEPARATORS, key=line.count)
            return _body(chain([(number, line)], lines), separator, tuple(keys), needed, known)
        found = _KEY_LINE.fullmatch(stripped)
        if found:
            key = re.sub(r"[ _]+", "-", found["key"].lower())
            keys.append(KeyLine(number, key, found["text"].strip()))
    raise CsvError(f"There are no column names; the first row must be {','.join(needed)}.")


def _whole_cell(line: str) -> str:
    """Give a key line as it was before a spreadsheet put quotation marks round it."""
    if line.startswith('"#'):
        with contextlib.suppress(csv.Error, StopIteration):
            return next(csv.reader([line]))[0].strip()
    return line.rstrip(_SEPARATORS + " ")


def _text_of(data: bytes) -> str:
    if not data.strip():
        raise CsvError("The file is empty; a log begins with a line such as round,stitch.")
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise CsvError("The file is UTF-16 text; save it again as CSV in UTF-8.")
    if b"\0" in data:
        raise CsvError("The file is not text; is it the right file? A table must be saved as CSV.")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise CsvError(
            f"Line {line} is not UTF-8 text; save the file again as CSV in UTF-8."
        ) from None


def _body(
    lines: Iterator[tuple[int, str]],
    separator: str,
    keys: tuple[KeyLine, ...],
    needed: tuple[str, ...],
    known: tuple[str, ...],
) -> CsvTable:
    """Read the column names and the rows under them."""
    records = _records(lines, separator)
    column_line, names = next(records)
    columns = _columns(column_line, names, needed)
    must_have = max(columns.index(name) for name in needed) + 1
    rows: list[Row] = []
    for line, cells in records:
        if not any(cells) or cells[0].startswith("#"):
            continue
        if any(cells[len(columns) :]):
            raise CsvError(
                f"Line {line} has {len(cells)} cells, but there are {len(columns)} columns; "
                "write halves as 37.5, and put quotation marks round a note with commas in it."
            )
        if len(cells) < must_have:
            raise CsvError(f"Line {line} stops early; the file may have been cut short.")
        named = zip(columns, cells, strict=False)
        rows.append(Row(line, {name: cell for name, cell in named if cell and name in known}))
    return CsvTable(keys, columns, column_line, tuple(rows))


def _records(lines: Iterator[tuple[int, str]], separator: str) -> Iterator[tuple[int, list[str]]]:
    """Give each record with the number of the line it begins on."""
    last = 0

    def texts() -> Iterator[str]:
        nonlocal last
        for number, text in lines:
            last = number
            yield text

    reader = csv.reader(texts(), delimiter=separator, strict=True, skipinitialspace=True)
    count = 0
    begins = 0
    while True:
        before = last
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            if "field limit" in str(error):
                raise CsvError(f"Line {last}: a cell is far too long; is it a log?") from None
            raise CsvError(
                f"Line {max(before + 1, begins)}: a quotation mark is not closed, or something "
                "follows it; the file may have been cut short."
            ) from None
        begins = before + 1 if before else last
        count += 1
        if count > MAX_ROWS:
            raise CsvError(f"There are more than {MAX_ROWS:,} rows; is it the right file?")
        yield begins, [cell.strip() for cell in cells]


def _columns(line: int, names: list[str], needed: tuple[str, ...]) -> tuple[str, ...]:
    columns = [re.sub(r"[\s-]+", "_", name.lower()) for name in names]
    while columns and not columns[-1]:
        columns.pop()
    for name in needed:
        if name not in columns:
            raise CsvError(
                f"Line {line} must name the columns, and there is no {quoted(name)} among them; "
                f"begin with {','.join(needed)}."
            )
    for name in columns:
        if name and columns.count(name) > 1:
            raise CsvError(f"Line {line} names the column {quoted(name)} twice.")
    return tuple(columns)


# A cell that begins with =, +, - or @ may be run by a spreadsheet, and a program that parts
# columns at another character than we do may find such a beginning in the middle of a cell.
# An apostrophe in front makes it text everywhere (the advice of OWASP, 'CSV Injection').
_STARTERS = "=+\\-@'|%\uff1d\uff0b\uff0d\uff20"
_BEGINNINGS = r"((?:^|[;,|:\t\r\n\"])\s*)"
_GUARD = re.compile(f"{_BEGINNINGS}(?=[{_STARTERS}])")
_UNGUARD = re.compile(f"{_BEGINNINGS}'(?=[{_STARTERS}])")


def guarded(text: str) -> str:
    """Put an apostrophe wherever a formula could begin.

    >>> guarded("=1+1")
    "'=1+1"
    """
    return _GUARD.sub(r"\1'", text)


def unguarded(text: str) -> str:
    """Take off what :func:`guarded` put on.

    >>> unguarded("'=1+1")
    '=1+1'
    """
    return _UNGUARD.sub(r"\1", text)
