"""Folding events into a project's state."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from itertools import takewhile

from knitlog.journal.errors import JournalError
from knitlog.journal.events import (
    UNDOABLE,
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
    SittingEnded,
    SittingStarted,
    SkeinJoined,
    StitchCountChanged,
    TensionChanged,
    Withdrawn,
    describe_step,
    is_one_step,
)
from knitlog.journal.lines import Problem
from knitlog.journal.project import (
    Entry,
    Note,
    ProjectState,
    TensionStint,
    WorkedStint,
)
from knitlog.journal.sittings import Sittings


class SetUpMissingError(JournalError):
    """No event that sets the project up could be read."""

    def __init__(self, sentence: str, damaged: str = "") -> None:
        super().__init__(sentence)
        self.damaged = damaged
        """What stands where it should be, made plain: the facts can often be read off it."""


class History:
    """Which events stand, after all undoing and redoing."""

    def __init__(self, events: Sequence[Event], lines: Sequence[int] | None = None) -> None:
        self.events = events
        """Everything that was logged, what was taken back too."""
        self.problems: list[Problem] = []
        self.standing: list[tuple[int, Event]] = []
        """Line number and event, in the order they were logged."""
        self._withdrawn: set[str] = set()
        self._redo: list[str] = []
        self._known: dict[str, Event] = {}
        unique: list[tuple[int, Event]] = []
        for line, event in zip(lines or range(1, len(events) + 1), events, strict=True):
            if event.id in self._known:
                self.problems.append(
                    Problem(line, f"Line {line} repeats an earlier entry; it is used once.")
                )
                continue
            self._known[event.id] = event
            unique.append((line, event))
            self._follow(line, event)
        self.standing = [(line, e) for line, e in unique if e.id not in self._withdrawn]

    def _follow(self, line: int, event: Event) -> None:
        if isinstance(event, Withdrawn):
            target = self._known.get(event.target)
            if not isinstance(target, UNDOABLE) or event.target in self._withdrawn:
                self._nothing_to(line, "take back")
                return
            self._withdrawn.add(event.target)
            self._redo.append(event.target)
        elif isinstance(event, Restored):
            if event.target not in self._withdrawn:
                self._nothing_to(line, "bring back")
                return
            self._withdrawn.discard(event.target)
            if event.target in self._redo:
                self._redo.remove(event.target)
        elif isinstance(event, UNDOABLE):
            self._redo.clear()

    def _nothing_to(self, line: int, what: str) -> None:
        self.problems.append(
            Problem(line, f"Line {line} would {what} an entry that is not there; it is left out.")
        )

    @property
    def undo_step(self) -> list[Event]:
        """The events undo would withdraw, in the order they were logged: those of one step."""
        last: list[Event] = []
        for _, event in reversed(self.standing):
            if not isinstance(event, UNDOABLE):
                continue
            if last and not is_one_step(event, last[0]):
                break
            last.insert(0, event)
        return last

    @property
    def redo_step(self) -> list[Event]:
        """The events redo would restore, in the order they were logged: those of one step."""
        taken_back = [self._known[event_id] for event_id in reversed(self._redo)]
        return list(
            takewhile(lambda e: e is taken_back[0] or is_one_step(e, taken_back[0]), taken_back)
        )

    def can_restore(self, event_id: str) -> bool:
        """True if there is such an event and it was taken back."""
        return event_id in self._withdrawn


def fold(
    events: Sequence[Event],
    lines: Sequence[int] | None = None,
    *,
    slug: str = "",
    problems: Sequence[Problem] = (),
    read_only: str | None = None,
    history: History | None = None,
) -> ProjectState:
    """Fold events, in the order they were logged, into the state they add up to.

    Raises:
        SetUpMissingError: there is no event that sets the project up.

    """
    past = history or History(events, lines)
    return _Fold(past).state(slug, list(problems), read_only)


class _Fold:
    """One pass over the events that stand."""

    def __init__(self, history: History) -> None:
        self._history = history
        self._set_up: ProjectSetUp | None = None
        self._changes: list[ProjectChanged] = []
        self._entries: dict[int, Entry] = {}
        self._fixes: list[FixMade] = []
        self._notes: list[Note] = []
        self._joins: list[SkeinJoined] = []
        self._needles: dict[int, NeedleChanged] = {}
        self._counts: dict[int, int] = {}
        self._tension: dict[int, TensionStint] = {}
        self._aims: dict[int, float] = {}
        self._homes: dict[int, PlaceChanged] = {}
        self._sittings = Sittings()
        self._finished: datetime | None = None
        self._problems: list[Problem] = list(history.problems)
        self._entry_lines: dict[int, int] = {}

    def state(self, slug: str, problems: list[Problem], read_only: str | None) -> ProjectState:
        standing = self._history.standing
        for line, event in standing:
            self._take(line, event)
        if self._set_up is None:
            raise SetUpMissingError("The entry that sets this project up cannot be read.")
        name, about, facts = self._set_up.name, self._set_up.about, self._set_up.facts
        for change in self._changes:
            name = change.changes.name or name
            about = about if change.changes.about is None else change.changes.about
            facts = change.changes.applied_to(facts)
        if facts.tolerance > facts.stitches:  # everything is in place then, and no more than that
            facts = facts.model_copy(update={"tolerance": float(facts.stitches)})
        stints = self._stints(facts.stitches, facts.needle_mm)
        entries = tuple(self._entries[r] for r in sorted(self._entries))
        found = [*problems, *self._problems, *self._beyond(entries, stints)]
        return ProjectState(
            name=name,
            about=about,
            slug=slug,
            facts=facts,
            set_up_at=self._set_up.at,
            last_at=standing[-1][1].at,
            entries=entries,
            stints=stints,
            fixes=tuple(sorted(self._fixes, key=lambda f: f.after_round)),
            tension=self._tensions(),
            aims=self._aims,
            new_homes=tuple(self._homes[r] for r in sorted(self._homes)),
            notes=tuple(self._notes),
            joins=tuple(self._joins),
            sittings=self._sittings.records(),
            sitting_open=self._sittings.open_by_hand,
            finished_at=self._finished,
            problems=tuple(sorted(found, key=lambda p: p.line)),
            read_only=read_only,
            undo_label=describe_step(self._history.undo_step),
            redo_label=describe_step(self._history.redo_step),
            by_round=self._entries,
        )

    def _take(self, line: int, event: Event) -> None:
        match event:
            case RoundLogged():
                self._round(line, event)
            case ProjectSetUp():
                if self._set_up is None:
                    self._set_up = event
                else:
                    self._problems.append(
                        Problem(line, f"Line {line} sets the project up again; it is left out.")
                    )
            case ProjectChanged():
                self._changes.append(event)
            case NoteAdded():
                self._notes.append(Note(event.text, event.round, event.at, event.id))
            case FixMade():
                self._fixes.append(event)
                self._remark(event.note, event.after_round, event)
            case NeedleChanged():
                self._needles[event.from_round] = event
                self._remark(event.note, event.from_round, event)
            case StitchCountChanged():
                self._counts[event.from_round] = event.stitches
                self._remark(event.note, event.from_round, event)
            case TensionChanged():
                self._asked(event.from_round, event.percent, event.aim_stitch, event)
                self._remark(event.note, event.from_round, event)
            case PlaceChanged():
                self._homes[event.from_round] = event
                self._remark(event.note, event.from_round, event)
            case SkeinJoined():
                self._joins.append(event)
                self._remark(event.note, event.round, event)
            case RoundsRippedBack():
                self._rip_back(event)
            case SittingStarted():
                self._sittings.start(event.at)
            case SittingEnded():
                self._sittings.end(event.at)
            case ProjectFinished():
                self._finished = event.at
                self._remark(event.note, None, event)
            case _:  # withdrawn and restored have done their work in the history
                pass

    def _round(self, line: int, event: RoundLogged) -> None:
        before = self._entries.get(event.round)
        sitting = 0
        if not event.imported:
            sitting = self._sittings.entry(event.at, event.round if before is None else None)
        positions = event.positions
        if len(positions) > 1:
            by_change = {position.change: position for position in positions}
            positions = tuple(by_change[change] for change in sorted(by_change))
        self._entries[event.round] = Entry(
            round=event.round,
            positions=positions,
            at=event.at if before is None else before.at,
            sitting=sitting if before is None else before.sitting,
            event_id=event.id,
            note=event.note or "",
            corrected=before is not None,
        )
        self._asked(event.round, event.tension_percent, event.aim_stitch, event)
        self._entry_lines[event.round] = line
        self._remark(event.note, event.round, event)

    def _asked(
        self,
        first: int,
        percent: float | None,
        aim: float | None,
        event: RoundLogged | TensionChanged,
    ) -> None:
        if percent is not None:
            self._tension[first] = TensionStint(
                first, percent, event.at, event.id, event.note or ""
            )
        if aim is not None:
            self._aims[first] = aim

    def _remark(self, text: str | None, round_number: int | None, event: Event) -> None:
        if text:
            self._notes.append(Note(text, round_number, event.at, event.id))

    def _rip_back(self, event: RoundsRippedBack) -> None:
        last = event.to_round
        self._entries = {r: e for r, e in self._entries.items() if r <= last}
        self._fixes = [f for f in self._fixes if f.after_round <= last]
        self._joins = [j for j in self._joins if j.round <= last]
        self._needles = {r: n for r, n in self._needles.items() if r <= last}
        self._counts = {r: n for r, n in self._counts.items() if r <= last}
        self._tension = {r: t for r, t in self._tension.items() if r <= last}
        self._aims = {r: a for r, a in self._aims.items() if r <= last}
        self._homes = {r: h for r, h in self._homes.items() if r <= last}
        self._remark(event.note, last or None, event)

    def _tensions(self) -> tuple[TensionStint, ...]:
        """Give each change of what is asked; to ask the same again changes nothing."""
        changes: list[TensionStint] = []
        asked = 0.0
        for first in sorted(self._tension):
            tension = self._tension[first]
            if tension.percent != asked:
                asked = tension.percent
                changes.append(tension)
        return tuple(changes)

    def _stints(self, stitches: int, needle_mm: float | None) -> tuple[WorkedStint, ...]:
        stints: list[WorkedStint] = []
        given: str | None = None
        for first in sorted({1, *self._counts, *self._needles}):
            stitches = self._counts.get(first, stitches)
            if changed := self._needles.get(first):
                needle_mm, given = changed.needle_mm, changed.as_given
            then = WorkedStint(first, stitches, needle_mm, given)
            if not stints or replace(stints[-1], first_round=first) != then:
                stints.append(then)
        return tuple(stints)

    def _beyond(self, entries: tuple[Entry, ...], stints: tuple[WorkedStint, ...]) -> list[Problem]:
        """Say which rounds were logged beyond their stitch count."""
        found: list[Problem] = []
        at = 0
        for entry in entries:
            while at + 1 < len(stints) and stints[at + 1].first_round <= entry.round:
                at += 1
            stitches = stints[at].stitches
            for position in entry.positions:
                if position.stitch > stitches:
                    found.append(
                        Problem(
                            self._entry_lines[entry.round],
                            f"Round {entry.round} was logged at stitch {position.stitch:g}, but "
                            f"the round has only {stitches}; log it again to put it right.",
                        )
                    )
        return found
