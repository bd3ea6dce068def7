"""The joining sheet: where to join the next skein so that the stack goes on."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any, ClassVar

from knitlog.plan.joining import plan_join
from knitlog.tui.modals.live import LiveSheet, Reader
from knitlog.tui.plan_answers import maybe
from knitlog.tui.widgets.question import Question
from knitlog.yarn.units import format_length, parse_length

if TYPE_CHECKING:
    from knitlog.yarn.colours import ColourRun


class JoinSheet(LiveSheet):
    """Asks where in the colours the old yarn ends and the new one begins."""

    TITLE_WORDS: ClassVar[str] = "Joining a skein"
    ABOUT_WORDS: ClassVar[str] = (
        "Lay both along the tape as they will be knitted, and read each from where the repeat "
        "begins: where the old yarn ends, where the new one starts."
    )

    def __init__(self, run: ColourRun | None) -> None:
        """``run``: the colours of both skeins."""
        super().__init__()
        self._run = run

    def questions(self) -> tuple[Question[Any], ...]:
        """Four; the last only helps where the run reads the same from both ends."""
        read = self.readers()
        return (
            Question(
                "The old yarn ends, into the repeat",
                partial(maybe, read["old"]),
                id="old",
                inline=True,
                placeholder="such as 52cm",
            ),
            Question(
                "The new skein begins",
                partial(maybe, read["new"]),
                id="new",
                inline=True,
                placeholder="such as 10cm",
            ),
            Question(
                "Tail to weave in",
                partial(maybe, read["tail"]),
                id="tail",
                value="15cm",
                inline=True,
            ),
            Question(
                "Its other end, if it turns back",
                partial(maybe, read["other"]),
                id="other",
                inline=True,
                placeholder="may be left empty",
            ),
        )

    def readers(self) -> dict[str, Reader]:
        """Lengths all."""
        return dict.fromkeys(("old", "new", "tail", "other"), parse_length)

    def work_out(self, told: dict[str, Any]) -> str:
        """Where to cut and to join."""
        if self._run is None:
            raise ValueError("Describe the colours on the Plan screen first, then ask here.")
        if told["old"] is None or told["new"] is None:
            raise ValueError("Type where the old yarn ends and where the new skein begins.")
        found = plan_join(
            self._run,
            told["old"],
            told["new"],
            tail_mm=told["tail"] or 0.0,
            new_other_end_mm=told["other"],
        )
        return f"{found.sentence} Cut to waste: {format_length(found.cut_mm)}."
