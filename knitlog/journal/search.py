"""Finding a word in what the knitter wrote."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from knitlog.journal.errors import JournalError
from knitlog.journal.project import ProjectState


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
