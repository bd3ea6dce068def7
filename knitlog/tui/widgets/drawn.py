"""A picture of an answer on a screen, drawn anew for the width it is given."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from rich.style import Style
from rich.text import Text
from textual.widget import Widget

from knitlog.report.drawing import Means, means_of
from knitlog.tui.run_bar import ink_on, terminal_colours
from knitlog.tui.theme import TERMINAL_COLOUR

if TYPE_CHECKING:
    from rich.color import Color
    from textual.geometry import Size

    from knitlog.report.drawing import Drawing, Stroke

_ROUND_IT = 9
"""Lines of a screen that the picture leaves to its headings, scales and keys."""
_LEAST, _MOST = 8, 30


class DrawnPart(Widget, can_focus=False):
    """One picture, as sharp as the terminal can; in letters when she asks for them."""

    DEFAULT_CSS = "DrawnPart { height: auto; color: $ink; }"

    def __init__(self, drawing: Drawing, *, lettered: bool = False, classes: str = "") -> None:
        """Draw ``drawing``."""
        super().__init__(classes=classes)
        self._drawing, self._lettered = drawing, lettered

    def letter(self, lettered: bool) -> None:
        """Draw it in letters, or as sharp as can be."""
        self._lettered = lettered
        self.refresh(layout=True)

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Lines it takes."""
        return sum(1 for _ in self._lines(width))

    def render(self) -> Text:
        """Draw it."""
        colours = self._colours()
        drawn = Text(no_wrap=True)
        for number, runs in enumerate(self._lines(self.size.width)):
            if number:
                drawn.append("\n")
            for run in runs:
                drawn.append(run.text, self._style(run, colours))
        return drawn

    def _lines(self, width: int) -> list[list[Stroke]]:
        height = min(max(self.app.size.height - _ROUND_IT, _LEAST), _MOST)
        return list(self._drawing.lines(width, height, self._means))

    @property
    def _means(self) -> Means:
        colour = self.app.console.color_system is not None and not self.app.no_color
        if self._lettered:
            return Means(sharp=False, colour=colour)
        return means_of(os.environ, self.app.console.encoding, colour=colour)

    def _colours(self) -> dict[str, Color]:
        palette = self._drawing.palette
        return dict(zip(palette, terminal_colours(self.app, palette), strict=True))

    def _style(self, run: Stroke, colours: dict[str, Color]) -> Style:
        if not self._means.colour:
            return Style()
        ground = colours.get(run.ground)
        if run.ink in colours:
            return Style(color=colours[run.ink], bgcolor=ground)
        if ground is not None:
            return Style(color=ink_on(ground), bgcolor=ground)
        colour = self.app.theme_variables.get(run.ink, "") if run.ink else ""
        return Style(color=None if colour in ("", TERMINAL_COLOUR) else colour)
