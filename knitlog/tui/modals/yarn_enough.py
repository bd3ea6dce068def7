"""The yarn sheet: how many rounds the yarn left will make, by length or by the scale."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any, ClassVar

from knitlog.plan.yarn_enough import rounds_left_by_label, rounds_left_by_length
from knitlog.tui import answers
from knitlog.tui.modals.live import LiveSheet, Reader
from knitlog.tui.plan_answers import maybe, skein
from knitlog.tui.widgets.question import Question
from knitlog.yarn.errors import YarnError
from knitlog.yarn.units import format_length, parse_length, parse_weight

if TYPE_CHECKING:
    from knitlog.drift import Estimate


class YarnEnoughSheet(LiveSheet):
    """Asks what is left, and for how many rounds it should last."""

    TITLE_WORDS: ClassVar[str] = "Yarn enough?"
    ABOUT_WORDS: ClassVar[str] = (
        "What is left, as a length, or as a weight on the scale with the length and weight of a "
        "whole skein from its label. Keep back what the bind-off takes: about three times the "
        "width."
    )

    def __init__(
        self,
        yarn_per_stitch: Estimate | None,
        stitches: int | None = None,
        rounds: int | None = None,
    ) -> None:
        """Fill in what the plan knows."""
        super().__init__()
        self._each, self._stitches, self._rounds = yarn_per_stitch, stitches, rounds

    def questions(self) -> tuple[Question[Any], ...]:
        """Four, filled in as far as the plan goes."""
        read = self.readers()
        return (
            Question(
                "Stitches in a round",
                read["stitches"],
                id="stitches",
                value="" if self._stitches is None else str(self._stitches),
                inline=True,
                placeholder="such as 128",
            ),
            Question(
                "Yarn left",
                partial(maybe, read["left"]),
                id="left",
                inline=True,
                placeholder="such as 180m or 34g",
            ),
            Question(
                "A whole skein, if by weight",
                partial(maybe, read["skein"]),
                id="skein",
                inline=True,
                placeholder="such as 400m/100g",
            ),
            Question(
                "Rounds still to knit",
                partial(answers.maybe_whole, what="the rounds", example=60),
                id="rounds",
                value="" if self._rounds is None else str(self._rounds),
                inline=True,
                placeholder="may be left empty",
            ),
        )

    def readers(self) -> dict[str, Reader]:
        """Whole numbers, a length or a weight, a label."""
        return {
            "stitches": partial(answers.whole, what="the stitches", example=128, least=2),
            "left": _length_or_weight,
            "skein": skein,
            "rounds": partial(answers.maybe_whole, what="the rounds", example=60),
        }

    def work_out(self, told: dict[str, Any]) -> str:
        """How far it goes."""
        if self._each is None:
            raise ValueError("Say on the Plan screen how much yarn a stitch takes, then ask here.")
        if told["stitches"] is None or told["left"] is None:
            raise ValueError("Type the stitches in a round and the yarn left.")
        length, weight = told["left"]
        if length is not None:
            found = rounds_left_by_length(length, told["stitches"], self._each)
        elif told["skein"] is None:
            raise ValueError("By weight it takes a whole skein's label too, such as 400m/100g.")
        else:
            whole_mm, whole_g = told["skein"]
            found = rounds_left_by_label(weight, whole_mm, whole_g, told["stitches"], self._each)
        words = [
            f"Enough for about {found.rounds_left.mean:.0f} rounds; "
            f"{found.sure_rounds} of them for sure (39 times in 40)."
        ]
        if found.length_per_round_mm is not None:
            words.append(f"A round takes {format_length(found.length_per_round_mm.mean)}.")
        if told["rounds"] is not None:
            chance = found.chance_for(told["rounds"])
            odds = min(max(round(100 * chance), 1), 99)
            words.append(f"It lasts {told['rounds']} rounds {odds} times in 100.")
        return " ".join(words)


def _length_or_weight(text: str) -> tuple[float | None, float | None]:
    """A length in mm, or a weight in g."""
    try:
        return parse_length(text), None
    except YarnError as not_a_length:
        try:
            return None, parse_weight(text)
        except YarnError:
            raise not_a_length from None
