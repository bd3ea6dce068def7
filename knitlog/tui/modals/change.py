"""The change sheet: another needle, another stitch count, or both.

Returns a :class:`Change`.  Enter on the last question saves, Tab moves on.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from textual import on
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Input, Static

from knitlog.tui import answers
from knitlog.tui.modals.sheet import Sheet
from knitlog.tui.widgets.question import Question


@dataclass(frozen=True, slots=True)
class Change:
    """A change of needle or stitch count, from some round on."""

    from_round: int
    needle_mm: float | None
    """None leaves the needle as it is."""
    stitches: int | None
    """None leaves the stitch count as it is."""


class ChangeSheet(Sheet[Change]):
    """Asks what changed, and from which round on."""

    def __init__(self, *, next_round: int, needle: str, stitches: int) -> None:
        super().__init__()
        self._next_round, self._needle, self._stitches = next_round, needle, stitches

    def compose(self) -> ComposeResult:
        """Three questions; what is left empty stays as it is."""
        with VerticalScroll(classes="sheet", can_focus=False) as sheet:
            sheet.border_title = "Change needle or stitch count"
            sheet.border_subtitle = "Tab next · Enter saves · Esc leaves"
            yield Static("Leave empty what stays as it is.", classes="faint")
            yield Question(
                "Needle from now on",
                answers.maybe_needle,
                id="needle",
                placeholder=f"now {self._needle}; such as 5mm, US 8 or UK 6",
            )
            yield Question(
                "Stitches in the round from now on",
                partial(answers.maybe_whole, what="the stitches in the round", example=132),
                id="stitches",
                placeholder=f"now {self._stitches}",
            )
            yield Question(
                "First round knitted that way",
                partial(answers.whole, what="the round", example=self._next_round),
                id="from-round",
                value=str(self._next_round),
            )

    @on(Input.Submitted)
    def _save(self) -> None:
        needle: Question[float | None] = self.query_one("#needle", Question)
        stitches: Question[int | None] = self.query_one("#stitches", Question)
        from_round: Question[int] = self.query_one("#from-round", Question)
        try:
            change = Change(from_round.answer(), needle.answer(), stitches.answer())
        except ValueError:
            return  # the question says what was wrong
        if change.needle_mm is None and change.stitches is None:
            needle.field.focus()
            return
        self.dismiss(change)
