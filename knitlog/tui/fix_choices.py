"""What can be logged as done, made from the advice: each choice with its numbers filled in.

Why apart from the sheet: turning an option of the advice into what the journal
takes is plain data, and tested as such.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from knitlog.report.advice_words import tell
from knitlog.report.words import plain
from knitlog.typed.measures import Units

if TYPE_CHECKING:
    from knitlog.advice import Option
    from knitlog.analysis.analysis import Analysis

TAPESTRY = "tapestry needle"
RIP_BACK = "rip back"
STACK_FROM_HERE = "stack from here"
START_AGAIN = "start again"
_BY_ITSELF = (STACK_FROM_HERE, START_AGAIN)
"""Remedies that are something done even without a number."""


@dataclass(frozen=True, slots=True)
class FixChoice:
    """One thing that may have been done, with its numbers."""

    words: str
    """As listed."""
    how: str = TAPESTRY
    """How an offset was taken out."""
    taken_out: float | None = None
    """Stitches of offset taken out; None if none were."""
    over_stitches: float | None = None
    """Stitches it was spread over."""
    needle: str = ""
    """The new needle as she types it; empty if it is the same."""
    stitches: int | None = None
    """The new stitch count; None if it is the same."""
    tension_percent: float | None = None
    """What is asked of the hand, + is looser; None if it is as before."""
    aim_stitch: float | None = None
    """Where the colour is to be let fall in the coming round."""
    new_home: bool = False
    """Whether the colours are let stack where they are now."""

    def texts(self) -> dict[str, str]:
        """Its numbers as they are typed, by the name of the line."""
        return {
            "taken-out": _text(self.taken_out),
            "over": _text(self.over_stitches),
            "needle": self.needle,
            "stitches": _text(self.stitches),
            "tension": _text(self.tension_percent),
        }


def fix_choices(view: Analysis | None) -> tuple[FixChoice, ...]:
    """Everything worth offering: the recommended first, then the rest, then by hand."""
    found: list[FixChoice] = []
    if view is not None and view.advice is not None:
        units = view.advice.situation.units
        for one in tell(view.advice).options:
            choice = choice_of(one.option, one.title, units)
            if one.option.feasible and choice is not None:
                found.append(choice)
    offset = 0.0 if view is None or view.fit is None else view.fit.offset_now
    by_hand = round(offset * 2) / 2
    found.append(FixChoice("Something else: fill it in below", taken_out=by_hand))
    return tuple(found)


def choice_of(option: Option, title: str = "", units: Units | None = None) -> FixChoice | None:
    """What taking ``option`` means for the journal; None where there is nothing to log.

    ``units`` is what she measures in.
    """
    details = option.details
    needle, count = details.get("needle_mm"), details.get("stitches")
    taken_out = details.get("taken_out_stitches")
    over, tension = details.get("over_stitches"), details.get("tension_percent")
    remedy, new_home = str(option.remedy), bool(details.get("new_home"))
    numbers = (needle, count, taken_out, tension)
    if remedy not in _BY_ITSELF and not new_home and all(number is None for number in numbers):
        return None
    usual = remedy if remedy in (RIP_BACK, *_BY_ITSELF) else TAPESTRY
    return FixChoice(
        title or str(option.remedy),
        how=str(details.get("fix_by", usual)),
        taken_out=None if taken_out is None else float(taken_out),
        over_stitches=None if over is None else float(over),
        needle="" if needle is None else (units or Units()).short_needle(float(needle)),
        stitches=None if count is None else int(count),
        tension_percent=None if tension is None else float(tension),
        aim_stitch=None if details.get("aim_stitch") is None else float(details["aim_stitch"]),
        new_home=new_home or remedy == STACK_FROM_HERE,
    )


def _text(value: float | None) -> str:
    return "" if value is None else plain(value)
