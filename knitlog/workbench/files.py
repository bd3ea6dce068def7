"""Journals and CSV logs from anywhere, as projects."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from knitlog.journal.events import Event, ProjectChanged
from knitlog.journal.factkeys import parse_facts
from knitlog.journal.facts import FactChanges
from knitlog.journal.lines import Problem
from knitlog.journal.sources import read_any

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from knitlog.journal.library import Library
    from knitlog.journal.project import ProjectState
    from knitlog.journal.store import JournalFile


def read_log_file(path: Path, facts: Mapping[str, str] | None = None) -> ProjectState:
    """Read a journal or a CSV log, whichever the file is, as a project's state.

    ``facts``: option names without the dashes -> what was typed (``stitches``,
    ``repeat-length``, ...); they overrule what the file says.  What was left out of the
    file is among the state's ``problems``.

    Raises:
        JournalError: the file cannot be read; one plain sentence.
    """
    read = read_any(path, facts)
    if read.is_journal:
        return read.state
    left_out = tuple(Problem(0, sentence) for sentence in read.warnings)
    return replace(read.state, problems=(*read.state.problems, *left_out))


def import_log(
    library: Library,
    path: Path,
    *,
    name: str | None = None,
    facts: Mapping[str, str] | None = None,
) -> JournalFile:
    """Make a project in ``library`` of a CSV log or a journal.

    Raises:
        JournalError: the file cannot be read, the name is taken, or nothing can be written.
    """
    read = read_any(path, facts)
    events: tuple[Event, ...] = read.events
    if read.is_journal and facts:
        changes = FactChanges(**parse_facts(facts))
        events = (*events, ProjectChanged(at=read.state.last_at, changes=changes))
    return library.adopt(events, name=name)
