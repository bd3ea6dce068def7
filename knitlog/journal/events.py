"""The events a journal is made of, one a line.

A journal never changes what it holds: a correction, an undo, a finished project
are all new events.  Each carries the schema it was written under, so a later
version can read it for ever, and an id, so that it can be withdrawn by name.
"""

import uuid
from collections.abc import Mapping
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
)

SCHEMA = 1
"""The schema this version writes.  Raise it for any change an older reader cannot take."""

EventId = Annotated[str, Field(pattern=r"^[0-9a-f]{32}$")]
Moment = Annotated[
    AwareDatetime,
    Field(ge=datetime(1970, 1, 2, tzinfo=UTC), le=datetime(9000, 1, 1, tzinfo=UTC)),
]


def now() -> datetime:
    """Give this moment, to the second, with the local offset from UTC."""
    return datetime.now(UTC).astimezone().replace(microsecond=0)


class _Event(Frozen):
    """What every event carries."""

    schema_version: Literal[1] = Field(default=1, alias="schema")
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


class ProjectSetUp(_Event):
    """A project begins."""

    kind: Literal["project set up"] = "project set up"
    name: Name
    about: LongText = ""
    """What it is, in the knitter's words."""
    facts: ProjectFacts


class ProjectChanged(_Event):
    """The settings of a project change; stints are changed by their own events."""

    kind: Literal["project changed"] = "project changed"
    changes: FactChanges


class RoundLogged(_Event):
    """Where the colour fell in one round; a later event for the same round replaces it."""

    kind: Literal["round logged"] = "round logged"
    round: RoundNumber
    positions: Annotated[tuple[Position, ...], Field(min_length=1, max_length=24)]
    """Each colour change once; should one be there twice, the later counts."""
    note: LongText | None = None
    imported: Literal[True] | None = None
    """Set where the round came from a file without times: ``at`` is not when it was knitted."""


class NoteAdded(_Event):
    """A note, on a round or on the whole project."""

    kind: Literal["note"] = "note"
    text: SomeText
    round: RoundNumber | None = None


class FixMade(_Event):
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


class NeedleChanged(_Event):
    """Another needle from some round on."""

    kind: Literal["needle changed"] = "needle changed"
    from_round: RoundNumber
    needle_mm: Needle
    note: LongText | None = None


class StitchCountChanged(_Event):
    """Another stitch count from some round on."""

    kind: Literal["stitch count changed"] = "stitch count changed"
    from_round: RoundNumber
    stitches: Stitches
    note: LongText | None = None


class SkeinJoined(_Event):
    """A new skein joined in some round."""

    kind: Literal["skein joined"] = "skein joined"
    round: RoundNumber
    stitch: StitchPosition | None = None
    note: LongText | None = None


class RoundsRippedBack(_Event):
    """Whole rounds taken out: what was logged above ``to_round`` no longer stands."""

    kind: Literal["rounds ripped back"] = "rounds ripped back"
    to_round: Annotated[int, Field(ge=0, le=100_000)]
    """The last round still on the needles; 0 begins again."""
    note: LongText | None = None


class SittingStarted(_Event):
    """The knitter sat down."""

    kind: Literal["sitting started"] = "sitting started"


class SittingEnded(_Event):
    """The knitter got up."""

    kind: Literal["sitting ended"] = "sitting ended"


class ProjectFinished(_Event):
    """The project is off the needles."""

    kind: Literal["project finished"] = "project finished"
    note: LongText | None = None


class Withdrawn(_Event):
    """An earlier event no longer stands (undo)."""

    kind: Literal["withdrawn"] = "withdrawn"
    target: EventId


class Restored(_Event):
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

UNDOABLE: tuple[type[_Event], ...] = (
    ProjectChanged,
    RoundLogged,
    NoteAdded,
    FixMade,
    NeedleChanged,
    StitchCountChanged,
    SkeinJoined,
    RoundsRippedBack,
    ProjectFinished,
)
"""What undo takes back: what the knitter said, not the opening, the sittings or an undo."""


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
            return f"the change to {event.needle_mm:g} mm needles at round {event.from_round}"
        case StitchCountChanged():
            return f"the change to {event.stitches} stitches at round {event.from_round}"
        case SkeinJoined():
            return f"the skein joined in round {event.round}"
        case RoundsRippedBack():
            return f"ripping back to round {event.to_round}"
        case ProjectChanged():
            return "the change of settings"
        case _:
            return event.kind
