"""My hands in sentences, in pictures, in rows."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from enum import Enum
from math import exp
from typing import TYPE_CHECKING

from knitlog.report.parts import Part
from knitlog.report.words import between, spread
from knitlog.yarn.geometry import USUAL_YARN_THICKNESS_MM

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from knitlog.analysis.past import Learnt
    from knitlog.drift import Estimate
    from knitlog.hands.learn import FixHabit, Hands
    from knitlog.hands.next_project import KindKnitted
    from knitlog.hands.pooling import Pooled
    from knitlog.hands.records import Materials
    from knitlog.hands.yarn_model import YarnModel
    from knitlog.report.interval_drawing import IntervalDrawing
    from knitlog.report.parts import Row

KIND_HEAD = ("Needle", "Fibre", "Pattern", "Projects", "So far, mm", "Next yarn, mm")
NEXT_PROJECT = "What to expect of the next project, beside any knitter"
_FEW = 3
_EVEN = 0.05
_HARDLY = 0.15
"""Stitches a round over 40 rounds that nobody sees."""


def sentences(hands: Hands) -> tuple[str, ...]:
    """Return what is known of the knitter, a sentence each, most useful first."""
    if not hands.known:
        return (
            "No finished project to learn from yet: finish one and its rounds will count here.",
        )
    return tuple(_told(hands))


def _told(hands: Hands) -> Iterator[str]:
    count = len(hands.projects)
    yield (
        f"From {count} finished project{'' if count == 1 else 's'}"
        + (
            ": too few to say much, so most of this is still what holds for any knitter."
            if count < _FEW
            else "."
        )
    )
    yield from _yarn(hands)
    yield from _kinds(hands)
    yield _response(hands)
    w, m = exp(hands.tension_noise.mean.mean), exp(hands.reading_noise.mean.mean)
    yield (
        f"Your rounds differ from one another by about {w:.1f} stitches on 128, and you read a "
        f"colour change to about {m:.1f}."
    )
    if hands.sitting_runs:
        yield _sitting(hands)
    if hands.creep.count:
        yield _creep(hands)
    if hands.purl.count:
        yield _purl(hands.purl)
    if hands.tension_answer.count:
        yield _tension_answer(hands.tension_answer)
    for habit in hands.fixes:
        yield _fix(habit)


def _yarn(hands: Hands) -> Iterator[str]:
    from knitlog.hands.records import Materials

    model = hands.yarn
    if not model.sightings:
        return
    # told of what she knits most: of a kind never knitted less is known
    kind = Counter(
        Materials(fibre=s.materials.fibre, stitch_pattern=s.materials.stitch_pattern)
        for s in model.sightings
    )
    usual = kind.most_common(1)[0][0]
    what = " ".join(word for word in (usual.stitch_pattern, usual.fibre) if word)
    e = model.expect(usual, new_project=False)
    new = model.expect(usual)
    opening = f"In {what} a stitch" if what else "A stitch"
    if hands.by_gauge.sightings:
        yield (
            f"{opening} of yours takes {exp(e.mean):.1f} stitch widths of yarn "
            f"(between {exp(e.low95):.1f} and {exp(e.high95):.1f})."
        )
    else:
        yield (
            f"{opening} of yours takes {100.0 * exp(e.mean):.0f} % of the loop round the needle "
            f"(between {100.0 * exp(e.low95):.0f} and {100.0 * exp(e.high95):.0f} %)."
        )
    within = 50.0 * (exp(new.high95 - new.mean) - exp(new.low95 - new.mean))
    yield f"In a new yarn expect that to within {within:.0f} % either way, 19 times in 20."


def _kinds(hands: Hands) -> Iterator[str]:
    model = hands.yarn
    for what, values, kinds in (
        ("fibre", *_known(model, "fibre")),
        ("stitch pattern", *_known(model, "stitch_pattern")),
    ):
        if len(values) < 2:
            continue
        found = [model.expect(kind, new_project=False).mean for kind in kinds]
        middle = sum(found) / len(found)
        parts = [
            f"{value} {_whole(100.0 * (exp(log_ratio - middle) - 1.0))} %"
            for value, log_ratio in zip(values, found, strict=True)
        ]
        yield f"Yarn per stitch by {what}, against their average: {', '.join(parts)}."


def _whole(percent: float) -> str:
    """A share of yarn that nobody knows to a tenth."""
    return f"{round(percent):+d}" if round(percent) else "0"


def _known(model: YarnModel, field: str) -> tuple[list[str], list[Materials]]:
    from knitlog.hands.records import Materials

    found = {getattr(s.materials, field) for s in model.sightings}
    values = sorted(value for value in found if value is not None)
    return values, [Materials(**{field: value}) for value in values]


def _response(hands: Hands) -> str:
    from knitlog.hands.next_project import step_percent

    pooled = hands.needle_response
    if not pooled.count:
        return (
            "You have not changed needles in a finished project, so what a needle step does in "
            "your hands is not known yet."
        )
    f = pooled.mean
    step = step_percent(hands, 4.0, 4.5, USUAL_YARN_THICKNESS_MM)
    how = (
        "as much as the loop round the needle says"
        if abs(f.mean - 1.0) < _EVEN
        else f"{100.0 * f.mean:.0f} % of what the loop round the needle says"
    )
    times = f"{pooled.count} change{'' if pooled.count == 1 else 's'}"
    return (
        f"A needle step changes your yarn per stitch by {how} ({times}): from 4.0 to 4.5 mm "
        f"expect {spread(step)} %."
    )


def _sitting(hands: Hands) -> str:
    e = hands.sittings
    if e.high95 < 0.3:
        return "Your tension hardly differs from one sitting to the next."
    return (
        f"From one sitting to the next your drift differs by about {e.mean:.1f} stitches a round "
        f"on 128 (between {e.low95:.1f} and {e.high95:.1f})."
    )


def _creep(hands: Hands) -> str:
    if hands.wander < _HARDLY:
        return "Within a project your tension hardly changes."
    return (
        f"Within a project your tension wanders: over 40 rounds the drift may change by about "
        f"{hands.wander:.1f} stitches a round on 128, either way."
    )


def _purl(purl: Pooled) -> str:
    e, rows = purl.mean, _projects(purl.count)
    if e.low95 <= 0.0 <= e.high95:
        return f"Your purl rows take about as much yarn as your knit rows ({rows} worked flat)."
    more = "more" if e.mean > 0 else "less"
    return (
        f"Your purl rows take {abs(e.mean):.1f} % {more} yarn than your knit rows "
        f"({rows} worked flat)."
    )


def _tension_answer(answer: Pooled) -> str:
    e = answer.mean
    asked = _projects(answer.count)
    return (
        f"Asked to knit looser or tighter your hand gives {100.0 * max(e.mean, 0.0):.0f} % of what "
        f"is asked ({100.0 * e.low95:.0f} to {100.0 * e.high95:.0f} %, {asked}): to have 1 % ask "
        f"for {1.0 / max(e.mean, 0.1):.1f} %."
    )


def _projects(count: int) -> str:
    return f"{count} project{'' if count == 1 else 's'}"


def _fix(habit: FixHabit) -> str:
    share = habit.share
    e = share.mean
    times = f"{share.count} time{'' if share.count == 1 else 's'}"
    lands = f"{100.0 * e.mean:.0f} % of what you mean them to"
    if e.low95 <= 1.0 <= e.high95:
        lands += ", which may as well be all of it"
    elif e.mean < 1.0:
        lands += ": you take out too little"
    else:
        lands += ": you take out too much"
    return (
        f"Fixes by {habit.how} ({times}) do {lands}; one differs from the next by about "
        f"{100.0 * share.between_sd:.0f} %."
    )


class HabitUnit(Enum):
    """What a habit is measured in: those of one unit stand in one picture."""

    SHARE = "share; 1 is all of it"
    STITCHES = "stitches (on 128)"
    PERCENT = "% of the yarn"

    @property
    def told(self) -> str:
        """The unit in words."""
        return self.value


@dataclass(frozen=True, slots=True)
class Habit:
    """One thing hands do: of any knitter, and of this one."""

    label: str
    unit: HabitUnit
    any_knitter: Estimate
    yours: Estimate
    key: str
    """For JSON, with its unit."""


def habits(hands: Hands) -> tuple[Habit, ...]:
    """What is known of her hands beside any knitter's, as what to expect of the next project."""
    from knitlog.hands.learn import any_landing, learn

    nobody = learn(())
    found = [
        Habit(
            "A needle step does",
            HabitUnit.SHARE,
            nobody.needle_response.next,
            hands.needle_response.next,
            "needle_answer_share",
        ),
        Habit(
            "Rounds differ by",
            HabitUnit.STITCHES,
            _of_log(nobody.tension_noise.next),
            _of_log(hands.tension_noise.next),
            "tension_noise_stitches_on_128",
        ),
        Habit(
            "Readings are out by",
            HabitUnit.STITCHES,
            _of_log(nobody.reading_noise.next),
            _of_log(hands.reading_noise.next),
            "reading_noise_stitches",
        ),
        Habit(
            "Sittings differ by",
            HabitUnit.STITCHES,
            nobody.sittings,
            hands.sittings,
            "sitting_noise_stitches_per_round_on_128",
        ),
    ]
    if hands.purl.count:
        found.append(
            Habit(
                "Purl rows take more by",
                HabitUnit.PERCENT,
                nobody.purl.next,
                hands.purl.next,
                "purl_more_percent",
            )
        )
    if hands.tension_answer.count:
        found.append(
            Habit(
                "A tension asked is given",
                HabitUnit.SHARE,
                nobody.tension_answer.next,
                hands.tension_answer.next,
                "tension_answer_share",
            )
        )
    belief = any_landing().next
    found += [
        Habit(
            f"{h.how.capitalize()} does",
            HabitUnit.SHARE,
            belief,
            h.share.next,
            f"fix_share_{h.how}",
        )
        for h in hands.fixes
    ]
    return tuple(found)


def _of_log(e: Estimate) -> Estimate:
    from knitlog.drift import Estimate as Plain

    middle = exp(e.mean)
    return Plain(middle, middle * e.sd, exp(e.low95), exp(e.high95))


def kind_rows(kinds: Sequence[KindKnitted]) -> list[Row]:
    """Yarn per stitch by needle, fibre and pattern."""
    rows: list[Row] = []
    for kind in kinds:
        low, high = f"{kind.low_mm:.1f}", f"{kind.high_mm:.1f}"
        seen = low if low == high else f"{low} to {high}"
        e = kind.next_mm
        rows.append(
            (
                "-" if kind.needle_mm is None else f"{kind.needle_mm:g} mm",
                kind.fibre or "-",
                kind.stitch_pattern or "-",
                str(kind.projects),
                seen,
                "-" if e is None else between(e),
            )
        )
    return rows


def interval_drawings(hands: Hands) -> tuple[IntervalDrawing, ...]:
    """What to expect of the next project, beside any knitter: a picture for each unit."""
    from knitlog.report.interval_drawing import Beside, IntervalDrawing

    found = habits(hands)
    units = [unit for unit in HabitUnit if any(h.unit is unit for h in found)]
    return tuple(
        IntervalDrawing(
            unit.told,
            tuple(Beside(h.label, h.any_knitter, h.yours) for h in found if h.unit is unit),
            at=1.0 if unit is HabitUnit.SHARE else None,
            keyed=unit is units[0],
        )
        for unit in units
    )


def left_out_sentences(learnt: Learnt) -> tuple[str, ...]:
    """One sentence for each project that could not be learnt from."""
    return tuple(f"{name} is left out: {why}" for name, why in learnt.left_out)


def hands_parts(hands: Hands, problems: Sequence[str] = ()) -> Iterator[Part]:
    """All of it, the pictures first."""
    from knitlog.hands.next_project import kinds_knitted

    drawn = interval_drawings(hands) if hands.known else ()
    for heading, drawing in zip((NEXT_PROJECT, "", ""), drawn, strict=False):
        yield Part(heading, drawing=drawing)
    yield Part("What your finished projects say", sentences(hands))
    if hands.known:
        yield Part("Yarn per stitch", head=KIND_HEAD, rows=tuple(kind_rows(kinds_knitted(hands))))
    if problems:
        yield Part(said=tuple(f"! {problem}" for problem in problems))
