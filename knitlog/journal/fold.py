"""Folding events into a project's state."""

from collections.abc import Sequence
from datetime import datetime

from knitlog.journal.errors import JournalError
from knitlog.journal.events import (
    UNDOABLE,
    Event,
    FixMade,
    NeedleChanged,
    NoteAdded,
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
    Withdrawn,
    describe,
)
from knitlog.journal.lines import Problem
from knitlog.journal.project import (
    Entry,
    FixRecord,
    JoinRecord,
    NoteRecord,
    ProjectState,
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

    def __init__(self, events: Sequence[Event], lines: Sequence[int]) -> None:
        self.problems: list[Problem] = []
        self.standing: list[tuple[int, Event]] = []
        """Line number and event, in the order they were logged."""
        self._withdrawn: set[str] = set()
        self._redo: list[str] = []
        self._known: dict[str, Event] = {}
        unique: list[tuple[int, Event]] = []
        for line, event in zip(lines, events, strict=True):
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
    def undo_target(self) -> Event | None:
        """The event undo would withdraw."""
        for _, event in reversed(self.standing):
            if isinstance(event, UNDOABLE):
                return event
        return None

    @property
    def redo_target(self) -> Event | None:
        """The event redo would restore."""
        return self._known[self._redo[-1]] if self._redo else None

    def can_withdraw(self, event_id: str) -> bool:
        """True if there is such an event, it stands, and it may be withdrawn."""
        return event_id not in self._withdrawn and isinstance(self._known.get(event_id), UNDOABLE)


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
    past = history or History(events, lines or range(1, len(events) + 1))
    return _Fold(past).state(slug, list(problems), read_only)


class _Fold:
    """One pass over the events that stand."""

    def __init__(self, history: History) -> None:
        self._history = history
        self._set_up: ProjectSetUp | None = None
        self._changes: list[ProjectChanged] = []
        self._entries: dict[int, Entry] = {}
        self._fixes: list[FixRecord] = []
        self._notes: list[NoteRecord] = []
        self._joins: list[JoinRecord] = []
        self._needles: dict[int, float] = {}
        self._counts: dict[int, int] = {}
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
        stints = self._stints(facts.stitches, facts.needle_mm)
        entries = tuple(self._entries[r] for r in sorted(self._entries))
        found = [*problems, *self._problems, *self._beyond(entries, stints)]
        undo, redo = self._history.undo_target, self._history.redo_target
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
            notes=tuple(self._notes),
            joins=tuple(self._joins),
            sittings=self._sittings.records(),
            finished_at=self._finished,
            problems=tuple(sorted(found, key=lambda p: p.line)),
            read_only=read_only,
            undo_label=None if undo is None else describe(undo),
            redo_label=None if redo is None else describe(redo),
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
                self._notes.append(NoteRecord(event.text, event.round, event.at, event.id))
            case FixMade():
                self._fix(event)
            case NeedleChanged():
                self._needles[event.from_round] = event.needle_mm
                self._remark(event.note, event.from_round, event)
            case StitchCountChanged():
                self._counts[event.from_round] = event.stitches
                self._remark(event.note, event.from_round, event)
            case SkeinJoined():
                self._joins.append(
                    JoinRecord(event.round, event.stitch, event.at, event.id, event.note or "")
                )
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
        self._entry_lines[event.round] = line
        self._remark(event.note, event.round, event)

    def _fix(self, event: FixMade) -> None:
        self._fixes.append(
            FixRecord(
                after_round=event.after_round,
                taken_out=event.taken_out,
                how=event.how,
                over_stitches=event.over_stitches,
                minutes=event.minutes,
                at=event.at,
                event_id=event.id,
                note=event.note or "",
            )
        )
        self._remark(event.note, event.after_round, event)

    def _remark(self, text: str | None, round_number: int | None, event: Event) -> None:
        if text:
            self._notes.append(NoteRecord(text, round_number, event.at, event.id))

    def _rip_back(self, event: RoundsRippedBack) -> None:
        last = event.to_round
        self._entries = {r: e for r, e in self._entries.items() if r <= last}
        self._fixes = [f for f in self._fixes if f.after_round <= last]
        self._joins = [j for j in self._joins if j.round <= last]
        self._needles = {r: n for r, n in self._needles.items() if r <= last}
        self._counts = {r: n for r, n in self._counts.items() if r <= last}
        self._remark(event.note, last or None, event)

    def _stints(self, stitches: int, needle_mm: float | None) -> tuple[WorkedStint, ...]:
        stints = [WorkedStint(1, self._counts.get(1, stitches), self._needles.get(1, needle_mm))]
        for first in sorted({*self._counts, *self._needles} - {1}):
            now = stints[-1]
            then = WorkedStint(
                first,
                self._counts.get(first, now.stitches),
                self._needles.get(first, now.needle_mm),
            )
            if (then.stitches, then.needle_mm) != (now.stitches, now.needle_mm):
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
