"""A year of knitting that never happened, all by one pair of hands.

The keeper of a mountain hut, who does not exist, knits nine projects from one autumn to
the next.  Her hands stay hers: a little more yarn in a stitch than the law says, needle
steps that do less than they should, tapestry-needle fixes that fall short.  So what
looking back and learning from the past are for can be tried before there is a past.
Everything is knitted from fixed seeds; the shipped files are remade byte for byte.
"""

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

from knitlog.drift.log import Fix, Stint
from knitlog.yarn.colours import ColourSegment
from tests.simulator.person import Knitted, Person, Undertaking, knit_project

KEEPER = Person(
    kw=4.27,
    project_sd=0.012,
    fibres=(("wool", 0.0), ("alpaca and wool", 0.022), ("cotton", -0.025)),
    patterns=(("plain", 0.0), ("ribbing", -0.02)),
    needle_answer=0.72,
    answer_sd=0.06,
    tension_noise_sd=0.62,
    reading_noise_sd=0.45,
    sitting_sd=0.35,
    fix_shares=(("tapestry needle", 0.84), ("rip back", 1.0)),
    fix_sd=0.07,
)
"""The hands of the one who does not exist."""


@dataclass(frozen=True, slots=True)
class Chapter:
    """One project of the year."""

    slug: str
    name: str
    about: str
    begun: datetime
    plan: Undertaking
    seed: int
    gauge_rounds_per_cm: float
    planned_rounds: int
    colours: tuple[ColourSegment, ...]
    tolerance: float = 3.0
    multiple: int = 1
    needles_owned_mm: tuple[float, ...] = (3.25, 3.5, 3.75, 4.0, 4.5, 5.0)
    notes: tuple[tuple[int, str], ...] = ()
    """(after round, what she wrote)."""
    mended_at: float = 3.0
    """She mends once the colours read this far off twice running, stitches."""
    minutes_a_round: float = 9.0
    every_days: int = 1
    """Days from one sitting to the next."""
    finished: bool = True
    skeins_joined: tuple[int, ...] = ()
    """Rounds a new skein was joined in."""


@dataclass(frozen=True, slots=True)
class Told:
    """A chapter as knitted and logged."""

    chapter: Chapter
    knitted: Knitted

    def logged_at(self, round_number: int) -> datetime:
        """Return when a round was logged."""
        c = self.chapter
        sitting, within = divmod(round_number - 1, c.plan.rounds_per_sitting)
        # some evenings begin later than others, the same ones every time
        late = timedelta(minutes=(sitting * 37 + c.seed * 11) % 50)
        minutes = within * c.minutes_a_round * (1.0 + 0.04 * ((sitting * 3) % 5 - 2))
        at = c.begun + timedelta(days=sitting * c.every_days, minutes=minutes) + late
        mended = sum(
            _MINUTES[f.kind] for f in self.knitted.log.fixes if self._same_sitting(f, round_number)
        ) + sum(
            _CHANGE_MINUTES
            for s in c.plan.changes
            if s.first_round <= round_number
            and (s.first_round - 1) // c.plan.rounds_per_sitting == sitting
        )
        return (at + timedelta(minutes=mended)).replace(second=0, microsecond=0)

    def _same_sitting(self, fix: Fix, round_number: int) -> bool:
        each = self.chapter.plan.rounds_per_sitting
        return (
            fix.after_round < round_number
            and (fix.after_round - 1) // each == (round_number - 1) // each
        )


_MINUTES = {"tapestry needle": 6.0, "rip back": 14.0}
_CHANGE_MINUTES = 5.0


def history() -> tuple[Told, ...]:
    """Return the whole year, in the order it was knitted."""
    told = []
    for chapter in CHAPTERS:
        plan = replace(chapter.plan, mended_at=chapter.mended_at)
        told.append(Told(replace(chapter, plan=plan), knit_project(KEEPER, plan, chapter.seed)))
    return tuple(told)


def _day(year: int, month: int, day: int) -> datetime:
    return datetime(year, month, day, 18, 40, tzinfo=UTC)


def _run(repeat_mm: float, *parts: tuple[str, str, float]) -> tuple[ColourSegment, ...]:
    lengths = [float(round(share * repeat_mm)) for _, _, share in parts[:-1]]
    lengths.append(round(repeat_mm - sum(lengths), 1))
    return tuple(
        ColourSegment(name, length, colour)
        for (name, colour, _), length in zip(parts, lengths, strict=True)
    )


_SIXTY_INCHES, _TWO_YARDS = 1524.0, 1828.8
_EMBER, _ASH, _LICHEN = ("ember", "#b5452c"), ("ash", "#a7a9ac"), ("lichen", "#7a8c4a")
_DUSK, _SNOW, _LAMP = ("dusk", "#3d4f7a"), ("snow", "#eef1f4"), ("lamp light", "#e2b33c")
_LARCH, _SLATE, _GENTIAN = ("larch", "#c98f2f"), ("slate", "#48545f"), ("gentian", "#2f5fb3")

CHAPTERS: tuple[Chapter, ...] = (
    Chapter(
        slug="01-first-frost-hat",
        name="First-frost hat",
        about="Begun by the label's gauge; too little room in the count, mended by hand.",
        begun=_day(2024, 10, 4),
        seed=301,
        plan=Undertaking(
            stitches=79,
            rounds=42,
            gauge_stitches_per_cm=2.2,
            needle_mm=4.0,
            yarn_thickness_mm=2.1,
            fibre="wool",
            pattern="plain",
            homes=(21.0,),
        ),
        gauge_rounds_per_cm=3.0,
        planned_rounds=42,
        colours=_run(_SIXTY_INCHES, (*_SLATE, 0.4), (*_SNOW, 0.35), (*_LARCH, 0.25)),
        notes=(
            (
                9,
                "Colours running back; eased with the needle, over a hand's width. "
                "It never takes quite enough.",
            ),
        ),
    ),
    Chapter(
        slug="02-woodpile-cowl",
        name="Woodpile cowl",
        about="A needle a size down a third of the way, and the colours came nearer.",
        begun=_day(2024, 10, 28),
        seed=302,
        plan=Undertaking(
            stitches=105,
            rounds=54,
            gauge_stitches_per_cm=2.4,
            repeat_length_mm=_TWO_YARDS,
            needle_mm=4.0,
            yarn_thickness_mm=1.9,
            fibre="wool",
            pattern="plain",
            homes=(30.0,),
            changes=(Stint(18, 106, 3.75),),
        ),
        gauge_rounds_per_cm=3.3,
        planned_rounds=56,
        colours=_run(_TWO_YARDS, (*_EMBER, 0.3), (*_ASH, 0.3), (*_DUSK, 0.4)),
        notes=((17, "Down to 3.75 mm, and one stitch more. The needle did less than I thought."),),
    ),
    Chapter(
        slug="03-storm-week-yoke",
        name="Storm-week yoke",
        about="Two repeats a round, and a week's storm in the middle that nobody logged.",
        begun=_day(2024, 11, 26),
        seed=303,
        plan=Undertaking(
            stitches=145,
            rounds=64,
            gauge_stitches_per_cm=2.0,
            repeats=2,
            needle_mm=4.5,
            yarn_thickness_mm=2.4,
            fibre="wool",
            pattern="plain",
            homes=(40.0,),
            unlogged=((34, 1.9),),
            missing_rate=0.06,
        ),
        gauge_rounds_per_cm=2.7,
        planned_rounds=64,
        colours=_run(_SIXTY_INCHES, (*_LICHEN, 0.55), (*_SNOW, 0.45)),
        notes=((33, "Storm for six days, knitting by the lamp and listening to the shutters."),),
        skeins_joined=(33,),
    ),
    Chapter(
        slug="04-long-night-wristers",
        name="Long-night wristers",
        about="Ribbing takes less yarn than plain; the count was a stitch or two out.",
        begun=_day(2025, 1, 8),
        seed=304,
        plan=Undertaking(
            stitches=95,
            rounds=36,
            gauge_stitches_per_cm=2.6,
            needle_mm=3.5,
            yarn_thickness_mm=1.7,
            fibre="wool",
            pattern="ribbing",
            homes=(26.0,),
            miscount_rate=0.04,
        ),
        gauge_rounds_per_cm=3.4,
        planned_rounds=36,
        colours=_run(_SIXTY_INCHES, (*_LAMP, 0.45), (*_DUSK, 0.55)),
        minutes_a_round=8.0,
    ),
    Chapter(
        slug="05-chimney-shawl-collar",
        name="Chimney shawl collar",
        about="Alpaca drapes and takes more yarn; a needle up, the other way this time.",
        begun=_day(2025, 2, 3),
        seed=305,
        plan=Undertaking(
            stitches=67,
            rounds=50,
            gauge_stitches_per_cm=2.0,
            needle_mm=4.0,
            yarn_thickness_mm=2.4,
            fibre="alpaca and wool",
            pattern="plain",
            homes=(18.0,),
            changes=(Stint(21, 65, 4.5),),
        ),
        gauge_rounds_per_cm=2.6,
        planned_rounds=52,
        colours=_run(_SIXTY_INCHES, (*_GENTIAN, 0.5), (*_SNOW, 0.3), (*_ASH, 0.2)),
        notes=((20, "4.5 mm and two stitches fewer, to keep the width. Better."),),
    ),
    Chapter(
        slug="06-thaw-headband",
        name="Thaw headband",
        about="Short, in line almost from the start: the count was chosen from what went before.",
        begun=_day(2025, 3, 20),
        seed=306,
        plan=Undertaking(
            stitches=83,
            rounds=24,
            gauge_stitches_per_cm=2.3,
            needle_mm=4.0,
            yarn_thickness_mm=2.0,
            fibre="wool",
            pattern="plain",
            homes=(33.0,),
        ),
        gauge_rounds_per_cm=3.1,
        planned_rounds=24,
        colours=_run(_SIXTY_INCHES, (*_LICHEN, 0.4), (*_LAMP, 0.3), (*_SLATE, 0.3)),
        minutes_a_round=8.0,
    ),
    Chapter(
        slug="07-spring-water-top",
        name="Spring-water top",
        about="Cotton: less yarn in a stitch. A needle up and two stitches fewer put it right.",
        begun=_day(2025, 4, 30),
        seed=307,
        plan=Undertaking(
            stitches=108,
            rounds=60,
            gauge_stitches_per_cm=2.5,
            repeat_length_mm=_TWO_YARDS,
            needle_mm=3.5,
            yarn_thickness_mm=1.8,
            fibre="cotton",
            pattern="plain",
            homes=(28.0, 80.0),
            changes=(Stint(17, 106, 3.75),),
            rounding=1.0,
        ),
        gauge_rounds_per_cm=3.2,
        planned_rounds=62,
        colours=_run(_TWO_YARDS, (*_GENTIAN, 0.2), (*_SNOW, 0.5), (*_LICHEN, 0.3)),
        every_days=2,
    ),
    Chapter(
        slug="08-hay-loft-cushion",
        name="Hay-loft cushion",
        about="Wool again on the big needle, then down a size; the year's habits show.",
        begun=_day(2025, 7, 12),
        seed=308,
        plan=Undertaking(
            stitches=68,
            rounds=56,
            gauge_stitches_per_cm=1.9,
            needle_mm=5.0,
            yarn_thickness_mm=2.7,
            fibre="wool",
            pattern="plain",
            homes=(22.0,),
            changes=(Stint(22, 70, 4.5),),
        ),
        gauge_rounds_per_cm=2.5,
        planned_rounds=56,
        colours=_run(_SIXTY_INCHES, (*_LARCH, 0.5), (*_EMBER, 0.2), (*_SLATE, 0.3)),
        notes=(
            (41, "The needle and two stitches together did a little too much; easing back now."),
        ),
        every_days=3,
    ),
    Chapter(
        slug="09-second-frost-hat",
        name="Second-frost hat",
        about="On the needles: the first hat's yarn once more, the count chosen by the year's end.",
        begun=_day(2025, 10, 2),
        seed=309,
        plan=Undertaking(
            stitches=80,
            rounds=14,
            gauge_stitches_per_cm=2.2,
            needle_mm=4.0,
            yarn_thickness_mm=2.1,
            fibre="wool",
            pattern="plain",
            homes=(24.0,),
        ),
        gauge_rounds_per_cm=3.0,
        planned_rounds=42,
        colours=_run(_SIXTY_INCHES, (*_SLATE, 0.4), (*_SNOW, 0.35), (*_LARCH, 0.25)),
        finished=False,
    ),
)
"""The year's projects before they are knitted."""
