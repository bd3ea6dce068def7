"""The questions of the Plan screen, and what the answers amount to.

Why apart from the screen: what is typed becomes one question to the plan room here, and
can be tested without drawing anything.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from knitlog.analysis.fabrics import stand_in_run
from knitlog.drift.fit_result import Estimate
from knitlog.drift.prior import Prior
from knitlog.hands.next_project import yarn_of_projects
from knitlog.plan.run_notation import parse_colour_run
from knitlog.plan.stitch_colours import Fabric, knit_fabric
from knitlog.plan.stitch_count import Candidate, StitchCountQuestion, find_stitch_counts
from knitlog.plan.stitch_yarn import (
    CombinedYarn,
    combine,
    from_gauge,
    from_tags,
    from_unravelling,
)
from knitlog.plan.yarn_path import carry_on, tension_errors
from knitlog.report.plan_words import candidate_row, candidate_words, nothing_fits_words
from knitlog.tui.form import Field, number_of, read_form, whole_field
from knitlog.typed.measures import (
    Units,
    length_system,
    needle_system,
    parse_gauge,
    parse_length,
    parse_lengths,
    parse_multiple,
    parse_needle,
    parse_needles,
)
from knitlog.typed.numbers import parse_numbers
from knitlog.typed.text import TypedError
from knitlog.yarn.colours import ColourRun
from knitlog.yarn.needle_sizes import needle_number

_MOST_CANDIDATES = 30
_PREVIEW_ROUNDS, _MOST_PREVIEW_ROUNDS = 40, 400
_STACKED = ("stacked", "stack", "0", "")
MINE = "mine"
"""Typed for what her finished projects say."""


@dataclass(frozen=True, slots=True)
class Colours:
    """The colours along one repeat, or only how long it is."""

    run: ColourRun | None
    repeat_mm: float


def colours(text: str) -> Colours:
    """A colour run, or the bare length of one repeat.

    >>> colours("152cm").repeat_mm, colours("rose 30cm, moss 45cm").repeat_mm
    (1520.0, 750.0)
    """
    try:
        return Colours(None, parse_length(text))
    except TypedError:
        run = parse_colour_run(text)
        return Colours(run, run.repeat_length_mm)


def pulled_out(text: str) -> tuple[float, list[float]]:
    """Stitches pulled out, and the lengths of yarn measured in mm.

    >>> pulled_out("40 = 82cm, 81.5cm")
    (40.0, [820.0, 815.0])
    """
    count, equals, lengths = text.partition("=")
    if not equals:
        raise ValueError("Type the stitches, = and the yarn, such as 40 = 82cm, 81.5cm.")
    return number_of("the stitches pulled out", "40")(count.strip()), parse_lengths(lengths)


def multiple(text: str) -> tuple[int, int]:
    """The pattern's multiple, and the stitches beyond it.

    >>> multiple("8 + 1"), multiple("4")
    ((8, 1), (4, 0))
    """
    found = parse_multiple(text)
    if not found[0]:
        raise ValueError("The stitch count is what is sought here: type the multiple, such as 4.")
    return found


def repeats(text: str) -> tuple[float, ...]:
    """Repeats a round that may do."""
    found = tuple(parse_numbers(text, "1, 2"))
    if not found or min(found) <= 0:
        raise ValueError("Type the repeats a round may have, such as 1, 2.")
    return found


def wanted_drift(text: str) -> float:
    """Stacked, or a spiral of so many stitches a round.

    >>> wanted_drift("stacked"), wanted_drift("-2"), wanted_drift("spiral 1.5")
    (0.0, -2.0, 1.5)
    """
    words = text.lower().removeprefix("spiral").strip()
    if words in _STACKED and not text.lower().startswith("spiral"):
        return 0.0
    return number_of("stacked, or the spiral's stitches a round", "2")(words)


def round_or_flat(text: str) -> str:
    """How it is worked: ``round`` or ``flat``."""
    found = text.lower().removeprefix("in the ")
    if found not in ("round", "flat"):
        raise ValueError("Type round or flat.")
    return found


_COUNT, _SIZES = number_of("the stitches", "3"), "4mm, 5mm"

ASKED: tuple[Field, ...] = (
    Field(
        "run",
        "Colours along one repeat",
        colours,
        placeholder="rose 30cm, moss 45cm",
        about="As they come off the ball, each with its length, relaxed; or only the length of "
        "one repeat, as 60in. Ctrl+N: runs kept before, step by step, checks.",
        head="The yarn",
    ),
    Field(
        "turn",
        "The reel's turn",
        parse_length,
        placeholder="such as 60in",
        about="One turn of the reel it was dyed on, if you know it: the colours should add up to "
        "it, or to a little less.",
    ),
    Field(
        "gauge",
        "Gauge",
        parse_gauge,
        placeholder="20 st/10cm or 20 st/4in",
        about="Stitches across a swatch. Alone it tells the yarn a stitch takes to about 8 in 100: "
        "pulling out a few stitches is much better.",
        head="Yarn a stitch takes",
    ),
    Field(
        "pulled",
        "Pulled out",
        pulled_out,
        placeholder="40 = 82cm, 81.5cm",
        about="Count 40 stitches of a swatch, pull them out and measure the yarn, once or more: "
        "40 = 82cm, 81.5cm.",
    ),
    Field(
        "tags",
        "Between tags",
        lambda text: tuple(parse_numbers(text, "127; 127.5")),
        placeholder="127, 127.5",
        about="Hang a tag on the yarn where a colour begins and one where it begins again, and "
        "count the stitches knitted between them. The best way of all.",
    ),
    Field(
        "past",
        "Your past projects",
        lambda text: MINE if text.lower() == MINE else tuple(parse_lengths(text)),
        placeholder="mine, or 20.4mm, 20.9mm",
        about="mine: what your finished projects here say of this needle. Or type the yarn per "
        "stitch of past projects with this yarn and needle. Empty: do without.",
    ),
    Field(
        "needle",
        "Needle",
        parse_needle,
        placeholder="4.5mm or US 7",
        about="The one the swatch was knitted with.",
        head="What you want",
    ),
    Field("owned", "Other needles you own", parse_needles, "", _SIZES, "They are tried too."),
    Field(
        "size",
        "Size around",
        parse_length,
        placeholder="54cm or 21in; empty: any",
        about="Finished, around the body of it; the width, worked flat. Up to 5 in 100 off is let "
        "pass.",
    ),
    Field(
        "multiple",
        "Stitch pattern repeats over",
        multiple,
        "1",
        "4, or 8 + 1",
        "Ribbing of 2 and 2 repeats over 4. 8 + 1 is a multiple of 8, and one over.",
    ),
    Field(
        "repeats",
        "Repeats a round",
        repeats,
        "1, 2, 3",
        "1, 2",
        "Once around the colours, twice, three times: whichever you would like.",
    ),
    Field(
        "look",
        "Stacked, or a spiral",
        wanted_drift,
        "stacked",
        "stacked, or 2 for a spiral",
        "Stacked, or a slow spiral of so many stitches a round: 2 moves past, -2 falls short.",
    ),
    Field(
        "tolerance",
        "Tolerance, in stitches",
        _COUNT,
        "3",
        "3",
        "Up to this far off you are content.",
    ),
    replace(
        whole_field("rounds", "Rounds planned", 60, None),
        about="How many rounds the preview shows, and the project is planned for.",
    ),
    Field(
        "worked",
        "In the round, or flat",
        round_or_flat,
        "round",
        "round or flat",
        "In the round on a circular needle, or in rows back and forth.",
        tells_flat=True,
    ),
)


def find_yarn(told: Mapping[str, Any], mine: Estimate | None = None) -> dict[str, Estimate]:
    """Yarn per stitch, mm, by each way that is told of, by what the way is called.

    ``mine``: by all her finished projects, where she asks for that.

    Raises:
        ValueError: nothing is known; the sentence says what to type.

    """
    found: dict[str, Estimate] = {}
    if told["gauge"] is not None:
        found["gauge"] = from_gauge(told["gauge"])
    if told["pulled"] is not None:
        found["pulled out"] = from_unravelling(*told["pulled"])
    if told["tags"]:
        found["tags"] = from_tags(told["tags"], told["run"].repeat_mm)
    if told["past"] == MINE:
        if mine is not None:
            found["your hands"] = mine
    elif told["past"]:
        found["past projects"] = yarn_of_projects((mm, 0.0) for mm in told["past"])
    if not found:
        raise ValueError("Type a gauge, or pull out a few stitches and measure their yarn.")
    return found


@dataclass(frozen=True, slots=True)
class PlanAsked:
    """The form as one question."""

    question: StitchCountQuestion
    yarn: CombinedYarn
    """Yarn per stitch, all ways together."""
    ways: tuple[str, ...]
    """What each way is called, in the order they were combined."""
    run: ColourRun | None
    rounds: int | None
    flat: bool
    units: Units
    """What she measures sizes in, and the numbers she has for needles."""
    given: dict[str, str]
    """What she typed for a length, a needle or the gauge, by the key of the fact."""

    def found(self) -> tuple[tuple[Candidate, ...], str]:
        """The stitch counts that fit; or the nearest, with a sentence why none does."""
        found = find_stitch_counts(self.question)
        said = nothing_fits_words(self.question, found, self.units.lengths)
        return found.candidates[:_MOST_CANDIDATES], said

    def row(self, c: Candidate) -> tuple[str, ...]:
        """One line of the list."""
        return candidate_row(c, self.units.lengths, needle_number(c.needle_mm, self.units.needles))

    def words(self, c: Candidate) -> str:
        """One stitch count in a sentence."""
        return candidate_words(c, self.units.lengths, flat=self.flat, units=self.units)

    def fabric(self, c: Candidate) -> tuple[Fabric, str]:
        """The fabric to expect of one, with a hand's usual unevenness; its caption.

        Raises:
            PlanError: it cannot be drawn.

        """
        run = self.run or stand_in_run(self.question.repeat_length_mm)
        rounds = min(self.rounds or _PREVIEW_ROUNDS, _MOST_PREVIEW_ROUNDS)
        errors = tension_errors(rounds, math.exp(Prior().log_tension_noise(c.stitches)), seed=0)
        path = carry_on(0.0, c.drift.mean, c.stitches, rounds, errors)
        kind = "row" if self.flat else "round"
        stand_in = "" if self.run else " (stand-in colours)"
        caption = f"{c.stitches} stitches, {c.drift.mean:+.1f} a {kind}{stand_in}"
        return knit_fabric(run, path, c.repeats, flat=self.flat), caption


def plan_asked(texts: Mapping[str, str], *, mine: Estimate | None = None) -> PlanAsked:
    """Put what is typed together; what cannot be read counts as not typed.

    ``mine``: yarn per stitch on that needle by her finished projects, mm, if there are any.

    Raises:
        ValueError: something needed is missing; the sentence says what to type.

    """
    told = read_form(ASKED, texts)
    if told["run"] is None:
        raise ValueError("Type the yarn's colours along one repeat, or the length of one.")
    if told["past"] == MINE and mine is None and told["needle"] is not None:
        raise ValueError("No finished project says what you do: leave your past projects empty.")
    ways = find_yarn(told, mine)
    if told["needle"] is None:
        raise ValueError("Type the needle the swatch was knitted with.")
    yarn = combine(list(ways.values()))
    pattern, extra = told["multiple"] or (1, 0)
    question = StitchCountQuestion(
        yarn_per_stitch=yarn.estimate,
        repeat_length_mm=told["run"].repeat_mm,
        needle_mm=told["needle"],
        gauge=told["gauge"],
        wanted_size_mm=told["size"],
        multiple=pattern,
        extra=extra,
        repeats=told["repeats"] or (1, 2, 3),
        other_needles_mm=told["owned"] or (),
        wanted_drift=told["look"] or 0.0,
        tolerance=3.0 if told["tolerance"] is None else told["tolerance"],
    )
    return PlanAsked(
        question,
        yarn,
        tuple(ways),
        told["run"].run,
        told["rounds"],
        told["worked"] == "flat",
        Units(length_system(texts.get("size", "")), needle_system(texts["needle"])),
        {
            fact: texts[key]
            for fact, key in _KEPT_AS_TYPED.items()
            if texts.get(key) and not (key == "run" and told["run"].run)
        },
    )


_KEPT_AS_TYPED = {
    "repeat-length": "run",
    "needle": "needle",
    "gauge": "gauge",
    "needles-owned": "owned",
}
"""Questions whose text a project begun by the plan keeps, by the key of the fact."""
