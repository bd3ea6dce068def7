"""The cast-on sheet: whether it used exactly its repeats, and whether to cast on again."""

from __future__ import annotations

from functools import partial
from typing import Any, ClassVar

from knitlog.plan.cast_on import check_cast_on, off_from_yarn_left
from knitlog.tui import answers
from knitlog.tui.modals.live import LiveSheet, Reader
from knitlog.tui.plan_answers import maybe
from knitlog.tui.widgets.question import Question
from knitlog.yarn.units import parse_length


class CastOnSheet(LiveSheet):
    """Asks where the colours came back when all stitches were on."""

    TITLE_WORDS: ClassVar[str] = "Cast-on check"
    ABOUT_WORDS: ClassVar[str] = (
        "A cast-on should use exactly as many repeats as a round will. Where did the colours come "
        "back when all the stitches were on? Count the stitches, or measure the yarn."
    )

    def __init__(
        self,
        stitches: int | None = None,
        tolerance: float = 3.0,
        repeats: float = 1.0,
        repeat_mm: float | None = None,
    ) -> None:
        """Fill in what the plan knows."""
        super().__init__()
        self._stitches, self._tolerance = stitches, tolerance
        self._repeats, self._repeat = repeats, repeat_mm

    def questions(self) -> tuple[Question[Any], ...]:
        """Three, the first filled in by the plan."""
        read = self.readers()
        return (
            Question(
                "Stitches cast on",
                read["stitches"],
                id="stitches",
                value="" if self._stitches is None else str(self._stitches),
                inline=True,
                placeholder="such as 128",
            ),
            Question(
                "Stitches past the last (- short)",
                partial(maybe, read["off"]),
                id="off",
                inline=True,
                placeholder="such as -4 or 2.5",
            ),
            Question(
                "or yarn of the repeats left over",
                partial(maybe, read["left"]),
                id="left",
                inline=True,
                placeholder="such as 6cm",
            ),
        )

    def readers(self) -> dict[str, Reader]:
        """Whole stitches, a number with its sign, a length."""
        return {
            "stitches": partial(answers.whole, what="the stitches cast on", example=128, least=2),
            "off": partial(answers.number, what="the stitches", example="-4"),
            "left": parse_length,
        }

    def work_out(self, told: dict[str, Any]) -> str:
        """What to do about the cast-on."""
        if told["stitches"] is None:
            raise ValueError("Type how many stitches are cast on.")
        off = told["off"]
        if off is None and told["left"] is not None:
            if self._repeat is None:
                raise ValueError(
                    "The length of the repeat is not known: count the stitches, or describe the "
                    "colours on the Plan screen first."
                )
            off = off_from_yarn_left(told["left"], told["stitches"], self._repeats, self._repeat)
        if off is None:
            raise ValueError("Type how many stitches past or short of the last one it came back.")
        return check_cast_on(off, told["stitches"], self._tolerance).why
