"""What can be logged as done, made from the advice: each choice with its numbers filled in.

Why apart from the sheet: turning an option of the advice into what the journal
takes is plain data, and tested as such.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from knitlog.advice import Option
    from knitlog.workbench import Look

TAPESTRY = "tapestry needle"
RIP_BACK = "rip back"


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing that may have been done, with its numbers."""

    words: str
    """As listed."""
    how: str = TAPESTRY
    """How an offset was taken out."""
    taken_out: float | None = None
    """Stitches of offset taken out; None if none were."""
    over_stitches: float | None = None
    """Stitches it was spread over."""
    needle_mm: float | None = None
    """The new needle, mm; None if it is the same."""
    stitches: int | None = None
    """The new stitch count; None if it is the same."""


def fix_choices(view: Look | None) -> tuple[Choice, ...]:
    """Everything worth offering: the recommended first, then the rest, then by hand."""
    found: list[Choice] = []
    if view is not None and view.advice is not None:
        advice = view.advice
        ranked = [advice.recommended, *(o for o in advice.options if o != advice.recommended)]
        for option in ranked:
            if option.feasible and (choice := choice_of(option)) is not None:
                found.append(choice)
    offset = 0.0 if view is None or view.fit is None else view.fit.offset.mean
    by_hand = round(offset * 2) / 2
    found.append(Choice("Something else: fill it in below", taken_out=by_hand))
    return tuple(found)


def choice_of(option: Option) -> Choice | None:
    """What taking ``option`` means for the journal; None where there is nothing to log."""
    details = option.details
    needle, count = details.get("needle_mm"), details.get("stitches")
    taken_out = details.get("taken_out_stitches")
    over = details.get("over_stitches")
    if needle is None and count is None and taken_out is None:
        return None
    return Choice(
        option.title,
        how=str(details.get("fix_by", option.remedy if option.remedy == RIP_BACK else TAPESTRY)),
        taken_out=None if taken_out is None else float(taken_out),
        over_stitches=None if over is None else float(over),
        needle_mm=None if needle is None else float(needle),
        stitches=None if count is None else int(count),
    )
