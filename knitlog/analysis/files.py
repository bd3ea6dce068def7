"""Journals and CSV logs from anywhere, as projects."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from knitlog.journal.csvlog import looks_like_journal, read_any, read_csv_log, told_besides
from knitlog.journal.fold import fold
from knitlog.journal.lines import Problem, decode
from knitlog.journal.store import JournalFile

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from knitlog.journal.library import Library
    from knitlog.journal.project import ProjectState


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
    return _with_problems(read.state, read.warnings)


def read_log_text(text: str, facts: Mapping[str, str] | None = None) -> ProjectState:
    """Read the text of a journal or a CSV log as a project's state; as :func:`read_log_file`.

    Raises:
        JournalError: the text is no log; one plain sentence.
    """
    data = text.encode("utf-8", errors="surrogatepass")
    if not text.lstrip("\ufeff \t\r\n").startswith("{"):
        log = read_csv_log(data, facts)
        return _with_problems(log.state, log.warnings)
    decoded = decode(data)
    events, lines = decoded.events, decoded.lines
    if facts:
        changed = told_besides(fold(events, lines), facts)
        events, lines = (*events, changed), (*lines, 0)
    return fold(events, lines, problems=decoded.problems)


def _with_problems(state: ProjectState, sentences: tuple[str, ...]) -> ProjectState:
    """What was left out of a CSV log, among the state's problems."""
    left_out = (Problem(0, sentence) for sentence in sentences)
    return replace(state, problems=(*state.problems, *left_out))


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
    return library.adopt(read_any(path, facts).events, name=name)


def project_of_copy(library: Library, path: Path) -> JournalFile | None:
    """Return the project of ``library`` that a journal elsewhere is a copy of, if it is one.

    Raises:
        JournalError: the file or the folder cannot be read.
    """
    from knitlog.journal.copies import copies_of

    if path.resolve().parent == library.folder.resolve() or not looks_like_journal(path):
        return None
    found = copies_of(library, JournalFile.open(path))
    return JournalFile.open(found[0]) if found else None
