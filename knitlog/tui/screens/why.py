"""The why sheet: the reason for the advice, the other remedies, and the numbers.

Why a sheet of its own: the advice card must be read in two seconds; whoever
wants the numbers asks for them with one key.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.table import Table
from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from knitlog.journal.factkeys import format_number
from knitlog.report.words import counted, plain, signed
from knitlog.tui.modals.sheet import Sheet
from knitlog.tui.widgets.advice_card import numbered
from knitlog.workbench.around import around_the_round
from knitlog.workbench.counted_at import HEADING, WORTH, counted_at

if TYPE_CHECKING:
    from knitlog.advice import Advice
    from knitlog.drift import DriftFit, Estimate
    from knitlog.journal.facts import ProjectFacts
    from knitlog.workbench import Look


class WhySheet(Sheet[None]):
    """Reason, remedies side by side, numbers; Escape or ``w`` closes it."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("w", "leave", "Back", show=False)]

    DEFAULT_CSS = """
    WhySheet { background: $ground; }
    WhySheet .sheet { height: 100%; max-width: 100; }
    WhySheet .head { text-style: bold; color: $key; margin: 1 0 0 0; }
    """

    def __init__(self, view: Look) -> None:
        super().__init__()
        self._view = view

    def compose(self) -> ComposeResult:
        """The reason first, the numbers last."""
        view = self._view
        with VerticalScroll(classes="sheet") as sheet:
            sheet.border_title = "Why"
            sheet.border_subtitle = "↑ ↓ scroll · Esc back"
            yield Static(view.verdict, classes="strong", markup=False)
            if view.advice is not None:
                yield Static("What to do", classes="head")
                yield Static(numbered(view.advice.steps))
                yield Static("The reason", classes="head")
                yield Static(view.advice.why, markup=False)
                yield Static("What would change it", classes="head")
                yield Static(view.advice.would_change, markup=False)
                yield Static("Every remedy, side by side", classes="head")
                yield Static(_remedies(view.advice))
                yield from _not_here(view.advice)
            if view.fit is not None:
                yield Static("The numbers", classes="head")
                yield Static(_numbers(view.fit))
            for question in view.questions:
                yield Static(f"? {question.sentence}", markup=False)
            for problem in view.problems:
                yield Static(f"! {problem}", markup=False)
            if view.advice is not None:
                yield Static(HEADING, classes="head")
                yield Static(_counted(view.state.facts))
                yield Static(f"{WORTH} To set your own: p, at the needles.")
            if view.fit is None and view.advice is None:
                yield Static("Log a few rounds first: then there is something to explain.")


def _remedies(advice: Advice) -> Table:
    table = Table(box=None, padding=(0, 1), expand=True, header_style="bold")
    table.add_column("What", ratio=1)
    for head in ("In line", "Fixes", "Work", "Size"):
        table.add_column(head, justify="right", no_wrap=True)
    for option in advice.options:
        if not option.feasible:
            continue
        chosen = option == advice.recommended
        table.add_row(
            Text(f"{'► ' if chosen else '  '}{option.title}", style="bold" if chosen else ""),
            f"{option.share_in_tolerance:.0%}",
            plain(option.expected_fixes),
            f"{option.minutes:.0f} min",
            f"{signed(option.size_change_percent)} %",
        )
    return table


def _not_here(advice: Advice) -> ComposeResult:
    for option in advice.options:
        if not option.feasible:
            yield Static(f"Not here: {option.title}. {option.reason}", markup=False)


def _numbers(fit: DriftFit) -> Table:
    table = Table.grid(padding=(0, 2))
    table.add_column()
    table.add_column()
    table.add_row("Drift", f"{_spread(fit.drift)} stitches a round (+ is past)")
    table.add_row("Colours now", f"{_spread(fit.offset)} stitches from their place")
    if fit.yarn_per_stitch_mm is not None:
        yarn = fit.yarn_per_stitch_mm
        aim = fit.target_yarn_per_stitch_mm
        words = f"{yarn.mean:.2f} mm ({yarn.low95:.2f} to {yarn.high95:.2f})"
        table.add_row(
            "Yarn per stitch", words if aim is None else f"{words}, {aim:.2f} mm would be in line"
        )
    error = fit.yarn_error_percent
    table.add_row(
        "Yarn per stitch off by",
        f"{error.mean:+.1f} % ({error.low95:+.1f} to {error.high95:+.1f})",
    )
    table.add_row("Your tension varies by", f"{plain(fit.tension_noise_sd)} stitches a round")
    table.add_row("Your readings vary by", f"{plain(fit.reading_noise_sd)} stitches")
    table.add_row("Logged", counted(fit.rounds_logged, "round"))
    for stint in fit.stint_drifts:
        needle = "" if stint.needle_mm is None else f", {stint.needle_mm:g} mm"
        table.add_row(
            f"Rounds {stint.first_round} to {stint.last_round}"
            if stint.first_round < stint.last_round
            else f"Round {stint.first_round}",
            f"{signed(stint.drift.mean)} a round on {stint.stitches} stitches{needle}",
        )
    for where, told in around_the_round(fit):
        table.add_row(where, told)
    for warning in fit.warnings:
        table.add_row("Mind", warning)
    return table


def _counted(facts: ProjectFacts) -> Table:
    """What the advice counted the work at; hers stand out, and say so."""
    table = Table.grid(padding=(0, 2))
    table.add_column()
    table.add_column(justify="right")
    table.add_column()
    for work in counted_at(facts):
        weight = "bold" if work.own else ""
        table.add_row(work.words, Text(format_number(work.minutes), style=weight), work.whose)
    return table


def _spread(estimate: Estimate) -> str:
    return (
        f"{signed(estimate.mean)} ({signed(estimate.low95)} to {signed(estimate.high95)}, "
        "19 times in 20)"
    )
