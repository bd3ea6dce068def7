"""The colour run as a bar, and the key that names each colour.

Why letters in the bar: two colours that look alike to some eyes, or on some
terminals, still have two letters and two names.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.color import Color
from rich.style import Style
from rich.text import Text

from knitlog.plan.run_notation import lettered
from knitlog.report.ansi16 import ANSI16, distinct_ansi16, legible_on
from knitlog.yarn.units import format_length

if TYPE_CHECKING:
    from textual.app import App

    from knitlog.yarn.colours import ColourRun


def run_bar(app: App[object], run: ColourRun, width: int) -> Text:
    """One repeat of the yarn, ``width`` columns long, a letter on each colour."""
    whole = run.unfolded
    letters = lettered([segment.name for segment in whole])
    styles = styles_of(app, [segment.colour for segment in whole])
    bar = Text(no_wrap=True)
    begin = 0
    for letter, style, end_mm in zip(letters, styles, run.boundaries_mm, strict=True):
        end = max(round(width * end_mm / run.repeat_length_mm), begin + 1)
        bar.append(letter * (end - begin), style)
        begin = end
    return bar


def run_key(app: App[object], run: ColourRun, *, lengths: bool = False) -> Text:
    """Each colour once: its letter on it, its name, and its length if asked for."""
    styles = styles_of(app, [segment.colour for segment in run.segments])
    letters = lettered([segment.name for segment in run.segments])
    key = Text()
    for letter, segment, style in zip(letters, run.segments, styles, strict=True):
        if key:
            key.append("  ")
        key.append(f" {letter} ", style)
        words = f" {segment.name}"
        key.append(f"{words} {format_length(segment.length_mm)}" if lengths else words)
    if run.palindrome:
        key.append("  and back")
    return key


def styles_of(app: App[object], palette: Sequence[str]) -> list[Style]:
    """A ground for each colour with ink that is legible on it; none where there is no colour."""
    if app.no_color or app.console.color_system is None:
        return [Style(reverse=number % 2 == 1) for number in range(len(palette))]
    return [
        Style(color=ink_on(ground), bgcolor=ground) for ground in terminal_colours(app, palette)
    ]


def ink_on(ground: Color) -> Color:
    """Black or white, whichever is legible on a colour of :func:`terminal_colours`."""
    if ground.triplet is not None:
        return Color.from_ansi(legible_on(ground.triplet.hex))
    return Color.from_ansi(legible_on(ANSI16[ground.number or 0]))


def terminal_colours(app: App[object], palette: Sequence[str]) -> list[Color]:
    """The palette as this terminal can show it: its own colour each, even of sixteen."""
    if app.console.color_system in ("standard", "windows"):
        return [Color.from_ansi(number) for number in distinct_ansi16(palette)]
    return [Color.parse(colour) for colour in palette]
