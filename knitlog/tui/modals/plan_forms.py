"""What planning asks beside its screen: begin, the cast-on, whether the yarn is enough, a join.

All but the first save nothing: their answer stands below the questions as she types.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.widget import Widget
from textual.widgets import Static

from knitlog.plan.cast_on import check_cast_on, off_from_yarn_left
from knitlog.plan.joining import plan_join
from knitlog.plan.yarn_enough import rounds_left_by_label, rounds_left_by_length
from knitlog.report.plan_words import cast_on_words, enough_words, join_words
from knitlog.tui.fact_fields import name_field
from knitlog.tui.form import Field, number_of, whole_field
from knitlog.tui.modals.form_sheet import FormSheet, LiveSheet, Told
from knitlog.typed.measures import parse_length, parse_skein, parse_weight
from knitlog.typed.text import TypedError
from knitlog.yarn.units import format_length

if TYPE_CHECKING:
    from knitlog.drift import Estimate
    from knitlog.yarn.colours import ColourRun

_MAY_BE_EMPTY = "may be left empty"


@dataclass(frozen=True, slots=True)
class Begin:
    """What to call it and how long it will be."""

    name: str
    rounds: int | None
    """Rounds planned, if said."""


class BeginSheet(FormSheet[Begin]):
    """Asks for the name of the project of the chosen plan."""

    TITLE_WORDS = "Begin this project"
    HINT = "Enter next, then begins · F1 help · Esc back to the plan"
    ABOUT = "The plan is kept as the project's facts: they can be changed later."

    def __init__(self, plan: str, contingency: str, unit: str, rounds: int | None) -> None:
        """``plan``: the choice in words; ``contingency``: what to do if it does not stack."""
        self._plan, self._contingency = plan, contingency
        planned = whole_field("rounds", f"{unit.capitalize()}s planned", 60, rounds, _MAY_BE_EMPTY)
        super().__init__((name_field(), planned))

    def above(self) -> Iterable[Widget]:
        """The choice."""
        yield Static(self._plan, classes="strong", markup=False)
        yield Static(self._contingency, classes="faint", markup=False)

    def value(self, told: Told) -> Begin:
        """Name and rounds."""
        return Begin(**told["name"], rounds=told["rounds"])


def cast_on_sheet(
    unit: str,
    stitches: int | None = None,
    tolerance: float = 3.0,
    repeats: float = 1.0,
    repeat_mm: float | None = None,
) -> LiveSheet:
    """Ask where the colours came back when all stitches were on; filled in as the plan knows."""

    def work_out(told: Told) -> str:
        if told["stitches"] is None:
            raise ValueError("Type how many stitches are cast on.")
        off = told["off"]
        if off is None and told["left"] is not None:
            if repeat_mm is None:
                raise ValueError(
                    "The length of the repeat is not known: count the stitches, or describe the "
                    "colours on the Plan screen first."
                )
            off = off_from_yarn_left(told["left"], told["stitches"], repeats, repeat_mm)
        if off is None:
            raise ValueError("Type how many stitches past or short of the last one it came back.")
        return cast_on_words(check_cast_on(off, told["stitches"], tolerance))

    past = "Stitches past the last (- short)"
    return LiveSheet(
        (
            whole_field("stitches", "Stitches cast on", 128, stitches, least=2),
            Field("off", past, number_of("the stitches", "-4"), "", "such as -4 or 2.5"),
            Field("left", "or yarn of the repeats left over", parse_length, "", "such as 6cm"),
        ),
        "Cast-on check",
        f"A cast-on should use exactly as many repeats as a {unit} will. Where did the colours "
        "come back when all the stitches were on? Count the stitches, or measure the yarn.",
        work_out,
    )


def yarn_enough_sheet(
    unit: str,
    each: Estimate | None = None,
    stitches: int | None = None,
    rounds: int | None = None,
) -> LiveSheet:
    """Ask what is left, and how long it should last; ``each``: yarn per stitch, mm."""

    def work_out(told: Told) -> str:
        if each is None:
            raise ValueError("Say on the Plan screen how much yarn a stitch takes, then ask here.")
        if told["stitches"] is None or told["left"] is None:
            raise ValueError(f"Type the stitches in a {unit} and the yarn left.")
        length, weight = told["left"]
        if length is not None:
            found = rounds_left_by_length(length, told["stitches"], each)
        elif told["skein"] is None:
            raise ValueError("By weight it takes a whole skein's label too, such as 400m/100g.")
        else:
            whole_mm, whole_g = told["skein"]
            found = rounds_left_by_label(weight, whole_mm, whole_g, told["stitches"], each)
        return " ".join(enough_words(found, told["rounds"]))

    skein = "A whole skein, if by weight"
    return LiveSheet(
        (
            whole_field("stitches", f"Stitches in a {unit}", 128, stitches, least=2),
            Field("left", "Yarn left", _length_or_weight, "", "such as 180m or 34g"),
            Field("skein", skein, parse_skein, "", "such as 400m/100g"),
            whole_field("rounds", f"{unit.capitalize()}s still to knit", 60, rounds, _MAY_BE_EMPTY),
        ),
        "Yarn enough?",
        "What is left, as a length, or as a weight on the scale with the length and weight of a "
        "whole skein from its label. Keep back what the bind-off takes: about three times the "
        "width.",
        work_out,
    )


def join_sheet(run: ColourRun | None) -> LiveSheet:
    """Ask where in the colours ``run`` of both skeins the old one ends and the new one begins."""

    def work_out(told: Told) -> str:
        if run is None:
            raise ValueError("Describe the colours on the Plan screen first, then ask here.")
        if told["old"] is None or told["new"] is None:
            raise ValueError("Type where the old yarn ends and where the new skein begins.")
        tail, other = told["tail"] or 0.0, told["other"]
        found = plan_join(run, told["old"], told["new"], tail_mm=tail, new_other_end_mm=other)
        return f"{join_words(found)} Cut to waste: {format_length(found.cut_mm)}."

    old, other = "The old yarn ends, into the repeat", "Its other end, if it turns back"
    return LiveSheet(
        (
            Field("old", old, parse_length, "", "such as 52cm"),
            Field("new", "The new skein begins", parse_length, "", "such as 10cm"),
            Field("tail", "Tail to weave in", parse_length, "15cm"),
            Field("other", other, parse_length, "", _MAY_BE_EMPTY),
        ),
        "Joining a skein",
        "Lay both along the tape as they will be knitted, and read each from where the repeat "
        "begins: where the old yarn ends, where the new one starts.",
        work_out,
    )


def _length_or_weight(text: str) -> tuple[float | None, float | None]:
    """A length in mm, or a weight in g."""
    try:
        return parse_length(text), None
    except TypedError as not_a_length:
        try:
            return None, parse_weight(text)
        except TypedError:
            raise not_a_length from None
