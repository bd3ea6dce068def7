"""The facts of a project: what the geometry and the advice need to know.

One model, used by the journal's events and by CSV logs alike, so a number is
checked the same way wherever it comes from.  Lengths are in mm.
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, model_validator

from knitlog.journal.errors import JournalError, sentence_of
from knitlog.journal.minutes import LATER_WORK, own_minutes, told_minutes
from knitlog.typed.entry import MOST_CHANGES
from knitlog.typed.measures import MOST_ROUNDS, MOST_STITCHES
from knitlog.typed.text import plain_text

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
Tension = Annotated[float, Field(ge=-20, le=20)]
PatternRounds = Annotated[int, Field(ge=1, le=100)]
HandRange = Annotated[float, Field(ge=0, le=20)]
Over = Annotated[int, Field(ge=0, le=MOST_STITCHES)]
CountChanges = Annotated[int, Field(ge=0, le=1000)]


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
GivenName = Annotated[str, Field(pattern=r"^[a-z_]{1,40}$")]
AsGiven = Annotated[
    Annotated[dict[GivenName, Word], Field(max_length=10)] | None,
    BeforeValidator(lambda given: given or None),
]
ToldMinutes = Annotated[dict[str, float | None] | None, BeforeValidator(told_minutes)]


class _Facts(Frozen):
    """Every fact there is, in the order a journal writes them; None where it is not told."""

    stitches: Stitches | None = None
    """Stitches in a round (or row) as begun."""
    repeats: Repeats | None = None
    """Colour repeats meant to go into one round, k."""
    repeat_length_mm: RepeatLength | None = None
    """Length of one repeat along the yarn, mm."""
    needle_mm: Needle | None = None
    """Needle size as begun, mm."""
    gauge_stitches_per_cm: PerCm | None = None
    gauge_rounds_per_cm: PerCm | None = None
    planned_rounds: RoundNumber | None = None
    """Rounds the project is meant to have."""
    tolerance: Tolerance | None = None
    """Offset the knitter puts up with, stitches either way."""
    multiple: Multiple | None = None
    """Stitch pattern multiple: a stitch count must be divisible by it, but for
    ``multiple_over``; 0 if the count cannot change."""
    needles_owned_mm: Needles | None = None
    """Needle sizes at hand, mm; empty if not said."""
    flat: bool | None = None
    """True for rows worked back and forth."""
    target_drift: Drift | None = None
    """Wanted drift, stitches a round (other than 0 for a deliberate spiral)."""
    homes: Homes | None = None
    """Where each colour change should fall, by its number, if the knitter has said so."""
    yarn_thickness_mm: Thickness | None = None
    max_size_change_percent: Percent | None = None
    """How much the finished size may change, %; None leaves it to the advice."""
    colours: Colours | None = None
    """The colours along one repeat, in the order they are knitted; empty if not said."""
    colours_turn_back: bool | None = None
    """True where the run goes forth and back along the yarn."""
    fibre: Word | None = None
    """What the yarn is of, in the knitter's word."""
    stitch_pattern: Word | None = None
    """What is knitted, in the knitter's word: plain, ribbing."""
    minutes: Mapping[str, float | None] | None = None
    """The minutes the knitter counts her work at, by the names of
    :data:`~knitlog.journal.minutes.WORK`, where they are her own; None if all are the usual."""
    pattern_rounds: PatternRounds | None = None
    """Rounds after which the stitch pattern begins again; 1 if there is none, None if not said."""
    hand_range_percent: HandRange | None = None
    """How far her hand can tighten or loosen, %; None is the usual."""
    count_changes: CountChanges | None = None
    """Changes of the stitch count she allows in the project; None is the usual."""
    multiple_over: Over | None = None
    """Stitches over the multiple, as the 1 of 8+1."""
    as_given: AsGiven = None
    """What she typed for a length, a needle or the gauge, by the name of its field."""


class ProjectFacts(_Facts):
    """What is known of a project; ``stitches`` and ``needle_mm`` are those it was begun with."""

    stitches: Stitches
    repeats: Repeats = 1.0
    tolerance: Tolerance = 3.0
    multiple: Multiple = 1
    needles_owned_mm: Needles = ()
    flat: bool = False
    target_drift: Drift = 0.0
    homes: Homes = Field(default_factory=dict)
    colours: Colours = ()
    colours_turn_back: bool = False
    minutes: OwnMinutes = None

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


LATER_FACTS = (
    "pattern_rounds",
    "hand_range_percent",
    "count_changes",
    "multiple_over",
    "as_given",
)
"""Facts that came with schema 2."""


class _Named(Frozen):
    name: Name | None = None
    about: LongText | None = None


class FactChanges(_Facts, _Named):
    """Some facts to change; None leaves a fact as it is, ``cleared`` forgets it.

    Of ``minutes`` and ``as_given`` only those named change, and None beside a name of the
    minutes goes back to the usual; ``multiple`` alone says that no stitches are over.
    """

    minutes: ToldMinutes = None
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
        if self.multiple is not None and self.multiple_over is None:
            changed["multiple_over"] = None
        if self.as_given is not None:
            changed["as_given"] = {**(kept.get("as_given") or {}), **self.as_given}
        return ProjectFacts.model_validate({**kept, **changed})


def tells_later(told: ProjectFacts | FactChanges) -> bool:
    """True where something is told that a reader of schema 1 does not know."""
    names = {*getattr(told, "cleared", ()), *(told.minutes or ())}
    return any(getattr(told, name) is not None for name in LATER_FACTS) or not names.isdisjoint(
        (*LATER_FACTS, *LATER_WORK)
    )


def make_facts(**values: Any) -> ProjectFacts:
    """Build the facts from plain values.

    Raises:
        JournalError: one sentence, where a value is missing or out of range.

    """
    try:
        return sensible(ProjectFacts(**values))
    except ValidationError as error:
        raise JournalError(sentence_of(error)) from None


def sensible(facts: ProjectFacts) -> ProjectFacts:
    """Give facts back that make sense together; a file that holds others is still read.

    Raises:
        JournalError: a tolerance of more than the round.

    """
    if facts.tolerance > facts.stitches:
        raise JournalError(
            f"A tolerance of {facts.tolerance:g} stitches is more than the round, which has "
            f"{facts.stitches}; type what still looks right to you, as 3."
        )
    return facts
