"""The journal: events, the append-only file, and CSV in and out.

See ``README.md`` beside this file for the signatures in one place.  A name is only
looked up in its module when it is asked for: logging a round must not wait for what
reads a spreadsheet.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from knitlog.journal.actions import (
        add_note,
        change_facts,
        change_needle,
        change_stitches,
        end_sitting,
        finish,
        join_skein,
        log_round,
        make_fix,
        redo,
        rip_back,
        start_sitting,
        undo,
        withdraw,
    )
    from knitlog.journal.csvlog import CsvLog, read_csv_log
    from knitlog.journal.csvout import to_csv, write_csv
    from knitlog.journal.entry import EntryError, parse_entry
    from knitlog.journal.errors import (
        JournalError,
        JournalMissingError,
        JournalReadOnlyError,
        NotSavedError,
    )
    from knitlog.journal.events import Event, Position, ProjectSetUp
    from knitlog.journal.factkeys import FACT_KEYS, parse_fact, parse_facts
    from knitlog.journal.facts import ColourPart, ProjectFacts, make_facts
    from knitlog.journal.library import Library, Shelf, default_folder
    from knitlog.journal.lines import Problem
    from knitlog.journal.names import slug_of
    from knitlog.journal.project import Entry, ProjectState, to_drift_log
    from knitlog.journal.sources import AnyLog, read_any
    from knitlog.journal.store import SUFFIX, JournalFile
    from knitlog.journal.text import plain_text, quoted

_MODULES: dict[str, tuple[str, ...]] = {
    "actions": (
        "add_note",
        "change_facts",
        "change_needle",
        "change_stitches",
        "end_sitting",
        "finish",
        "join_skein",
        "log_round",
        "make_fix",
        "redo",
        "rip_back",
        "start_sitting",
        "undo",
        "withdraw",
    ),
    "csvlog": ("CsvLog", "read_csv_log"),
    "csvout": ("to_csv", "write_csv"),
    "entry": ("EntryError", "parse_entry"),
    "errors": ("JournalError", "JournalMissingError", "JournalReadOnlyError", "NotSavedError"),
    "events": ("Event", "Position", "ProjectSetUp"),
    "factkeys": ("FACT_KEYS", "parse_fact", "parse_facts"),
    "facts": ("ColourPart", "ProjectFacts", "make_facts"),
    "library": ("Library", "Shelf", "default_folder"),
    "lines": ("Problem",),
    "names": ("slug_of",),
    "project": ("Entry", "ProjectState", "to_drift_log"),
    "sources": ("AnyLog", "read_any"),
    "store": ("SUFFIX", "JournalFile"),
    "text": ("plain_text", "quoted"),
}
_MODULE_OF = {name: module for module, names in _MODULES.items() for name in names}

__all__ = [
    "FACT_KEYS",
    "SUFFIX",
    "AnyLog",
    "ColourPart",
    "CsvLog",
    "Entry",
    "EntryError",
    "Event",
    "JournalError",
    "JournalFile",
    "JournalMissingError",
    "JournalReadOnlyError",
    "Library",
    "NotSavedError",
    "Position",
    "Problem",
    "ProjectFacts",
    "ProjectSetUp",
    "ProjectState",
    "Shelf",
    "add_note",
    "change_facts",
    "change_needle",
    "change_stitches",
    "default_folder",
    "end_sitting",
    "finish",
    "join_skein",
    "log_round",
    "make_facts",
    "make_fix",
    "parse_entry",
    "parse_fact",
    "parse_facts",
    "plain_text",
    "quoted",
    "read_any",
    "read_csv_log",
    "redo",
    "rip_back",
    "slug_of",
    "start_sitting",
    "to_csv",
    "to_drift_log",
    "undo",
    "withdraw",
    "write_csv",
]


def __getattr__(name: str) -> Any:
    """Fetch a public name from its module (PEP 562)."""
    if name not in _MODULE_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_MODULE_OF[name]}"), name)
    globals()[name] = value
    return value
