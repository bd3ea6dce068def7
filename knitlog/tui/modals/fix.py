"""The fix sheet: what was done about the drift, the advice filled in.

Returns :class:`Deeds`: what to write to the journal, and how to say it.  The
list holds the recommended fix first: Enter takes it as it stands.  Tab goes to
the numbers, for what was done a little differently; Enter saves from there too.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from textual import on
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from knitlog.journal import actions
from knitlog.report.words import plain, signed
from knitlog.tui import answers
from knitlog.tui.fix_choices import Choice, fix_choices
from knitlog.tui.modals.sheet import Sheet
from knitlog.tui.open_project import Deed
from knitlog.tui.widgets.question import Question

if TYPE_CHECKING:
    from knitlog.journal.project import ProjectState
    from knitlog.workbench import Look


@dataclass(frozen=True, slots=True)
class Deeds:
    """What was done, ready for the journal."""

    words: str
    """As in 'Saved: ...'."""
    steps: tuple[Deed, ...]
    """In the order they are to be written."""


class FixSheet(Sheet[Deeds]):
    """Asks what was done."""

    DEFAULT_CSS = """
    FixSheet {
        & OptionList, & OptionList:focus {
            height: auto; max-height: 8; border: none; background: $ground; padding: 0;
            margin: 1 0;
        }
        & .sheet Question { margin: 0; }
        & OptionList:focus > .option-list--option-highlighted { text-style: bold; }
    }
    """

    def __init__(self, state: ProjectState, view: Look | None) -> None:
        super().__init__()
        self._state = state
        self._choices = fix_choices(view)
        self._chosen = self._choices[0]

    def compose(self) -> ComposeResult:
        """The choices, then their numbers."""
        with VerticalScroll(classes="sheet", can_focus=False) as sheet:
            sheet.border_title = f"What did you do after round {self._state.last_round}?"
            sheet.border_subtitle = (
                "↑ ↓ choose · Enter saves · Tab changes the numbers · Esc leaves"
            )
            yield OptionList(*(Option(choice.words) for choice in self._choices), markup=False)
            yield Question(
                "Offset taken out (minus: put in)",
                _maybe_number,
                id="taken-out",
                placeholder="stitches; empty if none",
                inline=True,
            )
            yield Question(
                "Spread over",
                _maybe_number,
                id="over",
                placeholder="stitches; may be left empty",
                inline=True,
            )
            yield Question(
                "New needle",
                answers.maybe_needle,
                id="needle",
                placeholder="empty if it is the same",
                inline=True,
            )
            yield Question(
                "New stitch count",
                partial(answers.maybe_whole, what="the stitches in the round", example=132),
                id="stitches",
                placeholder="empty if it is the same",
                inline=True,
            )
            yield Static(id="told", classes="strong", markup=False)

    def on_mount(self) -> None:
        """Begin with the recommended choice."""
        self.query_one(OptionList).focus()
        self.query_one(OptionList).highlighted = 0
        self._fill_in(self._choices[0])

    @on(OptionList.OptionHighlighted)
    def _look_at(self, event: OptionList.OptionHighlighted) -> None:
        self._fill_in(self._choices[event.option_index])

    @on(OptionList.OptionSelected)
    def _take(self, event: OptionList.OptionSelected) -> None:
        self._fill_in(self._choices[event.option_index])
        self._save()

    @on(Input.Submitted)
    def _submit(self) -> None:
        self._save()

    def _fill_in(self, choice: Choice) -> None:
        self._chosen = choice
        for part, value in (
            ("taken-out", _text(choice.taken_out)),
            ("over", _text(choice.over_stitches)),
            ("needle", "" if choice.needle_mm is None else f"{choice.needle_mm:g}mm"),
            ("stitches", _text(choice.stitches)),
        ):
            self.query_one(f"#{part}", Question).set_value(value)

    def _save(self) -> None:
        try:
            taken_out, over, needle, stitches = (
                self.query_one(f"#{part}", Question).answer()
                for part in ("taken-out", "over", "needle", "stitches")
            )
        except ValueError:
            return  # the question says what was wrong
        deeds = _deeds(self._state, self._chosen.how, taken_out, over, needle, stitches)
        if deeds is None:
            self.query_one("#told", Static).update("! Fill in what was done, or leave with Esc.")
            return
        self.dismiss(deeds)


def _deeds(
    state: ProjectState,
    how: str,
    taken_out: float | None,
    over: float | None,
    needle: float | None,
    stitches: int | None,
) -> Deeds | None:
    words: list[str] = []
    steps: list[Deed] = []
    if taken_out:
        words.append(f"{how}, {signed(-taken_out)} stitches after round {state.last_round}")
        steps.append(
            partial(
                actions.make_fix,
                taken_out=taken_out,
                after_round=state.last_round,
                how=how,
                over_stitches=over,
            )
        )
    if needle is not None and needle != state.needle_mm:
        words.append(f"{needle:g} mm needles from round {state.next_round}")
        steps.append(partial(actions.change_needle, needle_mm=needle, from_round=state.next_round))
    if stitches is not None and stitches != state.stitches:
        words.append(f"{stitches} stitches from round {state.next_round}")
        steps.append(
            partial(actions.change_stitches, stitches=stitches, from_round=state.next_round)
        )
    return Deeds(" and ".join(words), tuple(steps)) if steps else None


def _maybe_number(text: str) -> float | None:
    return answers.number(text, what="the stitches", example="12 or -3.5") if text else None


def _text(value: float | None) -> str:
    return "" if value is None else plain(value)
