"""The questions of the Plan screen, and what the answers amount to.

Why apart from the screen: what is typed becomes one question to the plan room here, and
can be tested without drawing anything.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

from knitlog.drift.result import Estimate
from knitlog.plan.colour_run import parse_colour_run
from knitlog.plan.stitch_count import StitchCountQuestion
from knitlog.tui import answers
from knitlog.tui import plan_answers as read
from knitlog.tui.plan_answers import YarnFound, YarnWays, find_yarn
from knitlog.yarn.colours import ColourRun
from knitlog.yarn.errors import YarnError
from knitlog.yarn.gauge import parse_gauge
from knitlog.yarn.needles import parse_needle
from knitlog.yarn.units import System, parse_length


@dataclass(frozen=True, slots=True)
class Asked:
    """One question of the form."""

    id: str
    label: str
    read: Callable[[str], Any]
    """Turns what was typed, never empty, into the answer; raises ValueError."""
    placeholder: str = ""
    value: str = ""
    about: str = ""
    """What it means, for the line at the bottom."""
    head: str = ""
    """Head of the group it begins."""


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
    except YarnError:
        run = parse_colour_run(text)
        return Colours(run, run.repeat_length_mm)


ASKED: tuple[Asked, ...] = (
    Asked(
        "run",
        "Colours along one repeat",
        colours,
        "rose 30cm, moss 45cm",
        about="As they come off the ball, each with its length, relaxed; or only the length of "
        "one repeat, as 60in. Ctrl+O: runs kept before, step by step, checks.",
        head="The yarn",
    ),
    Asked(
        "turn",
        "The reel's turn",
        parse_length,
        "such as 60in",
        about="One turn of the reel it was dyed on, if you know it: the colours should add up to "
        "it, or to a little less.",
    ),
    Asked(
        "gauge",
        "Gauge",
        parse_gauge,
        "20 st/10cm or 20 st/4in",
        about="Stitches across a swatch. Alone it tells the yarn a stitch takes to about 8 in 100: "
        "pulling out a few stitches is much better.",
        head="Yarn a stitch takes",
    ),
    Asked(
        "pulled",
        "Pulled out",
        read.pulled_out,
        "40 = 82cm, 81.5cm",
        about="Count 40 stitches of a swatch, pull them out and measure the yarn, once or more: "
        "40 = 82cm, 81.5cm.",
    ),
    Asked(
        "tags",
        "Between tags",
        lambda text: tuple(read.tag_counts(text)),
        "127, 127.5",
        about="Hang a tag on the yarn where a colour begins and one where it begins again, and "
        "count the stitches knitted between them. The best way of all.",
    ),
    Asked(
        "past",
        "Your past projects",
        lambda text: MINE if text.lower() == MINE else tuple(read.past_yarns(text)),
        "mine, or 20.4mm, 20.9mm",
        about="mine: what your finished projects here say of this needle. Or type the yarn per "
        "stitch of past projects with this yarn and needle. Empty: do without.",
    ),
    Asked(
        "needle",
        "Needle",
        parse_needle,
        "4.5mm or US 7",
        about="The one the swatch was knitted with.",
        head="What you want",
    ),
    Asked(
        "owned",
        "Other needles you own",
        answers.needles,
        "4mm, 5mm",
        about="They are tried too.",
    ),
    Asked(
        "size",
        "Size around",
        parse_length,
        "54cm or 21in; empty: any",
        about="Finished, around the body of it; the width, worked flat. Up to 5 in 100 off is let "
        "pass.",
    ),
    Asked(
        "multiple",
        "Stitch pattern repeats over",
        read.multiple,
        "4, or 8 + 1",
        "1",
        about="Ribbing of 2 and 2 repeats over 4. 8 + 1 is a multiple of 8, and one over.",
    ),
    Asked(
        "repeats",
        "Repeats a round",
        read.repeats,
        "1, 2",
        "1, 2, 3",
        about="Once around the colours, twice, three times: whichever you would like.",
    ),
    Asked(
        "look",
        "Stacked, or a spiral",
        read.wanted_drift,
        "stacked, or 2 for a spiral",
        "stacked",
        about="Stacked, or a slow spiral of so many stitches a round: 2 moves past, -2 falls "
        "short.",
    ),
    Asked(
        "tolerance",
        "Tolerance, in stitches",
        partial(answers.number, what="the stitches", example="3"),
        "3",
        "3",
        about="Up to this far off you are content.",
    ),
    Asked(
        "rounds",
        "Rounds planned",
        partial(answers.whole, what="the rounds", example=60),
        "such as 60",
        about="How many rounds the preview shows, and the project is planned for.",
    ),
    Asked(
        "worked",
        "In the round, or flat",
        answers.round_or_flat,
        "round or flat",
        "round",
        about="Round and round, or rows back and forth.",
    ),
)
NEEDED = ("run", "needle")
"""Without these nothing can be worked out."""


@dataclass(frozen=True, slots=True)
class PlanAsked:
    """The form as one question."""

    question: StitchCountQuestion
    yarn: YarnFound
    run: ColourRun | None
    rounds: int | None
    flat: bool
    system: System
    """The units she types sizes in."""


def read_form(texts: Mapping[str, str]) -> dict[str, Any]:
    """Each answer by its question's id; None where nothing, or nothing readable, is typed."""
    told: dict[str, Any] = {}
    for asked in ASKED:
        text = texts.get(asked.id, "").strip()
        try:
            told[asked.id] = asked.read(text) if text else None
        except ValueError:
            told[asked.id] = None
    return told


def plan_asked(
    told: Mapping[str, Any], size_text: str = "", *, mine: Estimate | None = None
) -> PlanAsked:
    """Put the answers together.

    ``mine``: yarn per stitch on that needle by her finished projects, mm, if there are any.

    Raises:
        ValueError: something needed is missing; the sentence says what to type.

    """
    if told["run"] is None:
        raise ValueError("Type the yarn's colours along one repeat, or the length of one.")
    repeat_mm = told["run"].repeat_mm
    by_hand = told["past"] == MINE
    if by_hand and mine is None and told["needle"] is not None:
        raise ValueError("No finished project says what you do: leave your past projects empty.")
    ways = YarnWays(
        gauge=told["gauge"],
        pulled_out=told["pulled"],
        between_tags=told["tags"] or (),
        past=() if by_hand else told["past"] or (),
        mine=mine if by_hand else None,
    )
    yarn = find_yarn(ways, repeat_mm)
    if told["needle"] is None:
        raise ValueError("Type the needle the swatch was knitted with.")
    multiple, extra = told["multiple"] or (1, 0)
    question = StitchCountQuestion(
        yarn_per_stitch=yarn.estimate,
        repeat_length_mm=repeat_mm,
        needle_mm=told["needle"],
        gauge=told["gauge"],
        wanted_size_mm=told["size"],
        multiple=multiple,
        extra=extra,
        repeats=told["repeats"] or (1, 2, 3),
        other_needles_mm=told["owned"] or (),
        wanted_drift=told["look"] or 0.0,
        tolerance=3.0 if told["tolerance"] is None else told["tolerance"],
    )
    inches = "in" in size_text.lower() or '"' in size_text
    return PlanAsked(
        question,
        yarn,
        told["run"].run,
        told["rounds"],
        told["worked"] == "flat",
        "imperial" if inches else "metric",
    )
