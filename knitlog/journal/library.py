"""The folder where the projects live, what their files are called, and finding words in them."""

import os
import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TypeVar

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
from knitlog.journal.project import ProjectState
from knitlog.journal.store import SUFFIX, JournalFile
from knitlog.typed.text import plain_text, quoted

Named = TypeVar("Named")
FOLDER_VARIABLE = "KNITLOG_FOLDER"


_RESERVED = {"con", "prn", "aux", "nul", *(f"{d}{n}" for d in ("com", "lpt") for n in range(10))}
"""Names some systems keep for devices, whatever their suffix."""
_MAX_BYTES = 80


def slug_of(name: str) -> str:
    """Give a file name, without suffix, for a project's name.

    Letters and digits of any script stay, in lower case; everything else becomes a
    hyphen, so that no name can climb out of its folder.

    >>> slug_of("../Hut shawl, no. 2")
    'hut-shawl-no-2'
    """
    folded = unicodedata.normalize("NFC", unicodedata.normalize("NFKC", name).casefold())
    slug = re.sub(r"[\W_]+", "-", folded).strip("-")
    while len(slug.encode()) > _MAX_BYTES:
        slug = slug[:-1].rstrip("-")
    if not slug:
        return "project"
    return f"{slug}-project" if slug in _RESERVED else slug


def called(named: Iterable[tuple[str, Named]], wanted: str) -> list[Named]:
    """Give what goes by a name: by the whole of it, else its beginning, else any other part.

    >>> called([("red-hat", 1), ("blue-hat", 2)], "red"), called([("red-hat", 1)], "cap")
    ([1], [])
    """
    known = list(named)
    for fits in (str.__eq__, str.startswith, str.__contains__):
        if found := [one for name, one in known if fits(name, wanted)]:
            return found
    return []


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
        """Look in ``folder``, or in :func:`default_folder`; it need not exist yet.

        Raises:
            JournalError: no folder can be called that.

        """
        self.folder = default_folder() if folder is None else Path(folder)
        try:
            os.fsencode(self.folder)
        except ValueError:  # half a character, which no system has in a name
            raise JournalError(
                f"{quoted(str(folder), 200)} cannot be the name of a folder; choose another."
            ) from None

    def projects(self) -> tuple[Shelf, ...]:
        """Open every project, latest first; one that cannot be opened says why.

        Raises:
            JournalError: the folder cannot be read.

        """
        shelves = [_shelf(path) for path in self.paths()]
        return tuple(sorted(shelves, key=_latest_first))

    def create(
        self,
        name: str,
        facts: ProjectFacts,
        *,
        about: str = "",
        clock: Callable[[], datetime] = now,
    ) -> JournalFile:
        """Set up a project; ``clock`` tells the moments of this and of what is logged next.

        Raises:
            JournalError: the name is taken or empty, or the folder cannot be written.

        """
        journal = self.adopt((_set_up(clock(), name, about, facts),))
        journal.clock = clock
        return journal

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
        """Open a project by its name, or by any part of it that no other has.

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
    ) -> JournalFile:
        """Set a project up again whose set-up line is damaged; its rounds are used once more.

        It is called as its file is, unless ``new_name`` says otherwise.

        Raises:
            JournalError: there is no such project, it needs no mending, or it cannot be written.

        """
        path = self.find(name)
        called = path.name.removesuffix(SUFFIX) if new_name is None else new_name
        return JournalFile.mend(path, _set_up(now(), called, about, facts))

    def find(self, name: str) -> Path:
        """Give the file of a project, by its name, a beginning of it or any other part.

        Raises:
            JournalError: there is no such project, or more than one.

        """
        wanted = slug_of(name)
        paths = {path.name.removesuffix(SUFFIX): path for path in self.paths()}
        if wanted in paths:
            return paths[wanted]
        renamed = [s.path for s in map(_shelf, paths.values()) if slug_of(s.name) == wanted]
        found = renamed or called(paths.items(), wanted)
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

        parts = {part: slug for slug in paths for part in (slug, *slug.split("-"))}
        near = difflib.get_close_matches(wanted, parts, n=1)
        hint = (
            f"did you mean {plain_text(parts[near[0]])}?"
            if near
            else "list the projects to see them."
        )
        raise JournalMissingError(f"There is no project {quoted(name)}; {hint}")

    def paths(self) -> list[Path]:
        """Give the files of all projects, by name.

        Raises:
            JournalError: the folder cannot be read.

        """
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


@dataclass(frozen=True, slots=True)
class Hit:
    """One place where every word was found."""

    slug: str
    project: str
    """Name of the project."""
    where: str
    """As in 'round 12', 'note', 'about'."""
    text: str
    """What she wrote there, on one line."""
    at: datetime


def search(states: Iterable[ProjectState], text: str) -> tuple[Hit, ...]:
    """Find ``text`` in names, descriptions, notes and fixes; case does not count.

    Several words must all be there, in any order.  Projects in the order given, what was
    written first comes first.

    Raises:
        JournalError: there is nothing to look for.

    """
    words = text.casefold().split()
    if not words:
        raise JournalError("Type a word to look for, as in storm.")
    return tuple(
        hit
        for state in states
        for hit in _places(state)
        if all(word in hit.text.casefold() for word in words)
    )


def _places(state: ProjectState) -> Iterator[Hit]:
    def hit(where: str, text: str, at: datetime) -> Hit:
        return Hit(state.slug, state.name, where, " ".join(text.split()), at)

    yield hit("name", state.name, state.set_up_at)
    if state.about:
        yield hit("about", state.about, state.set_up_at)
    for note in sorted(state.notes, key=lambda n: n.at):  # those of fixes and rounds among them
        yield hit("note" if note.round is None else f"round {note.round}", note.text, note.at)
