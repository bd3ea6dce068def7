"""The events a journal is made of, one a line.

A journal never changes what it holds: a correction, an undo, a finished project
are all new events.  Each carries the lowest schema that can take what it tells, so
that a later version can read it for ever and an earlier one reads all it can, and an
id, so that it can be withdrawn by name.
"""

import uuid
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Annotated, Literal, get_args

from pydantic import AwareDatetime, ConfigDict, Field, TypeAdapter

from knitlog.journal.facts import (
    ChangeNumber,
    FactChanges,
    Frozen,
    LongText,
    Name,
    Needle,
    ProjectFacts,
    RoundNumber,
    ShortText,
    SomeText,
    Stitches,
    StitchPosition,
    Tension,
    Word,
    tells_later,
)
from knitlog.typed.measures import Units

SCHEMA = 2
"""The newest schema this version writes.  Raise it for any change an older reader cannot take."""

EventId = Annotated[str, Field(pattern=r"^[0-9a-f]{32}$")]
Moment = Annotated[
    AwareDatetime,
    Field(ge=datetime(1970, 1, 2, tzinfo=UTC), le=datetime(9000, 1, 1, tzinfo=UTC)),
]


def now() -> datetime:
    """Give this moment, to the second, with the local offset from UTC."""
    return datetime.now(UTC).astimezone().replace(microsecond=0)


class _Logged(Frozen):
    """What every event carries."""

    schema_version: Literal[1, 2] = Field(default=1, alias="schema")
    id: EventId = Field(default_factory=lambda: uuid.uuid4().hex)
    at: Moment = Field(default_factory=now)
    """When it was logged, with its offset from UTC."""


class Position(Frozen):
    """Where one colour change fell."""

    stitch: StitchPosition
    """Position, 0 to the stitch count; halves allowed."""
    change: ChangeNumber = 1
    """Which colour change of the round, from 1."""
    period_shift: Annotated[int, Field(ge=-1000, le=1000)] | None = None
    """Which repeat of the colour run she says she read, where two were plausible."""


class ProjectSetUp(_Logged):
    """A project begins."""

    kind: Literal["project set up"] = "project set up"
    name: Name
    about: LongText = ""
    """What it is, in the knitter's words."""
    facts: ProjectFacts


class ProjectChanged(_Logged):
    """The settings of a project change; stints are changed by their own events."""

    kind: Literal["project changed"] = "project changed"
    changes: FactChanges


class RoundLogged(_Logged):
    """Where the colour fell in one round; a later event for the same round replaces it."""

    kind: Literal["round logged"] = "round logged"
    round: RoundNumber
    positions: Annotated[tuple[Position, ...], Field(min_length=1, max_length=24)]
    """Each colour change once; should one be there twice, the later counts."""
    note: LongText | None = None
    imported: Literal[True] | None = None
    """Set where the round came from a file without times: ``at`` is not when it was knitted."""
    tension_percent: Tension | None = None
    """What was asked of the hand in this round, where it was asked for it by itself; as in
    :class:`TensionChanged`, from this round on."""
    aim_stitch: StitchPosition | None = None
    """Where she meant to let the colour fall in this round, if she was aiming."""


class NoteAdded(_Logged):
    """A note, on a round or on the whole project."""

    kind: Literal["note"] = "note"
    text: SomeText
    round: RoundNumber | None = None


class FixMade(_Logged):
    """An offset taken out by hand."""

    kind: Literal["fix made"] = "fix made"
    after_round: RoundNumber
    """The last round read before the fix; the next one feels it."""
    taken_out: Annotated[float, Field(ge=-10_000, le=10_000)]
    """Stitches of offset taken out; positive pulls a late colour change back."""
    how: ShortText = "tapestry needle"
    over_stitches: Annotated[float, Field(gt=0, le=10_000)] | None = None
    """Stitches it was spread over, if noted."""
    minutes: Annotated[float, Field(ge=0, le=10_000)] | None = None
    """How long it took, if noted."""
    note: LongText | None = None


class NeedleChanged(_Logged):
    """Another needle from some round on."""

    kind: Literal["needle changed"] = "needle changed"
    from_round: RoundNumber
    needle_mm: Needle
    as_given: Word | None = None
    """The size as she typed it, where that says more than the millimetres."""
    note: LongText | None = None


class StitchCountChanged(_Logged):
    """Another stitch count from some round on."""

    kind: Literal["stitch count changed"] = "stitch count changed"
    from_round: RoundNumber
    stitches: Stitches
    note: LongText | None = None


class TensionChanged(_Logged):
    """Looser or tighter than usual, asked of the hand from some round on."""

    schema_version: Literal[2] = Field(default=2, alias="schema")
    kind: Literal["tension asked"] = "tension asked"
    from_round: RoundNumber
    percent: Tension
    """Yarn a stitch against her usual, %: above 0 is looser, 0 is as usual again."""
    aim_stitch: StitchPosition | None = None
    """Where to let the colour fall in ``from_round``, if that was said."""
    note: LongText | None = None


class PlaceChanged(_Logged):
    """The colours are let stack where they are from some round on."""

    schema_version: Literal[2] = Field(default=2, alias="schema")
    kind: Literal["new home"] = "new home"
    from_round: RoundNumber
    """Where the colour falls in this round is its place from then on."""
    stitch: StitchPosition | None = None
    """Its place, if she says so herself."""
    note: LongText | None = None


class SkeinJoined(_Logged):
    """A new skein joined in some round."""

    kind: Literal["skein joined"] = "skein joined"
    round: RoundNumber
    stitch: StitchPosition | None = None
    note: LongText | None = None


class RoundsRippedBack(_Logged):
    """Whole rounds taken out: what was logged above ``to_round`` no longer stands."""

    kind: Literal["rounds ripped back"] = "rounds ripped back"
    to_round: Annotated[int, Field(ge=0, le=100_000)]
    """The last round still on the needles; 0 begins again."""
    note: LongText | None = None


class SittingStarted(_Logged):
    """The knitter sat down."""

    kind: Literal["sitting started"] = "sitting started"


class SittingEnded(_Logged):
    """The knitter got up."""

    kind: Literal["sitting ended"] = "sitting ended"


class ProjectFinished(_Logged):
    """The project is off the needles."""

    kind: Literal["project finished"] = "project finished"
    note: LongText | None = None


class Withdrawn(_Logged):
    """An earlier event no longer stands (undo)."""

    kind: Literal["withdrawn"] = "withdrawn"
    target: EventId


class Restored(_Logged):
    """A withdrawn event stands again (redo)."""

    kind: Literal["restored"] = "restored"
    target: EventId


Event = (
    ProjectSetUp
    | ProjectChanged
    | RoundLogged
    | NoteAdded
    | FixMade
    | NeedleChanged
    | StitchCountChanged
    | TensionChanged
    | PlaceChanged
    | SkeinJoined
    | RoundsRippedBack
    | SittingStarted
    | SittingEnded
    | ProjectFinished
    | Withdrawn
    | Restored
)

event_adapter: TypeAdapter[Event] = TypeAdapter(
    Annotated[Event, Field(discriminator="kind")], config=ConfigDict(defer_build=True)
)
"""Reads an event of any kind."""

BY_KIND: Mapping[str, type[Event]] = {
    model.model_fields["kind"].default: model for model in get_args(Event)
}
"""The model of each kind."""

UNDOABLE: tuple[type[_Logged], ...] = (
    ProjectChanged,
    RoundLogged,
    NoteAdded,
    FixMade,
    NeedleChanged,
    StitchCountChanged,
    TensionChanged,
    PlaceChanged,
    SkeinJoined,
    RoundsRippedBack,
    ProjectFinished,
)
"""What undo takes back: what the knitter said, not the opening, the sittings or an undo."""


_STEP = "57e9"
_ALIKE = 28
"""What was logged in one step is alike in so many of the 32 digits of its ids, the last four of
them saying that it is a step."""


def of_one_step(events: Sequence[Event]) -> list[Event]:
    """Give events ids that say they were logged in one step; one alone keeps its own."""
    if len(events) < 2:
        return list(events)
    step = events[0].id[: _ALIKE - len(_STEP)] + _STEP
    return [e.model_copy(update={"id": f"{step}{i:04x}"}) for i, e in enumerate(events)]


def is_one_step(a: Event, b: Event) -> bool:
    """Return whether two events were logged in one step."""
    step = a.id[:_ALIKE]
    return step.endswith(_STEP) and step == b.id[:_ALIKE]


def as_written(event: Event) -> Event:
    """Give an event under the lowest schema that can take what it tells."""
    match event:
        case RoundLogged():
            newer = event.tension_percent is not None or event.aim_stitch is not None
        case ProjectSetUp():
            newer = tells_later(event.facts)
        case ProjectChanged():
            newer = tells_later(event.changes)
        case NeedleChanged():
            newer = event.as_given is not None
        case _:
            return event
    return event.model_copy(update={"schema_version": 2 if newer else 1})


def describe_step(events: Sequence[Event]) -> str | None:
    """Name what was logged in one step; None if nothing was."""
    return " and ".join(map(describe, events)) or None


def describe(event: Event) -> str:
    """Name an event in a few plain words, as in 'took back round 12'.

    >>> describe(RoundLogged(round=12, positions=(Position(stitch=37.5),)))
    'round 12'
    """
    match event:
        case RoundLogged():
            return f"round {event.round}"
        case NoteAdded():
            return "the note" if event.round is None else f"the note on round {event.round}"
        case FixMade():
            return f"the fix after round {event.after_round}"
        case NeedleChanged():
            needle = Units().needle(event.needle_mm, event.as_given)
            return f"the change to {needle} needles at round {event.from_round}"
        case StitchCountChanged():
            return f"the change to {event.stitches} stitches at round {event.from_round}"
        case TensionChanged():
            asked = f"{event.percent:+g} %" if event.percent else "as usual"
            return f"the tension ({asked}) from round {event.from_round}"
        case PlaceChanged():
            return f"the new place from round {event.from_round}"
        case SkeinJoined():
            return f"the skein joined in round {event.round}"
        case RoundsRippedBack():
            return f"ripping back to round {event.to_round}"
        case ProjectChanged():
            return "the change of settings"
        case _:
            return event.kind
