"""Journals and CSV logs from anywhere, as projects."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from knitlog.journal.csvlog import read_csv_log
from knitlog.journal.disk import read_file
from knitlog.journal.errors import JournalError
from knitlog.journal.events import Event, ProjectChanged, ProjectSetUp
from knitlog.journal.factkeys import parse_facts
from knitlog.journal.facts import FactChanges
from knitlog.journal.fold import fold
from knitlog.journal.library import Library
from knitlog.journal.lines import Problem
from knitlog.journal.names import slug_of
from knitlog.journal.project import ProjectState
from knitlog.journal.store import SUFFIX, JournalFile
from knitlog.journal.text import quoted


def read_log_file(path: Path, facts: Mapping[str, str] | None = None) -> ProjectState:
    """Read a journal or a CSV log, whichever the file is, as a project's state.

    ``facts``: option names without the dashes -> what was typed (``stitches``,
    ``repeat-length``, ...); they overrule what the file says.  What was left out of the
    file is among the state's ``problems``.

    Raises:
        JournalError: the file cannot be read; one plain sentence.
    """
    given = dict(facts or {})
    if _is_journal(path):
        journal = JournalFile.open(path)
        if not given:
            return journal.state
        # said as the journal would have it, so that stints follow the facts
        state = fold((*journal.events, _said(journal.state, given)))
        return replace(
            state,
            slug=journal.state.slug,
            problems=journal.state.problems,
            read_only=journal.state.read_only,
        )
    log = read_csv_log(path, given)
    left_out = tuple(Problem(0, sentence) for sentence in log.warnings)
    return replace(log.state, problems=(*log.state.problems, *left_out))


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
    given = dict(facts or {})
    if _is_journal(path):
        source = JournalFile.open(path)
        events: tuple[Event, ...] = source.events
        if given:
            events = (*events, _said(source.state, given))
        called = name or source.state.name
    else:
        log = read_csv_log(path, given)
        events, called = log.events, name or log.state.name
    if name is not None:
        events = tuple(_renamed(e, name) if isinstance(e, ProjectSetUp) else e for e in events)
    target = library.folder / f"{slug_of(called)}{SUFFIX}"
    if target.exists():
        raise JournalError(
            f"There is already a project {quoted(called, 80)}; choose another with --name."
        )
    return JournalFile.create(target, events)


def _is_journal(path: Path) -> bool:
    if path.suffix == SUFFIX:
        return True
    data, _ = read_file(path)
    return data[:64].lstrip().startswith(b"{")


def _said(state: ProjectState, facts: Mapping[str, str]) -> ProjectChanged:
    return ProjectChanged(at=state.last_at, changes=FactChanges(**parse_facts(facts)))


def _renamed(event: ProjectSetUp, name: str) -> ProjectSetUp:
    return ProjectSetUp(id=event.id, at=event.at, name=name, about=event.about, facts=event.facts)
