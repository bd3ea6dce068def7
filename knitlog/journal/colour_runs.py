"""Colour runs kept for another project: the yarns she has measured, by name.

One text file beside the journals, one entry a line, only ever appended to and with the
same care: locked, written in one call, flushed before it is acknowledged.  Keeping a run
under a name that is taken replaces it; the old one stays in the file.  A line that is
damaged or was never finished is reported, and the rest is used.
"""

import contextlib
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, TypeAdapter, ValidationError

from knitlog.journal import disk
from knitlog.journal.errors import (
    JournalError,
    JournalMissingError,
    JournalReadOnlyError,
    sentence_of,
)
from knitlog.journal.events import Moment, now
from knitlog.journal.facts import ColourPart, Frozen, LongText, Name
from knitlog.journal.library import called, slug_of
from knitlog.journal.lines import Problem, opened, schema_of, sealed
from knitlog.typed.text import quoted
from knitlog.yarn import YarnError
from knitlog.yarn.colours import ColourRun, ColourSegment

FILE_NAME = "colour-runs.jsonl"
SCHEMA = 1
"""The schema this version writes."""
_MOST_BYTES = 8 * 1024 * 1024


class _Line(Frozen):
    """What every line carries."""

    schema_version: Literal[1] = Field(default=1, alias="schema")
    id: Annotated[str, Field(pattern=r"^[0-9a-f]{32}$")] = Field(
        default_factory=lambda: uuid.uuid4().hex
    )
    at: Moment = Field(default_factory=now)
    name: Name


class RunKept(_Line):
    """A colour run is kept under a name."""

    kind: Literal["colour run kept"] = "colour run kept"
    colours: Annotated[tuple[ColourPart, ...], Field(min_length=1, max_length=100)]
    turns_back: bool = False
    """True where the run goes forth and back along the yarn."""
    note: LongText = ""


class RunDropped(_Line):
    """The run of a name is kept no longer."""

    kind: Literal["colour run dropped"] = "colour run dropped"


_adapter: TypeAdapter[RunKept | RunDropped] = TypeAdapter(
    Annotated[RunKept | RunDropped, Field(discriminator="kind")]
)


@dataclass(frozen=True, slots=True)
class KeptRun:
    """One colour run of the book."""

    name: str
    """What she calls the yarn."""
    run: ColourRun
    note: str
    """What else she wrote about it; may be empty."""
    at: datetime
    """When it was kept."""


@dataclass(frozen=True, slots=True)
class _Read:
    """What the file holds."""

    runs: tuple[KeptRun, ...]
    problems: tuple[Problem, ...]
    open_tail: bool
    newer: int | None


class ColourRunBook:
    """The colour runs kept in a folder."""

    def __init__(self, folder: str | Path) -> None:
        """Look in ``folder``, which need not exist yet."""
        self.path = Path(folder) / FILE_NAME
        self.clock: Callable[[], datetime] = now

    def runs(self) -> tuple[KeptRun, ...]:
        """Every run that is kept, by name.

        Raises:
            JournalError: the file cannot be read.

        """
        return self._read().runs

    def problems(self) -> tuple[Problem, ...]:
        """What in the file could not be used.

        Raises:
            JournalError: the file cannot be read.

        """
        return self._read().problems

    def find(self, name: str) -> KeptRun:
        """The run of a name, or of enough of it to be the only one.

        Raises:
            JournalError: there is no such run, or more than one, or the file cannot be read.

        """
        return _found(self.runs(), name)

    def keep(self, name: str, run: ColourRun, *, note: str = "") -> KeptRun:
        """Keep a run under a name; one already kept under it is replaced.

        Raises:
            JournalError: the name or the run will not do, or it was not saved.

        """
        try:
            line = RunKept(
                at=self.clock(),
                name=name,
                colours=parts_of(run),
                turns_back=run.palindrome,
                note=note,
            )
        except ValidationError as error:
            raise JournalError(sentence_of(error)) from None
        self._append(line)
        return _kept(line)

    def drop(self, name: str) -> KeptRun:
        """Keep the run of a name no longer; gives what it was.

        Raises:
            JournalError: there is no such run, or it was not saved.

        """
        dropped = self.find(name)
        self._append(RunDropped(at=self.clock(), name=dropped.name))
        return dropped

    def _append(self, line: RunKept | RunDropped) -> None:
        disk.make_folder(self.path.parent)
        with disk.locked(self.path):
            if not self.path.exists():
                disk.create_file(self.path, _sealed(line))
                return
            read = self._read()
            if read.newer is not None:
                raise JournalReadOnlyError(
                    f"{quoted(FILE_NAME)} holds entries of a newer knitlog (schema {read.newer}); "
                    "install the newer version to add to it."
                )
            start = b"\n" if read.open_tail else b""
            disk.append_line(self.path, start + _sealed(line))

    def _read(self) -> _Read:
        try:
            data, _ = disk.read_file(self.path, _MOST_BYTES)
        except JournalMissingError:
            return _Read((), (), open_tail=False, newer=None)
        return _decoded(data)


def parts_of(run: ColourRun) -> tuple[ColourPart, ...]:
    """A colour run as the journal writes it.

    Raises:
        JournalError: a name or a length will not do.

    """
    try:
        return tuple(
            ColourPart(name=s.name, length_mm=s.length_mm, colour=s.colour) for s in run.segments
        )
    except ValidationError as error:
        raise JournalError(sentence_of(error)) from None


def _kept(line: RunKept) -> KeptRun:
    segments = tuple(ColourSegment(c.name, c.length_mm, c.colour) for c in line.colours)
    return KeptRun(line.name, ColourRun(segments, line.turns_back), line.note, line.at)


def _found(runs: tuple[KeptRun, ...], name: str) -> KeptRun:
    found = called([(slug_of(kept.name), kept) for kept in runs], slug_of(name))
    if len(found) == 1:
        return found[0]
    names = ", ".join(kept.name for kept in found or runs)
    if found:
        raise JournalError(f"{quoted(name)} could be {names}; type more of the name.")
    if not runs:
        raise JournalMissingError("No colour runs are kept yet; keep one first.")
    raise JournalMissingError(f"There is no colour run {quoted(name)}; there are: {names}.")


def _sealed(line: RunKept | RunDropped) -> bytes:
    return sealed(line.model_dump_json(by_alias=True).encode())


def _decoded(data: bytes) -> _Read:
    runs: dict[str, KeptRun] = {}
    problems: list[Problem] = []
    newer: int | None = None
    chunks = data.split(b"\n")
    open_tail = chunks[-1] != b""
    for number, chunk in enumerate(chunks, start=1):
        line = chunk.removesuffix(b"\r")
        if not line:
            continue
        read = _unsealed(line)
        if isinstance(read, RunKept):
            with contextlib.suppress(YarnError):
                runs[slug_of(read.name)] = _kept(read)
                continue
        if isinstance(read, RunDropped):
            runs.pop(slug_of(read.name), None)
            continue
        if isinstance(read, int):
            newer = max(newer or 0, read)
            continue
        torn = open_tail and number == len(chunks)
        what = "was never finished and is set aside" if torn else "is damaged and left as it is"
        problems.append(Problem(number, f"Line {number} of {FILE_NAME} {what}; the rest is used."))
    kept = tuple(sorted(runs.values(), key=lambda k: slug_of(k.name)))
    return _Read(kept, tuple(problems), open_tail, newer)


def _unsealed(line: bytes) -> RunKept | RunDropped | int | None:
    """The entry of a line; its schema if it is a newer one; None if it is damaged."""
    content = opened(line)
    if content is None:
        return None
    try:
        return _adapter.validate_json(content)
    except ValidationError:
        schema = schema_of(content)
    return schema if schema is not None and schema > SCHEMA else None
