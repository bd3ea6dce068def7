"""The facts of a project: what the geometry and the advice need to know.

One model, used by the journal's events and by CSV logs alike, so a number is
checked the same way wherever it comes from.  Lengths are in mm.
"""

from typing import TYPE_CHECKING, Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, model_validator

from knitlog.journal.errors import JournalError, sentence_of
from knitlog.journal.minutes import own_minutes, told_minutes
from knitlog.journal.text import plain_text

if TYPE_CHECKING:
    from knitlog.yarn.colours import ColourRun
    from knitlog.yarn.gauge import Gauge


class Frozen(BaseModel):
    """Base of everything written to a journal: frozen, strict, nothing unknown let in."""

    model_config = ConfigDict(
        frozen=True,
        strict=True,
        extra="forbid",
        allow_inf_nan=False,
        populate_by_name=True,
        defer_build=True,  # most runs need few of the models: start quickly
    )


def _one_line(value: Any) -> Any:
    return plain_text(value).strip() if isinstance(value, str) else value


def _many_lines(value: Any) -> Any:
    return plain_text(value, lines=True).strip() if isinstance(value, str) else value


Name = Annotated[str, Field(min_length=1, max_length=120), BeforeValidator(_one_line)]
ShortText = Annotated[str, Field(max_length=200), BeforeValidator(_one_line)]
LongText = Annotated[str, Field(max_length=4000), BeforeValidator(_many_lines)]
Word = Annotated[str, Field(min_length=1, max_length=60), BeforeValidator(_one_line)]
SomeText = Annotated[str, Field(min_length=1, max_length=4000), BeforeValidator(_many_lines)]

MOST_STITCHES = 10_000
MOST_ROUNDS = 100_000
MOST_CHANGES = 24

Stitches = Annotated[int, Field(ge=2, le=MOST_STITCHES)]
RoundNumber = Annotated[int, Field(ge=1, le=MOST_ROUNDS)]
ChangeNumber = Annotated[int, Field(ge=1, le=MOST_CHANGES)]
StitchPosition = Annotated[float, Field(ge=0, le=MOST_STITCHES)]
Needle = Annotated[float, Field(ge=0.5, le=40)]
Repeats = Annotated[float, Field(gt=0, le=100)]
RepeatLength = Annotated[float, Field(ge=10, le=1_000_000)]
PerCm = Annotated[float, Field(ge=0.05, le=40)]
Tolerance = Annotated[float, Field(gt=0, le=MOST_STITCHES)]
Multiple = Annotated[int, Field(ge=0, le=MOST_STITCHES)]
Drift = Annotated[float, Field(ge=-1000, le=1000)]
Thickness = Annotated[float, Field(ge=0.05, le=60)]
Percent = Annotated[float, Field(ge=0, le=100)]


class ColourPart(Frozen):
    """One colour of the run along the yarn."""

    name: Name
    length_mm: Annotated[float, Field(gt=0, le=1_000_000)]
    colour: Annotated[str, Field(pattern=r"^#[0-9a-f]{6}$")]
    """As ``#rrggbb``, small letters."""


Needles = Annotated[tuple[Needle, ...], Field(max_length=100)]
Colours = Annotated[tuple[ColourPart, ...], Field(max_length=100)]
Homes = Annotated[dict[ChangeNumber, StitchPosition], Field(max_length=MOST_CHANGES)]
OwnMinutes = Annotated[dict[str, float] | None, BeforeValidator(own_minutes)]
ToldMinutes = Annotated[dict[str, float | None] | None, BeforeValidator(told_minutes)]


class ProjectFacts(Frozen):
    """What is known of a project; ``stitches`` and ``needle_mm`` are those it was begun with."""

    stitches: Stitches
    """Stitches in a round (or row) as begun."""
    repeats: Repeats = 1.0
    """Colour repeats meant to go into one round, k."""
    repeat_length_mm: RepeatLength | None = None
    """Length of one repeat along the yarn, mm."""
    needle_mm: Needle | None = None
    """Needle size as begun, mm."""
    gauge_stitches_per_cm: PerCm | None = None
    gauge_rounds_per_cm: PerCm | None = None
    planned_rounds: RoundNumber | None = None
    """Rounds the project is meant to have."""
    tolerance: Tolerance = 3.0
    """Offset the knitter puts up with, stitches either way."""
    multiple: Multiple = 1
    """Stitch pattern multiple: a stitch count must be divisible by it; 0 if it cannot change."""
    needles_owned_mm: Needles = ()
    """Needle sizes at hand, mm; empty if not said."""
    flat: bool = False
    """True for rows worked back and forth."""
    target_drift: Drift = 0.0
    """Wanted drift, stitches a round (other than 0 for a deliberate spiral)."""
    homes: Homes = Field(default_factory=dict)
    """Where each colour change should fall, by its number, if the knitter has said so."""
    yarn_thickness_mm: Thickness | None = None
    max_size_change_percent: Percent | None = None
    """How much the finished size may change, %; None leaves it to the advice."""
    colours: Colours = ()
    """The colours along one repeat, in the order they are knitted; empty if not said."""
    colours_turn_back: bool = False
    """True where the run goes forth and back along the yarn."""
    fibre: Word | None = None
    """What the yarn is of, in the knitter's word."""
    stitch_pattern: Word | None = None
    """What is knitted, in the knitter's word: plain, ribbing."""
    minutes: OwnMinutes = None
    """The minutes the knitter counts her work at, by the names of
    :data:`~knitlog.journal.minutes.WORK`, where they are her own; None if all are the usual."""

    @property
    def gauge(self) -> "Gauge | None":
        """The gauge as the yarn room speaks of it."""
        from knitlog.yarn.gauge import Gauge

        if self.gauge_stitches_per_cm is None:
            return None
        return Gauge(self.gauge_stitches_per_cm, self.gauge_rounds_per_cm)

    @property
    def colour_run(self) -> "ColourRun | None":
        """The colours along the yarn as the yarn room speaks of them."""
        from knitlog.yarn.colours import ColourRun, ColourSegment

        if not self.colours:
            return None
        parts = tuple(ColourSegment(c.name, c.length_mm, c.colour) for c in self.colours)
        return ColourRun(parts, self.colours_turn_back)


class FactChanges(Frozen):
    """Some facts to change; None leaves a fact as it is, ``cleared`` forgets it."""

    name: Name | None = None
    about: LongText | None = None
    stitches: Stitches | None = None
    repeats: Repeats | None = None
    repeat_length_mm: RepeatLength | None = None
    needle_mm: Needle | None = None
    gauge_stitches_per_cm: PerCm | None = None
    gauge_rounds_per_cm: PerCm | None = None
    planned_rounds: RoundNumber | None = None
    tolerance: Tolerance | None = None
    multiple: Multiple | None = None
    needles_owned_mm: Needles | None = None
    flat: bool | None = None
    target_drift: Drift | None = None
    homes: Homes | None = None
    yarn_thickness_mm: Thickness | None = None
    max_size_change_percent: Percent | None = None
    colours: Colours | None = None
    colours_turn_back: bool | None = None
    fibre: Word | None = None
    stitch_pattern: Word | None = None
    minutes: ToldMinutes = None
    """Only those named change; None beside a name goes back to the usual."""
    cleared: Annotated[tuple[str, ...], Field(max_length=20)] = ()

    @model_validator(mode="after")
    def _cleared_facts_exist(self) -> "FactChanges":
        for name in self.cleared:
            field = ProjectFacts.model_fields.get(name)
            if field is None or field.is_required():
                raise ValueError(f"There is no fact {name[:40]!r} to forget.")
        return self

    def applied_to(self, facts: ProjectFacts) -> ProjectFacts:
        """Give ``facts`` with these changes made."""
        kept = facts.model_dump(exclude=set(self.cleared))
        changed = self.model_dump(exclude={"name", "about", "cleared"}, exclude_none=True)
        if self.minutes is not None:
            changed["minutes"] = {**(kept.get("minutes") or {}), **self.minutes}
        return ProjectFacts.model_validate({**kept, **changed})


def make_facts(**values: Any) -> ProjectFacts:
    """Build the facts from plain values.

    Raises:
        JournalError: one sentence, where a value is missing or out of range.

    """
    try:
        return ProjectFacts(**values)
    except ValidationError as error:
        raise JournalError(sentence_of(error)) from None
