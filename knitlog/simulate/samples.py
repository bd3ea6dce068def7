"""The sample projects: a winter's knitting that never happened.

The keeper of a mountain hut, who does not exist, knits through the snowed-in
months.  Her projects show what a newcomer should see: colours in line, stitches
too small, stitches too large, a needle changed midway with a miscount before it,
rows worked flat, two colour changes a round, a changed stitch count.  Each is
knitted by :func:`knitlog.simulate.knitter.knit` from a fixed seed, so that the
shipped files can be remade byte for byte.
"""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from knitlog.drift.log import Fix, Reading, Stint
from knitlog.simulate.knitter import Knitter, Work, knit
from knitlog.yarn.colours import ColourSegment

INVENTED = "Invented: the keeper of a mountain hut who made this does not exist."
"""Stands in every sample, in the journal and in the CSV."""

_MINUTES_A_ROUND = 9


@dataclass(frozen=True, slots=True)
class Recipe:
    """One sample project before it is knitted."""

    slug: str
    """File name without its suffix."""
    name: str
    about: str
    """What it shows, in a sentence."""
    work: Work
    knitter: Knitter
    seed: int
    begun: datetime
    """When the first round was logged."""
    gauge: str
    """As typed: "28 st/10cm"."""
    planned_rounds: int
    tolerance: float = 3.0
    """Stitches either way that still look in line."""
    multiple: int = 1
    """Stitch pattern multiple."""
    needles_owned_mm: tuple[float, ...] = ()
    flat: bool = False
    notes: tuple[tuple[int, str], ...] = ()
    """(after round, what she wrote)."""
    colours: tuple[ColourSegment, ...] = ()
    """One repeat of the yarn."""


@dataclass(frozen=True, slots=True)
class Sample:
    """A sample project as logged."""

    recipe: Recipe
    readings: tuple[Reading, ...]
    """In the order they were logged; ``sitting`` counts from 1."""
    times: dict[int, datetime] = field(default_factory=dict)
    """When each round was logged."""

    @property
    def fixes(self) -> tuple[Fix, ...]:
        """The fixes made."""
        return self.recipe.work.fixes

    @property
    def stints(self) -> tuple[Stint, ...]:
        """The needle and stitch-count changes after the cast-on."""
        return tuple(stint for stint, _ in self.recipe.work.stints)


def make(recipe: Recipe) -> Sample:
    """Knit one recipe; the same recipe always gives the same sample."""
    log = knit(recipe.knitter, recipe.work, recipe.seed).log
    times = {r.round: _logged_at(recipe, r.round) for r in log.readings}
    readings = tuple(
        Reading(r.round, _as_seen(recipe, r), r.change, sitting=_sitting(recipe, r.round))
        for r in log.readings
    )
    return Sample(recipe, readings, times)


def samples() -> tuple[Sample, ...]:
    """All sample projects, in the order they are listed."""
    return tuple(make(recipe) for recipe in RECIPES)


def _as_seen(recipe: Recipe, reading: Reading) -> float:
    if not recipe.flat:
        return reading.stitch
    stitches = recipe.work.stitches
    # even rows run back: what is p stitches along the row is N - p from the right edge
    return reading.stitch if reading.round % 2 else (stitches - reading.stitch) % stitches


def _sitting(recipe: Recipe, round_number: int) -> int:
    return (round_number - 1) // recipe.knitter.rounds_per_sitting + 1


def _logged_at(recipe: Recipe, round_number: int) -> datetime:
    evening, within = divmod(round_number - 1, recipe.knitter.rounds_per_sitting)
    return recipe.begun + timedelta(days=evening, minutes=_MINUTES_A_ROUND * within)


def _evening(month: int, day: int) -> datetime:
    year = 2025 if month > 6 else 2026
    return datetime(year, month, day, 18, 30, tzinfo=UTC)


def _drift(repeat_length_mm: float, repeats: float, yarn_per_stitch_mm: float, n: int) -> float:
    # k L = (N + d) s, solved for d
    return repeats * repeat_length_mm / yarn_per_stitch_mm - n


def _run(
    repeat_length_mm: float, *colours: tuple[str, str], shares: tuple[float, ...]
) -> tuple[ColourSegment, ...]:
    """One repeat in ``shares`` of its length, to whole millimetres but for the last colour."""
    lengths = [float(round(share * repeat_length_mm)) for share in shares[:-1]]
    lengths.append(round(repeat_length_mm - sum(lengths), 1))
    return tuple(
        ColourSegment(name, length, value)
        for (name, value), length in zip(colours, lengths, strict=True)
    )


_EMBER, _ASH, _LICHEN = ("ember", "#b5452c"), ("ash", "#a7a9ac"), ("lichen", "#7a8c4a")
_DUSK, _SNOW, _LAMP = ("dusk", "#3d4f7a"), ("snow", "#eef1f4"), ("lamp light", "#e2b33c")
_LARCH, _SLATE = ("larch", "#c98f2f"), ("slate", "#48545f")

_HALVES = 0.5
_SIXTY_INCHES = 1524.0
_TWO_YARDS = 1828.8

RECIPES: tuple[Recipe, ...] = (
    Recipe(
        slug="in-line",
        name="Stove-side hat",
        about="Colours that stack: nothing to do but knit on.",
        work=Work(
            stitches=104,
            rounds=18,
            homes=(31.0,),
            needle_mm=3.25,
            repeat_length_mm=_SIXTY_INCHES,
        ),
        knitter=Knitter(
            drift=_drift(_SIXTY_INCHES, 1, 14.64, 104), tension_noise_sd=0.5, rounding=_HALVES
        ),
        seed=106,
        begun=_evening(11, 14),
        colours=_run(_SIXTY_INCHES, _SLATE, _SNOW, _LARCH, shares=(0.4, 0.35, 0.25)),
        gauge="28 st/10cm",
        planned_rounds=48,
        multiple=4,
        needles_owned_mm=(3.0, 3.25, 3.5),
        notes=((6, "First snow that stays. Soup for two, then the hat."),),
    ),
    Recipe(
        slug="too-small",
        name="Long-evening cowl",
        about="Stitches too small: each round the colours land past the round before.",
        work=Work(
            stitches=128,
            rounds=6,
            homes=(37.0,),
            needle_mm=3.5,
            repeat_length_mm=_TWO_YARDS,
        ),
        knitter=Knitter(drift=_drift(_TWO_YARDS, 1, 13.98, 128), rounding=_HALVES),
        seed=12,
        begun=_evening(12, 2),
        colours=_run(_TWO_YARDS, _EMBER, _ASH, _DUSK, shares=(0.3, 0.3, 0.4)),
        gauge="29 st/10cm",
        planned_rounds=60,
        multiple=2,
        needles_owned_mm=(3.25, 3.5, 3.75, 4.0),
        notes=((4, "Storm on the ridge; I knit tighter when the shutters bang."),),
    ),
    Recipe(
        slug="too-large",
        name="Wood-shed yoke",
        about="Stitches too large, once mended with a tapestry needle, and sliding again.",
        work=Work(
            stitches=146,
            rounds=16,
            repeats=2,
            homes=(52.0,),
            needle_mm=5.0,
            repeat_length_mm=_SIXTY_INCHES,
            fixes=(Fix(after_round=7, taken_out=-12.0),),
            fix_error_sd=0.1,
        ),
        knitter=Knitter(drift=_drift(_SIXTY_INCHES, 2, 21.21, 146), rounding=1.0),
        seed=13,
        begun=_evening(12, 20),
        colours=_run(_SIXTY_INCHES, _LICHEN, _SNOW, shares=(0.55, 0.45)),
        gauge="19.5 st/10cm",
        planned_rounds=54,
        needles_owned_mm=(4.5, 5.0),
        notes=((7, "Eased twelve stitches back with the tapestry needle, over a hand's width."),),
    ),
    Recipe(
        slug="needle-changed",
        name="Snowed-in sweater",
        about="A needle changed midway, and one reading before it that was miscounted.",
        work=Work(
            stitches=72,
            rounds=22,
            homes=(20.0,),
            needle_mm=4.5,
            repeat_length_mm=_SIXTY_INCHES,
            fixes=(
                Fix(after_round=12, taken_out=9.0, kind="rip back"),
                Fix(after_round=16, taken_out=6.0),
            ),
            fix_error_sd=0.1,
            stints=((Stint(10, 72, 5.0), _drift(_SIXTY_INCHES, 1, 21.3, 72)),),
        ),
        knitter=Knitter(
            drift=_drift(_SIXTY_INCHES, 1, 20.32, 72),
            tension_noise_sd=0.6,
            miscount_rate=0.06,
            missing_rate=0.08,
            rounding=1.0,
        ),
        seed=275,
        begun=_evening(1, 5),
        colours=_run(_SIXTY_INCHES, _DUSK, _SNOW, _EMBER, shares=(0.35, 0.4, 0.25)),
        gauge="20 st/10cm",
        planned_rounds=70,
        multiple=4,
        needles_owned_mm=(4.5, 5.0, 5.5),
        notes=(
            (9, "Changed to 5.0 mm; the road is closed, so there is time to try."),
            (12, "Ripped back twenty stitches and knitted them firmly; nine came out of it."),
        ),
    ),
    Recipe(
        slug="worked-flat",
        name="Window-seat wrap",
        about="Rows worked back and forth, read from the right edge of the right side.",
        work=Work(
            stitches=72,
            rounds=14,
            homes=(18.0,),
            needle_mm=5.0,
            repeat_length_mm=_SIXTY_INCHES,
        ),
        knitter=Knitter(drift=_drift(_SIXTY_INCHES, 1, 20.68, 72), rounding=1.0),
        seed=15,
        begun=_evening(1, 24),
        colours=_run(_SIXTY_INCHES, _LARCH, _SLATE, shares=(0.5, 0.5)),
        gauge="20 st/10cm",
        planned_rounds=90,
        needles_owned_mm=(4.5, 5.0, 5.5),
        flat=True,
    ),
    Recipe(
        slug="two-changes",
        name="Two-window cowl",
        about="Two colour changes logged each round; they share one drift.",
        work=Work(
            stitches=120,
            rounds=13,
            homes=(24.0, 83.0),
            needle_mm=3.5,
            repeat_length_mm=_TWO_YARDS,
        ),
        knitter=Knitter(drift=_drift(_TWO_YARDS, 1, 15.45, 120), rounding=_HALVES),
        seed=16,
        begun=_evening(2, 8),
        colours=_run(_TWO_YARDS, _LICHEN, _LAMP, _ASH, shares=(0.2, 0.5, 0.3)),
        gauge="27 st/10cm",
        planned_rounds=40,
        multiple=6,
        needles_owned_mm=(3.25, 3.5),
    ),
    Recipe(
        slug="stitch-count-changed",
        name="Lantern hat",
        about="Three stitches added instead of a new needle, and the colours came into line.",
        work=Work(
            stitches=100,
            rounds=20,
            homes=(45.0,),
            needle_mm=3.25,
            repeat_length_mm=_SIXTY_INCHES,
            stints=((Stint(10, 103, 3.25), _drift(_SIXTY_INCHES, 1, 14.8, 103)),),
        ),
        knitter=Knitter(drift=_drift(_SIXTY_INCHES, 1, 14.8, 100), rounding=_HALVES),
        seed=17,
        begun=_evening(2, 21),
        colours=_run(_SIXTY_INCHES, _LAMP, _DUSK, shares=(0.45, 0.55)),
        gauge="28 st/10cm",
        planned_rounds=50,
        needles_owned_mm=(3.25,),
        notes=((9, "Three increases spread around the round; the hat is no bigger to the eye."),),
    ),
)
"""The sample projects before they are knitted."""
