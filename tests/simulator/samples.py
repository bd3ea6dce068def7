"""The sample projects: a winter's knitting that never happened.

The keeper of a mountain hut, who does not exist, knits through the snowed-in
months.  Her projects show what a newcomer should see: colours in line, stitches
too small, stitches too large, a needle changed midway with a miscount before it,
rows worked flat, two colour changes a round, a changed stitch count.  Each is
knitted by :mod:`tests.simulator` from a fixed seed, so that the shipped files can be remade
byte for byte.
"""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any

from knitlog.drift.log import Fix, Reading, Stint
from knitlog.yarn.colours import ColourSegment
from tests.simulator.hand import Hand, Work
from tests.simulator.knitting import Knitting

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
    hand: Hand
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
    notes: tuple[tuple[int, str], ...] = ()
    """(after round, what she wrote)."""
    colours: tuple[ColourSegment, ...] = ()
    """One repeat of the yarn."""
    done: tuple[tuple[int, str, tuple[float, ...]], ...] = ()
    """(after round, what she did, how): calls of :class:`Knitting`."""


@dataclass(frozen=True, slots=True)
class Sample:
    """A sample project as logged."""

    recipe: Recipe
    readings: tuple[Reading, ...]
    """In the order they were logged; ``sitting`` counts from 1."""
    fixes: tuple[Fix, ...]
    """The fixes made."""
    stints: tuple[Stint, ...]
    """The needle and stitch-count changes after the cast-on."""
    times: dict[int, datetime] = field(default_factory=dict)
    """When each round was logged."""


def make(recipe: Recipe) -> Sample:
    """Knit one recipe; the same recipe always gives the same sample."""
    knitting = Knitting(recipe.hand, recipe.work, recipe.seed)
    for number in range(1, recipe.work.rounds + 1):
        knitting.knit_round(logged=True if number == recipe.work.rounds else None)
        for after, what, how in recipe.done:
            if after == number:
                getattr(knitting, what)(*how)
    log = knitting.to_drift_log()
    times = {r.round: _logged_at(recipe, r.round) for r in log.readings}
    return Sample(recipe, log.readings, log.fixes, log.stints[1:], times)


def samples() -> tuple[Sample, ...]:
    """All sample projects, in the order they are listed."""
    return tuple(make(recipe) for recipe in RECIPES)


def _logged_at(recipe: Recipe, round_number: int) -> datetime:
    evening, within = divmod(round_number - 1, recipe.hand.rounds_a_sitting)
    return recipe.begun + timedelta(days=evening, minutes=_MINUTES_A_ROUND * within)


def _evening(month: int, day: int) -> datetime:
    year = 2025 if month > 6 else 2026
    return datetime(year, month, day, 18, 30, tzinfo=UTC)


def _hand(
    yarn_mm: float, work: Work, *, noise: float = 0.7, rounding: float = 0.5, **more: Any
) -> Hand:
    """A hand that lays ``yarn_mm`` into a stitch, ``noise`` stitches uneven on a round of 128."""
    return Hand(
        yarn_mm=yarn_mm,
        needle_mm=work.needle_mm,
        stitch_percent=100.0 * noise / 128**0.5,
        miss_stitches=0.0,
        miss_share=0.1,
        rounding=rounding,
        notes_sittings=True,
        **more,
    )


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

_SIXTY_INCHES = 1524.0
_TWO_YARDS = 1828.8

_HAT = Work(stitches=104, rounds=18, places=(31.0,), needle_mm=3.25, repeat_length_mm=_SIXTY_INCHES)
_COWL = Work(stitches=128, rounds=6, places=(37.0,), needle_mm=3.5, repeat_length_mm=_TWO_YARDS)
_YOKE = Work(
    stitches=146,
    rounds=16,
    repeats=2,
    places=(52.0,),
    needle_mm=5.0,
    repeat_length_mm=_SIXTY_INCHES,
)
_SWEATER = Work(
    stitches=72, rounds=22, places=(20.0,), needle_mm=4.5, repeat_length_mm=_SIXTY_INCHES
)
_WRAP = Work(
    stitches=72,
    rounds=14,
    places=(18.0,),
    needle_mm=5.0,
    repeat_length_mm=_SIXTY_INCHES,
    flat=True,
)
_TWO_MARKS = Work(
    stitches=120, rounds=13, places=(24.0, 83.0), needle_mm=3.5, repeat_length_mm=_TWO_YARDS
)
_LANTERN = Work(
    stitches=100, rounds=20, places=(45.0,), needle_mm=3.25, repeat_length_mm=_SIXTY_INCHES
)

RECIPES: tuple[Recipe, ...] = (
    Recipe(
        slug="in-line",
        name="Stove-side hat",
        about="Colours that stack: nothing to do but knit on.",
        work=_HAT,
        hand=_hand(14.64, _HAT, noise=0.5),
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
        work=_COWL,
        hand=_hand(13.98, _COWL),
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
        work=_YOKE,
        hand=_hand(21.21, _YOKE, rounding=1.0),
        done=((7, "ease", (-12.0, 73)),),
        seed=13,
        begun=_evening(12, 20),
        colours=_run(_SIXTY_INCHES, _LICHEN, _SNOW, shares=(0.55, 0.45)),
        gauge="19.5 st/10cm",
        planned_rounds=54,
        needles_owned_mm=(4.5, 5.0),
        notes=((7, "Eased twelve stitches back with the tapestry needle, over half the round."),),
    ),
    Recipe(
        slug="needle-changed",
        name="Snowed-in sweater",
        about="A needle changed midway, and one reading before it that was miscounted.",
        work=_SWEATER,
        hand=_hand(
            20.32,
            _SWEATER,
            noise=0.8,
            rounding=1.0,
            miscount_rate=0.06,
            missing_rate=0.08,
            needle_answer=0.6,
        ),
        done=(
            (9, "change_needle", (5.0,)),
            (12, "reknit", (9.0, 60)),
            (16, "ease", (6.0, 36)),
        ),
        seed=962,
        begun=_evening(1, 5),
        colours=_run(_SIXTY_INCHES, _DUSK, _SNOW, _EMBER, shares=(0.35, 0.4, 0.25)),
        gauge="20 st/10cm",
        planned_rounds=70,
        multiple=4,
        needles_owned_mm=(4.5, 5.0, 5.5),
        notes=(
            (9, "Changed to 5.0 mm; the road is closed, so there is time to try."),
            (12, "Ripped back most of the round and knitted it loosely; nine came out of it."),
        ),
    ),
    Recipe(
        slug="worked-flat",
        name="Window-seat wrap",
        about="Rows worked back and forth, read from the right edge of the right side.",
        work=_WRAP,
        hand=_hand(20.68, _WRAP, rounding=1.0, purl_percent=1.5),
        seed=15,
        begun=_evening(1, 24),
        colours=_run(_SIXTY_INCHES, _LARCH, _SLATE, shares=(0.5, 0.5)),
        gauge="20 st/10cm",
        planned_rounds=90,
        needles_owned_mm=(4.5, 5.0, 5.5),
    ),
    Recipe(
        slug="two-changes",
        name="Two-window cowl",
        about="Two colour changes logged each round; they share one drift.",
        work=_TWO_MARKS,
        hand=_hand(15.45, _TWO_MARKS),
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
        work=_LANTERN,
        hand=_hand(14.8, _LANTERN),
        done=((9, "change_stitches", (103,)),),
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
