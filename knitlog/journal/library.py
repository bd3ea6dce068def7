"""The folder where the projects live."""

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from pydantic import ValidationError

from knitlog.journal.disk import make_folder
from knitlog.journal.errors import (
    JournalError,
    JournalExistsError,
    JournalMissingError,
    sentence_of,
)
from knitlog.journal.events import Event, ProjectSetUp, now
from knitlog.journal.facts import ProjectFacts
from knitlog.journal.names import slug_of
from knitlog.journal.project import ProjectState
from knitlog.journal.store import SUFFIX, JournalFile
from knitlog.journal.text import plain_text, quoted

FOLDER_VARIABLE = "KNITLOG_FOLDER"


@dataclass(frozen=True, slots=True)
class Shelf:
    """One project of the library, as listed."""

    slug: str
    """Name of its file, without the suffix."""
    name: str
    """Its name, plain; the slug if it cannot be read."""
    path: Path
    state: ProjectState | None
    """None if the file cannot be opened."""
    trouble: str | None
    """Why it cannot be opened, in one sentence."""


def default_folder() -> Path:
    """Give the folder of the environment, or else the platform's place for user data."""
    named = os.environ.get(FOLDER_VARIABLE)
    if named:
        return Path(named).expanduser()
    from platformdirs import user_data_path

    return user_data_path("knitlog", appauthor=False)


class Library:
    """All projects of a folder."""

    def __init__(self, folder: str | Path | None = None) -> None:
        """Look in ``folder``, or in :func:`default_folder`; it need not exist yet."""
        self.folder = default_folder() if folder is None else Path(folder)

    def projects(self) -> tuple[Shelf, ...]:
        """Open every project, latest first; one that cannot be opened says why.

        Raises:
            JournalError: the folder cannot be read.

        """
        shelves = [_shelf(path) for path in self._paths()]
        return tuple(sorted(shelves, key=_latest_first))

    def create(
        self,
        name: str,
        facts: ProjectFacts,
        *,
        about: str = "",
        clock: Callable[[], datetime] = now,
    ) -> JournalFile:
        """Set up a project.

        Raises:
            JournalError: the name is taken or empty, or the folder cannot be written.

        """
        return self.adopt((_set_up(clock(), name, about, facts),))

    def adopt(self, events: Sequence[Event], *, name: str | None = None) -> JournalFile:
        """Set up a project that already has a history, as read from a CSV log.

        ``events`` begin with the set-up; ``name`` comes before the name in it.

        Raises:
            JournalError: the name is taken or empty, or the folder cannot be written.

        """
        set_up = events[0]
        if not isinstance(set_up, ProjectSetUp):
            raise JournalError("A project begins by being set up.")
        if name is not None:
            set_up = _set_up(set_up.at, name, set_up.about, set_up.facts)
        path = self.folder / f"{slug_of(set_up.name)}{SUFFIX}"
        make_folder(self.folder)
        try:
            return JournalFile.create(path, (set_up, *events[1:]))
        except JournalExistsError:
            raise JournalExistsError(
                f"There is already a project {quoted(set_up.name, 80)}; choose another name."
            ) from None

    def open(self, name: str) -> JournalFile:
        """Open a project by its name, or by enough of its beginning to be the only one.

        Raises:
            JournalError: there is no such project, or more than one, or it cannot be opened.

        """
        return JournalFile.open(self.find(name))

    def mend(
        self,
        name: str,
        facts: ProjectFacts,
        *,
        new_name: str | None = None,
        about: str = "",
        clock: Callable[[], datetime] = now,
    ) -> JournalFile:
        """Set a project up again whose set-up line is damaged; its rounds are used once more.

        It is called as its file is, unless ``new_name`` says otherwise.

        Raises:
            JournalError: there is no such project, it needs no mending, or it cannot be written.

        """
        path = self.find(name)
        called = path.name.removesuffix(SUFFIX) if new_name is None else new_name
        return JournalFile.mend(path, _set_up(clock(), called, about, facts))

    def find(self, name: str) -> Path:
        """Give the file of a project, by its name or a beginning of it.

        Raises:
            JournalError: there is no such project, or more than one.

        """
        wanted = slug_of(name)
        paths = {path.name.removesuffix(SUFFIX): path for path in self._paths()}
        if wanted in paths:
            return paths[wanted]
        renamed = [s.path for s in map(_shelf, paths.values()) if slug_of(s.name) == wanted]
        begun = [path for slug, path in paths.items() if slug.startswith(wanted)]
        for found in (renamed, begun):
            if len(found) == 1:
                return found[0]
            if found:
                names = ", ".join(sorted(plain_text(p.name.removesuffix(SUFFIX)) for p in found))
                raise JournalError(f"{quoted(name)} could be {names}; type more of the name.")
        if not paths:
            raise JournalMissingError(
                f"There is no project {quoted(name)}: there are no projects yet in "
                f"{quoted(str(self.folder), 200)}."
            )
        import difflib

        near = difflib.get_close_matches(wanted, paths, n=1)
        hint = f"did you mean {plain_text(near[0])}?" if near else "list the projects to see them."
        raise JournalMissingError(f"There is no project {quoted(name)}; {hint}")

    def _paths(self) -> list[Path]:
        try:
            return sorted(
                path
                for path in self.folder.iterdir()
                if path.name.endswith(SUFFIX) and not path.name.startswith(".")
            )
        except (FileNotFoundError, NotADirectoryError):
            return []
        except OSError as error:
            raise JournalError(
                f"The folder {quoted(str(self.folder), 200)} cannot be read "
                f"({(error.strerror or 'no reason given').lower()})."
            ) from None


def _set_up(at: datetime, name: str, about: str, facts: ProjectFacts) -> ProjectSetUp:
    try:
        return ProjectSetUp(at=at, name=name, about=about, facts=facts)
    except ValidationError as error:
        raise JournalError(sentence_of(error)) from None


def _shelf(path: Path) -> Shelf:
    slug = path.name.removesuffix(SUFFIX)
    try:
        state = JournalFile.open(path).state
    except JournalError as error:
        return Shelf(slug, plain_text(slug), path, None, str(error))
    return Shelf(slug, state.name, path, state, None)


def _latest_first(shelf: Shelf) -> tuple[float, str]:
    at = shelf.state.last_at.timestamp() if shelf.state else 0.0
    return (-at, shelf.slug)
