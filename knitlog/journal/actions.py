"""What a knitter can do to a journal, one function each.

Each checks what it is given against the project as it is once the lock is held,
appends one event, and returns the new state; :func:`together` makes one step of several.
All raise :class:`~knitlog.journal.errors.JournalError` with one sentence.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any, TypeVar

from pydantic import ValidationError

from knitlog.journal.errors import JournalError, sentence_of
from knitlog.journal.events import (
    Event,
    FixMade,
    NeedleChanged,
    NoteAdded,
    PlaceChanged,
    Position,
    ProjectChanged,
    ProjectFinished,
    Restored,
    RoundLogged,
    RoundsRippedBack,
    SittingEnded,
    SittingStarted,
    SkeinJoined,
    StitchCountChanged,
    TensionChanged,
    Withdrawn,
    of_one_step,
)
from knitlog.journal.facts import FactChanges, Frozen, sensible
from knitlog.journal.fold import History
from knitlog.journal.project import ProjectState
from knitlog.journal.store import EventMaker, JournalFile

Made = TypeVar("Made", bound=Frozen)


class Step:
    """A journal that several things are done to, none of them written yet."""

    def __init__(self, journal: JournalFile, state: ProjectState, history: History) -> None:
        self._journal, self._history = journal, history
        self.state = state
        self.events: list[Event] = []

    def clock(self) -> datetime:
        """Give this moment."""
        return self._journal.clock()

    def append(self, what: Event | EventMaker) -> ProjectState:
        """Take one event more."""
        self.events.append(what(self.state, self._history) if callable(what) else what)
        self.state = self._journal.what_if(*self.events)
        return self.state


Doing = Callable[[JournalFile | Step], ProjectState]
"""One of the things below, all but the journal given."""


def log_round(
    journal: JournalFile,
    positions: Iterable[Position | float] | Mapping[int, float],
    *,
    round_number: int | None = None,
    note: str = "",
    tension_percent: float | None = None,
    aim_stitch: float | None = None,
) -> ProjectState:
    """Log where the colour fell in a round: the next one, or ``round_number``.

    Plain numbers are colour changes 1, 2, ... in order; a mapping gives each its number.
    A round logged before is replaced.  What was asked of the hand in it, and where the
    colour was to be let fall, are kept with it where they are given.
    """
    if isinstance(positions, Mapping):
        positions = [_make(Position, stitch=float(s), change=c) for c, s in positions.items()]
    given = tuple(positions)

    def make(state: ProjectState, _: History) -> Event:
        _still_on_the_needles(state)
        number = state.next_round if round_number is None else round_number
        placed = tuple(
            p if isinstance(p, Position) else _make(Position, stitch=float(p), change=c)
            for c, p in enumerate(given, start=1)
        )
        if len({p.change for p in placed}) < len(placed):
            raise JournalError("Each colour change can be logged only once a round.")
        event = _make(
            RoundLogged,
            at=journal.clock(),
            round=number,
            positions=placed,
            note=note or None,
            tension_percent=tension_percent,
            aim_stitch=aim_stitch,
        )
        stitches = state.stint_of(number).stitches
        for p in placed:
            if p.stitch > stitches:
                raise JournalError(
                    f"Stitch {p.stitch:g} is beyond the round, which has {stitches}; "
                    f"type a position from 0 to {stitches}."
                )
        return event

    return journal.append(make)


def add_note(journal: JournalFile, text: str, *, round_number: int | None = None) -> ProjectState:
    """Write a note, on a round or on the whole project."""
    return _append(journal, NoteAdded, text=text, round=round_number)


def make_fix(
    journal: JournalFile | Step,
    taken_out: float,
    *,
    after_round: int | None = None,
    how: str = "tapestry needle",
    over_stitches: float | None = None,
    minutes: float | None = None,
    note: str = "",
) -> ProjectState:
    """Log an offset taken out by hand, in stitches (positive pulls a late change back)."""

    def make(state: ProjectState, _: History) -> Event:
        after = state.last_round if after_round is None else after_round
        if after < 1:
            raise JournalError("Log a round first: a fix comes after a round.")
        return _make(
            FixMade,
            at=journal.clock(),
            after_round=after,
            taken_out=float(taken_out),
            how=how,
            over_stitches=None if over_stitches is None else float(over_stitches),
            minutes=None if minutes is None else float(minutes),
            note=note or None,
        )

    return journal.append(make)


def change_needle(
    journal: JournalFile | Step,
    needle_mm: float,
    *,
    from_round: int | None = None,
    as_given: str | None = None,
    note: str = "",
) -> ProjectState:
    """Log another needle, from the next round or from ``from_round`` on.

    ``as_given`` is what she typed for it, as US 8.
    """
    return _append(
        journal,
        NeedleChanged,
        "from_round",
        from_round=from_round,
        needle_mm=float(needle_mm),
        as_given=as_given,
        note=note or None,
    )


def change_stitches(
    journal: JournalFile | Step,
    stitches: int,
    *,
    from_round: int | None = None,
    note: str = "",
) -> ProjectState:
    """Log another stitch count, from the next round or from ``from_round`` on."""
    return _append(
        journal,
        StitchCountChanged,
        "from_round",
        from_round=from_round,
        stitches=stitches,
        note=note or None,
    )


def ask_tension(
    journal: JournalFile | Step,
    percent: float,
    *,
    from_round: int | None = None,
    aim_stitch: float | None = None,
    note: str = "",
) -> ProjectState:
    """Log what is asked of the hand from the next round or from ``from_round`` on.

    ``percent`` is yarn a stitch against her usual: above 0 is looser, 0 as usual again.
    ``aim_stitch`` is where to let the colour fall in that round.
    """
    return _append(
        journal,
        TensionChanged,
        "from_round",
        from_round=from_round,
        percent=float(percent),
        aim_stitch=aim_stitch,
        note=note or None,
    )


def take_new_home(
    journal: JournalFile | Step,
    *,
    from_round: int | None = None,
    stitch: float | None = None,
    note: str = "",
) -> ProjectState:
    """Log that the colours are let stack where they are, from some round on.

    Where the colour falls in the last round logged, or in ``from_round``, is its place from
    that round on; ``stitch`` says the place itself.
    """
    if from_round is None and not journal.state.last_round:
        raise JournalError("Log a round first: the colours are let stack where they fell.")
    return _append(
        journal,
        PlaceChanged,
        from_round=journal.state.last_round if from_round is None else from_round,
        stitch=stitch,
        note=note or None,
    )


def join_skein(
    journal: JournalFile,
    *,
    round_number: int | None = None,
    stitch: float | None = None,
    note: str = "",
) -> ProjectState:
    """Log a new skein, joined in the next round or in ``round_number``."""
    return _append(
        journal, SkeinJoined, "round", round=round_number, stitch=stitch, note=note or None
    )


def rip_back(journal: JournalFile | Step, to_round: int, *, note: str = "") -> ProjectState:
    """Log whole rounds ripped back; ``to_round`` is the last one still on the needles."""

    def make(state: ProjectState, _: History) -> Event:
        event = _make(RoundsRippedBack, at=journal.clock(), to_round=to_round, note=note or None)
        if to_round >= state.last_round:
            raise JournalError(
                f"The last round logged is {state.last_round}; "
                "give a round below it to rip back to."
            )
        return event

    return journal.append(make)


def start_sitting(journal: JournalFile) -> ProjectState:
    """Log that a sitting begins."""
    return _append(journal, SittingStarted)


def end_sitting(journal: JournalFile) -> ProjectState:
    """Log that the sitting ends."""
    return _append(journal, SittingEnded)


def change_facts(journal: JournalFile, **changes: Any) -> ProjectState:
    """Change the project's settings: any field of :class:`FactChanges`.

    ``stitches`` and ``needle_mm`` correct what the project was *begun* with; a change
    made while knitting is :func:`change_stitches` or :func:`change_needle`.
    """
    made = _make(FactChanges, **changes)

    def make(state: ProjectState, _: History) -> Event:
        if made.tolerance is not None or made.stitches is not None:
            sensible(made.applied_to(state.facts))
        return _make(ProjectChanged, at=journal.clock(), changes=made)

    return journal.append(make)


def finish(journal: JournalFile, *, note: str = "") -> ProjectState:
    """Log that the project is off the needles."""

    def make(state: ProjectState, _: History) -> Event:
        _still_on_the_needles(state)
        return _make(ProjectFinished, at=journal.clock(), note=note or None)

    return journal.append(make)


def together(journal: JournalFile, doings: Sequence[Doing]) -> ProjectState:
    """Do several of the things below as one step: written at once, taken back at once.

    Where one of them cannot be done, none is.
    """

    def make(state: ProjectState, history: History) -> Sequence[Event]:
        step = Step(journal, state, history)
        for doing in doings:
            doing(step)
        return of_one_step(step.events)

    return journal.append_all(make)


def undo(journal: JournalFile) -> ProjectState:
    """Take back the last step logged (what it was: ``undo_label`` beforehand)."""

    def make(_: ProjectState, history: History) -> Sequence[Event]:
        if not history.undo_step:
            raise JournalError("There is nothing to take back.")
        return [Withdrawn(at=journal.clock(), target=e.id) for e in reversed(history.undo_step)]

    return journal.append_all(make)


def redo(journal: JournalFile) -> ProjectState:
    """Bring back what was last taken back, unless something was logged since."""

    def make(_: ProjectState, history: History) -> Sequence[Event]:
        if not history.redo_step:
            raise JournalError("There is nothing to bring back.")
        return [Restored(at=journal.clock(), target=event.id) for event in history.redo_step]

    return journal.append_all(make)


def restore(journal: JournalFile, event_id: str) -> ProjectState:
    """Bring back one event that was taken back, by its id, however long ago."""

    def make(_: ProjectState, history: History) -> Event:
        if not history.can_restore(event_id):
            raise JournalError("That entry is not there, or was not taken back.")
        return Restored(at=journal.clock(), target=event_id)

    return journal.append(make)


def _append(
    journal: JournalFile | Step, model: type[Made], field: str = "", **values: Any
) -> ProjectState:
    """Append one event; where the round in ``field`` was not named, it is the next."""

    def make(state: ProjectState, _: History) -> Made:
        if field and values[field] is None:
            return _make(model, at=journal.clock(), **{**values, field: state.next_round})
        return _make(model, at=journal.clock(), **values)

    return journal.append(make)  # type: ignore[arg-type]  # every model given is an event


def _still_on_the_needles(state: ProjectState) -> None:
    if state.finished:
        raise JournalError("This project is finished; undo that first to go on logging.")


def _make(model: type[Made], **values: Any) -> Made:
    try:
        return model(**values)
    except ValidationError as error:
        raise JournalError(sentence_of(error)) from None
