"""Any log at all: a journal or a CSV file, told apart by what is in it."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from knitlog.journal.csvlog import read_csv_log
from knitlog.journal.events import Event, ProjectChanged
from knitlog.journal.factkeys import parse_facts
from knitlog.journal.facts import FactChanges
from knitlog.journal.project import ProjectState
from knitlog.journal.store import SUFFIX, JournalFile

_BOM = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True)
class AnyLog:
    """A log as read, wherever it came from."""

    path: Path
    state: ProjectState
    events: tuple[Event, ...]
    warnings: tuple[str, ...]
    """What in the file could not be used, one sentence each."""
    is_journal: bool
    """False for a CSV log."""


def read_any(path: str | Path, overrides: Mapping[str, str] | None = None) -> AnyLog:
    """Read a journal or a CSV log.

    ``overrides`` are facts that come before those in the file, by option name without
    the dashes, as typed.

    Raises:
        JournalError: one sentence saying what is wrong.

    """
    path = Path(path)
    if path.name.endswith(SUFFIX) or _looks_like_journal(path):
        journal = JournalFile.open(path)
        state = journal.state
        if overrides:
            changes = FactChanges(**parse_facts(overrides))
            state = journal.what_if(ProjectChanged(at=state.last_at, changes=changes))
        warnings = tuple(problem.sentence for problem in state.problems)
        return AnyLog(path, state, journal.events, warnings, True)
    log = read_csv_log(path, overrides)
    return AnyLog(path, log.state, log.events, log.warnings, False)


def _looks_like_journal(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            beginning = file.read(64)
    except (OSError, ValueError):
        return False  # reading it in earnest says why
    return beginning.removeprefix(_BOM).lstrip().startswith(b"{")
