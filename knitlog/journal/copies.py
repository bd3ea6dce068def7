"""Two copies of one journal that have parted, brought back into one.

A folder shared between two machines can leave two files that begin alike and then each hold
rounds the other has not.  Joining appends to one what only the other holds.  Nothing is lost
and nothing is decided for her: where both say something of the same round, needle or fact,
this copy's word stands, the other's is written down as taken back, and the two are given
back as a question.  :func:`~knitlog.journal.actions.restore` answers it for the other copy.
"""

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from knitlog.journal.errors import JournalError
from knitlog.journal.events import (
    Event,
    FixMade,
    NeedleChanged,
    NoteAdded,
    PlaceChanged,
    ProjectChanged,
    ProjectFinished,
    ProjectSetUp,
    Restored,
    RoundLogged,
    RoundsRippedBack,
    SkeinJoined,
    StitchCountChanged,
    TensionChanged,
    Withdrawn,
)
from knitlog.journal.fold import History
from knitlog.journal.library import Library
from knitlog.journal.project import ProjectState
from knitlog.journal.store import JournalFile
from knitlog.typed.text import quoted


@dataclass(frozen=True, slots=True)
class Disagreement:
    """What two copies say differently of one thing, both since they parted."""

    here: Event
    """What this copy says, which stands."""
    there: Event
    """What the other says; in the journal, but taken back."""

    @property
    def round(self) -> int | None:
        """The round it is about, if it is about one."""
        there = _round_of(self.there)
        return _round_of(self.here) if there is None else there


@dataclass(frozen=True, slots=True)
class Joined:
    """What joining two copies did."""

    state: ProjectState
    rounds: tuple[int, ...]
    """Rounds that only the other copy had, ascending."""
    added: int
    """Entries brought over, those taken back among them."""
    disagreements: tuple[Disagreement, ...]


def copies_of(library: Library, journal: JournalFile) -> tuple[Path, ...]:
    """Give the other files of the folder that are copies of this journal, however named.

    Raises:
        JournalError: the folder cannot be read.

    """
    begun = _set_up(journal.events).id
    found = []
    for path in library.paths():
        if path.exists() and path.samefile(journal.path):
            continue
        try:
            other = JournalFile.open(path)
        except JournalError:
            continue  # its own shelf says why
        if _set_up(other.events).id == begun:
            found.append(path)
    return tuple(found)


def join_copy(journal: JournalFile, other: JournalFile) -> Joined:
    """Append to a journal what another copy of it holds and this one has not.

    Every round of both is there once afterwards; joining the same copy again adds nothing.

    Raises:
        JournalError: it is another project, or nothing could be saved.

    """
    moment = journal.clock()
    before: set[int] = set()
    disagreements: list[Disagreement] = []
    added = 0

    def make(state: ProjectState, _: History) -> list[Event]:
        nonlocal added
        before.update(state.by_round)
        disagreements.clear()
        lines = list(_brought(journal.events, other.events, disagreements, moment))
        added = sum(not isinstance(line, Withdrawn | Restored) for line in lines)
        if disagreements:
            lines.append(_remark(disagreements, moment))
        return lines

    state = journal.append_all(make)
    rounds = tuple(sorted(set(state.by_round) - before))
    return Joined(state, rounds, added, tuple(disagreements))


def _brought(
    here: Sequence[Event], there: Sequence[Event], found: list[Disagreement], at: datetime
) -> Iterator[Event]:
    """Give the lines that bring over what only the other copy holds."""
    if _set_up(here).id != _set_up(there).id:
        raise JournalError(
            f"{quoted(_set_up(there).name)} is another project than {quoted(_set_up(here).name)}, "
            "not a copy of it; import it under a name of its own."
        )
    known = {event.id for event in here}
    shared = known & {event.id for event in there}
    ours, theirs = History(here), History(there)
    decided = {e.target for e in here if isinstance(e, Withdrawn | Restored) and e.id not in shared}
    base = History([event for event in there if event.id in shared])
    for line in _undone_there(base, ours, theirs, at):
        if line.target not in decided:
            yield line
    since = [event for _, event in ours.standing if event.id not in shared]
    said = {key: event for event in since for key in _of(event)}
    for _, event in theirs.standing:
        if event.id in known or isinstance(event, Withdrawn | Restored):
            continue
        against = next((said[key] for key in _of(event) if key in said), None)
        against = against or _across_ripping(event, since)
        yield event
        if against is not None:
            yield Withdrawn(at=at, target=event.id)
            if not _same(against, event):
                found.append(Disagreement(against, event))


def _undone_there(
    base: History, ours: History, theirs: History, at: datetime
) -> Iterator[Withdrawn | Restored]:
    """Take back, or bring back, what the other copy did since of what both hold."""
    stood, stand_here, stand_there = (
        {event.id for _, event in history.standing} for history in (base, ours, theirs)
    )
    for event in base.events:
        if event.id in (stood & stand_here) - stand_there:
            yield Withdrawn(at=at, target=event.id)
        elif event.id in stand_there - stood - stand_here:
            yield Restored(at=at, target=event.id)


def _of(event: Event) -> list[Hashable]:
    """Say what an event is about, so that two about the same thing can be told."""
    match event:
        case RoundLogged():
            return [("round", event.round)]
        case NeedleChanged() | StitchCountChanged() | TensionChanged() | PlaceChanged():
            return [(event.kind, event.from_round)]
        case FixMade():
            return [("fix", event.after_round)]
        case SkeinJoined():
            return [("join", event.round)]
        case RoundsRippedBack() | ProjectFinished():
            return [event.kind]
        case ProjectChanged():
            told = event.changes.model_dump(exclude={"cleared"}, exclude_none=True)
            return [("fact", name) for name in (*told, *event.changes.cleared)]
        case _:
            return []


def _across_ripping(event: Event, since: Sequence[Event]) -> Event | None:
    """Find what an event cannot stand beside: rounds on the one side that the other ripped."""
    above = _highest(event)
    for mine in since:
        if isinstance(mine, RoundsRippedBack) and above is not None and above > mine.to_round:
            return mine
        if isinstance(event, RoundsRippedBack) and (_highest(mine) or 0) > event.to_round:
            return mine
    return None


def _highest(event: Event) -> int | None:
    """Give the round an event adds to the work, if it adds one."""
    return None if isinstance(event, NoteAdded | RoundsRippedBack) else _round_of(event)


def _round_of(event: Event) -> int | None:
    """Give the round an event is about, if it is about one."""
    named = (getattr(event, n, None) for n in ("round", "from_round", "after_round", "to_round"))
    return next((number for number in named if isinstance(number, int)), None)


def _same(one: Event, other: Event) -> bool:
    """True where two events say the same, whenever and wherever they were logged."""
    apart = {"id", "at", "schema_version", "imported", "note"}
    return one.model_dump(exclude=apart) == other.model_dump(exclude=apart)


def _remark(found: Sequence[Disagreement], at: datetime) -> NoteAdded:
    rounds = sorted({d.round for d in found if d.round is not None})
    where = f" (round {', '.join(map(str, rounds))})" if rounds else ""
    count = "one thing" if len(found) == 1 else f"{len(found)} things"
    return NoteAdded(
        at=at,
        text=f"Joined with another copy, which said {count} differently{where[:200]}; what was "
        "logged here stands.",
    )


def _set_up(events: Sequence[Event]) -> ProjectSetUp:
    return next(event for event in events if isinstance(event, ProjectSetUp))
