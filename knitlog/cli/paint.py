"""Colours on the command line: what this terminal has, and lines painted with them."""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING, Literal, cast

from knitlog.report.ansi16 import ANSI16, distinct_ansi16, legible_on

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from knitlog.report.drawing import Stroke

ColourSystem = Literal["standard", "256", "truecolor", "windows"]
_INKS = {
    "expected": "blue",
    "deed": "magenta",
    "watch": "yellow",
    "key": "yellow",
    "faint": "bright_black",
}
"""The terminal's own colours for what things are; anything else in its usual ink."""


def colour_system() -> ColourSystem | None:
    """What the terminal shows colours by; None without colour or without a terminal."""
    if not sys.stdout.isatty() or os.environ.get("NO_COLOR"):
        return None
    from rich.console import Console

    return cast("ColourSystem | None", Console().color_system)


class Paint:
    """A terminal's colours, a yarn's own among them."""

    def __init__(self, system: ColourSystem | None, palette: Iterable[str] = ()) -> None:
        """Take in the ``palette`` of a yarn; of sixteen colours each gets one of its own."""
        self._system = system
        self._names = {colour: colour for colour in palette}
        self._legible = {colour: legible_on(colour) for colour in self._names}
        if system in ("standard", "windows"):
            for colour, number in zip(self._names, distinct_ansi16([*self._names]), strict=True):
                self._names[colour] = f"color({number})"
                self._legible[colour] = legible_on(ANSI16[number])

    def line(self, strokes: Sequence[Stroke]) -> str:
        """A line of a picture, with the escape sequences of the terminal if it has colours."""
        if self._system is None:
            return "".join(stroke.text for stroke in strokes).rstrip()
        from rich.console import Console
        from rich.text import Text

        text = Text(no_wrap=True)
        for stroke in strokes:
            text.append(stroke.text, self._style(stroke))
        console = Console(
            force_terminal=True, color_system=self._system, width=len(text.plain) or 1
        )
        with console.capture() as drawn:
            console.print(text, end="", soft_wrap=True)
        return drawn.get()

    def _style(self, stroke: Stroke) -> str:
        ink = self._names.get(stroke.ink) or _INKS.get(stroke.ink, "")
        if not stroke.ground:
            return ink or "default"
        if not ink and stroke.text.strip():
            ink = f"color({self._legible[stroke.ground]})"
        return f"{ink} on {self._names[stroke.ground]}".strip()
