"""What a knitter can do to a journal, one function each.

Each checks what it is given against the project as it is once the lock is held,
appends one event, and returns the new state.  All raise
:class:`~knitlog.journal.errors.JournalError` with one sentence.
"""

from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Any, TypeVar

from pydantic import ValidationError

from knitlog.journal.errors import JournalError, sentence_of
from knitlog.journal.events import (
    Event,
    FixMade,
    NeedleChanged,
    NoteAdded,
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
    Withdrawn,
    now,
)
from knitlog.journal.facts import FactChanges, Frozen
from knitlog.journal.fold import History
from knitlog.journal.project import ProjectState
from knitlog.journal.store import JournalFile

Clock = Callable[[], datetime]
Made = TypeVar("Made", bound=Frozen)


def log_round(
    journal: JournalFile,
    positions: Iterable[Position | float],
    *,
    round_number: int | None = None,
    note: str = "",
    clock: Clock = now,
) -> ProjectState:
    """Log where the colour fell in a round: the next one, or ``round_number``.

    Plain numbers are colour changes 1, 2, ... in order.  A round logged before is
    replaced.
    """
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
        event = _make(RoundLogged, at=clock(), round=number, positions=placed, note=note or None)
        stitches = state.stint_of(number).stitches
        for p in placed:
            if p.stitch > stitches:
                raise JournalError(
                    f"Stitch {p.stitch:g} is beyond the round, which has {stitches}; "
                    f"type a position from 0 to {stitches}."
                )
        return event

    return journal.append(make)


def add_note(
    journal: JournalFile, text: str, *, round_number: int | None = None, clock: Clock = now
) -> ProjectState:
    """Write a note, on a round or on the whole project."""
    return journal.append(
        lambda state, _: _make(NoteAdded, at=clock(), text=text, round=round_number)
    )


def make_fix(
    journal: JournalFile,
    taken_out: float,
    *,
    after_round: int | None = None,
    how: str = "tapestry needle",
    over_stitches: float | None = None,
    minutes: float | None = None,
    note: str = "",
    clock: Clock = now,
) -> ProjectState:
    """Log an offset taken out by hand, in stitches (positive pulls a late change back)."""

    def make(state: ProjectState, _: History) -> Event:
        after = state.last_round if after_round is None else after_round
        if after < 1:
            raise JournalError("Log a round first: a fix comes after a round.")
        return _make(
            FixMade,
            at=clock(),
            after_round=after,
            taken_out=float(taken_out),
            how=how,
            over_stitches=None if over_stitches is None else float(over_stitches),
            minutes=None if minutes is None else float(minutes),
            note=note or None,
        )

    return journal.append(make)


def change_needle(
    journal: JournalFile,
    needle_mm: float,
    *,
    from_round: int | None = None,
    note: str = "",
    clock: Clock = now,
) -> ProjectState:
    """Log another needle, from the next round or from ``from_round`` on."""
    return journal.append(
        lambda state, _: _make(
            NeedleChanged,
            at=clock(),
            from_round=state.next_round if from_round is None else from_round,
            needle_mm=float(needle_mm),
            note=note or None,
        )
    )


def change_stitches(
    journal: JournalFile,
    stitches: int,
    *,
    from_round: int | None = None,
    note: str = "",
    clock: Clock = now,
) -> ProjectState:
    """Log another stitch count, from the next round or from ``from_round`` on."""
    return journal.append(
        lambda state, _: _make(
            StitchCountChanged,
            at=clock(),
            from_round=state.next_round if from_round is None else from_round,
            stitches=stitches,
            note=note or None,
        )
    )


def join_skein(
    journal: JournalFile,
    *,
    round_number: int | None = None,
    stitch: float | None = None,
    note: str = "",
    clock: Clock = now,
) -> ProjectState:
    """Log a new skein, joined in the next round or in ``round_number``."""
    return journal.append(
        lambda state, _: _make(
            SkeinJoined,
            at=clock(),
            round=state.next_round if round_number is None else round_number,
            stitch=None if stitch is None else float(stitch),
            note=note or None,
        )
    )


def rip_back(
    journal: JournalFile, to_round: int, *, note: str = "", clock: Clock = now
) -> ProjectState:
    """Log whole rounds ripped back; ``to_round`` is the last one still on the needles."""

    def make(state: ProjectState, _: History) -> Event:
        event = _make(RoundsRippedBack, at=clock(), to_round=to_round, note=note or None)
        if to_round >= state.last_round:
            raise JournalError(
                f"The last round logged is {state.last_round}; "
                "give a round below it to rip back to."
            )
        return event

    return journal.append(make)


def start_sitting(journal: JournalFile, *, clock: Clock = now) -> ProjectState:
    """Log that a sitting begins."""
    return journal.append(lambda state, _: _make(SittingStarted, at=clock()))


def end_sitting(journal: JournalFile, *, clock: Clock = now) -> ProjectState:
    """Log that the sitting ends."""
    return journal.append(lambda state, _: _make(SittingEnded, at=clock()))


def change_facts(journal: JournalFile, *, clock: Clock = now, **changes: Any) -> ProjectState:
    """Change the project's settings: any field of :class:`FactChanges`.

    ``stitches`` and ``needle_mm`` correct what the project was *begun* with; a change
    made while knitting is :func:`change_stitches` or :func:`change_needle`.
    """
    made = _make(FactChanges, **changes)

    return journal.append(lambda _state, _history: _make(ProjectChanged, at=clock(), changes=made))


def finish(journal: JournalFile, *, note: str = "", clock: Clock = now) -> ProjectState:
    """Log that the project is off the needles."""

    def make(state: ProjectState, _: History) -> Event:
        _still_on_the_needles(state)
        return _make(ProjectFinished, at=clock(), note=note or None)

    return journal.append(make)


def undo(journal: JournalFile, *, clock: Clock = now) -> ProjectState:
    """Take back the last thing logged (what it was: ``undo_label`` beforehand)."""

    def make(_: ProjectState, history: History) -> Event:
        target = history.undo_target
        if target is None:
            raise JournalError("There is nothing to take back.")
        return Withdrawn(at=clock(), target=target.id)

    return journal.append(make)


def redo(journal: JournalFile, *, clock: Clock = now) -> ProjectState:
    """Bring back what was last taken back, unless something was logged since."""

    def make(_: ProjectState, history: History) -> Event:
        target = history.redo_target
        if target is None:
            raise JournalError("There is nothing to bring back.")
        return Restored(at=clock(), target=target.id)

    return journal.append(make)


def withdraw(journal: JournalFile, event_id: str, *, clock: Clock = now) -> ProjectState:
    """Take back one event by its id, however long ago it was logged."""

    def make(_: ProjectState, history: History) -> Event:
        if not history.can_withdraw(event_id):
            raise JournalError("That entry is not there, or was taken back already.")
        return Withdrawn(at=clock(), target=event_id)

    return journal.append(make)


def _still_on_the_needles(state: ProjectState) -> None:
    if state.finished:
        raise JournalError("This project is finished; undo that first to go on logging.")


def _make(model: type[Made], **values: Any) -> Made:
    try:
        return model(**values)
    except ValidationError as error:
        raise JournalError(sentence_of(error)) from None
