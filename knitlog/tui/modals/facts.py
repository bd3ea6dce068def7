"""The facts sheet: the settings of a project that may change while it is knitted.

Returns :class:`FactsChange`, ready for the journal.  Enter saves, Escape leaves.
The stitch count and the needle are not here: a change of those is a moment in
the knitting, and is logged as one.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from textual import on
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Input, Static

from knitlog.journal.factkeys import format_number
from knitlog.tui import answers
from knitlog.tui.modals.sheet import Sheet
from knitlog.tui.widgets.question import Question
from knitlog.workbench.counted_at import HEADING, WORTH, counted_at
from knitlog.yarn.gauge import format_gauge
from knitlog.yarn.units import format_length

if TYPE_CHECKING:
    from knitlog.journal.facts import ProjectFacts


@dataclass(frozen=True, slots=True)
class FactsChange:
    """What is to change, by the journal's names for it."""

    changes: dict[str, Any]


_MINUTES = "minutes-"
"""Before the name of a kind of work, in the id of its question."""


class FactsSheet(Sheet[FactsChange]):
    """Asks for the settings, filled in as they are; an empty line for minutes is the usual."""

    DEFAULT_CSS = """
    FactsSheet .sheet Question { margin: 0; }
    FactsSheet .head { text-style: bold; }
    """

    def __init__(self, facts: ProjectFacts) -> None:
        super().__init__()
        self._facts = facts

    def compose(self) -> ComposeResult:
        """One line a setting."""
        facts = self._facts
        length = facts.repeat_length_mm
        with VerticalScroll(classes="sheet", can_focus=False) as sheet:
            sheet.border_title = "The facts of this project"
            sheet.border_subtitle = "Tab next · Enter saves · Esc leaves"
            yield Question(
                "Tolerance, in stitches",
                partial(answers.number, what="the stitches", example="3"),
                id="tolerance",
                value=f"{facts.tolerance:g}",
                inline=True,
            )
            yield Question(
                "Rounds planned",
                partial(answers.maybe_whole, what="the rounds", example=60),
                id="planned_rounds",
                value="" if facts.planned_rounds is None else str(facts.planned_rounds),
                inline=True,
            )
            yield Question(
                "Stitch pattern repeats over",
                answers.multiple,
                id="multiple",
                value=answers.multiple_words(facts.multiple),
                inline=True,
            )
            yield Question(
                "Other needles you own",
                answers.needles,
                id="needles_owned_mm",
                value=", ".join(f"{mm:g}" for mm in facts.needles_owned_mm),
                inline=True,
            )
            yield Question(
                "Length of one colour repeat",
                answers.maybe_length,
                id="repeat_length_mm",
                value="" if length is None else format_length(length),
                inline=True,
            )
            yield Question(
                "Wanted slide a round (0 stacks)",
                partial(answers.number, what="the stitches", example="0 or 2"),
                id="target_drift",
                value=f"{facts.target_drift:g}",
                inline=True,
            )
            yield Question(
                "Gauge",
                answers.maybe_gauge,
                id="gauge",
                value="" if facts.gauge is None else format_gauge(facts.gauge),
                inline=True,
            )
            yield Static(HEADING, classes="head")
            for work in counted_at(facts):
                yield Question(
                    work.words,
                    answers.maybe_minutes,
                    id=f"{_MINUTES}{work.name}",
                    value=format_number(work.minutes) if work.own else "",
                    placeholder=f"{format_number(work.usual)}, as usual",
                    inline=True,
                )
            yield Static(f"Leave one empty for the usual. {WORTH}", classes="faint")

    @on(Input.Submitted)
    def _save(self) -> None:
        changes: dict[str, Any] = {}
        minutes: dict[str, float | None] = {}
        # what she did not touch is left alone to the last digit: it is shown rounded
        for question in self.query(Question):
            try:
                answer = question.answer()
            except ValueError:
                question.field.focus()
                return
            if not question.touched:
                continue
            if question.id == "gauge":
                changes["gauge_stitches_per_cm"] = answer and answer.stitches_per_cm
                changes["gauge_rounds_per_cm"] = answer and answer.rounds_per_cm
            elif (question.id or "").startswith(_MINUTES):
                minutes[(question.id or "").removeprefix(_MINUTES)] = answer
            else:
                changes[question.id or ""] = answer
        if minutes:
            changes["minutes"] = minutes
        cleared = tuple(name for name, value in changes.items() if value is None)
        changes = {name: value for name, value in changes.items() if value is not None}
        self.dismiss(FactsChange({**changes, "cleared": cleared} if cleared else changes))
