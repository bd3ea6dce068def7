"""One fabric, drawn in the terminal.

A stitch is wider than it is tall, a character cell about twice as tall as wide: four
columns by three half lines come nearest with whole half lines, but most zooms do not
come out even.  So the edge between two rounds is set to an eighth of a line with the
lower eighth blocks (see :mod:`knitlog.report.fabric_cells`), and every stitch keeps the
shape of the gauge at every zoom.

Colours are the yarn's own where the terminal has them, or the nearest of 256; with
sixteen, each colour gets one of its own, so that no two run together.  Without colour
there are letters, and letters can be had on top of the colours at any time: the key names
each with its colour, so nothing is told by colour alone.

The widget never takes the focus; its screen's keys scroll it, and so does the mouse.
Round 1 is at the bottom and stitch 1 at the right.
"""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import wrap
from typing import TYPE_CHECKING, ClassVar

from rich.color import Color
from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.message import Message
from textual.strip import Strip
from textual.widget import Widget

from knitlog.report.fabric_cells import (
    ZOOMS,
    FabricScale,
    Piece,
    column_of,
    extent,
    fitting_zoom,
    lettered_line,
    letters_of,
    line_of,
    painted_line,
    round_at,
    round_label,
    rounds_in_half_cell,
    scale_of,
    stitch_ruler,
    stitches_at,
)
from knitlog.tui.run_bar import ink_on, terminal_colours

if TYPE_CHECKING:
    from knitlog.plan.stitch_colours import Fabric

_RULER = 6
_NARROW_RULER = 2
_MOST_CAPTION_LINES = 6
_RULER_LINES = 1
_NOW = "┤"
_CURSOR = "◄"
_HOME = "▲"


class FabricView(Widget, can_focus=False):
    """Caption, fabric, rulers."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "fabric--caption",
        "fabric--ruler",
        "fabric--cursor",
        "fabric--now",
    }

    DEFAULT_CSS = """
    FabricView {
        width: 1fr;
        height: 1fr;
        background: $ground;
        color: $ink;
        & .fabric--caption { color: $ink; text-style: bold; }
        & .fabric--ruler { color: $faint; }
        & .fabric--cursor { color: $key; text-style: bold; }
        & .fabric--now { color: $deed; text-style: bold; }
    }
    """

    @dataclass
    class Pointed(Message):
        """The knitter pointed at a stitch with the mouse."""

        round: int
        stitch: int

    class Resized(Message):
        """It is shown in another size now."""

    @dataclass
    class Wheeled(Message):
        """The mouse wheel turned: scroll so many lines up (to newer rounds)."""

        lines: int

    def __init__(self, *, numbered: bool = True, id: str | None = None) -> None:
        """``numbered``: whether the rounds have their numbers at the right."""
        super().__init__(id=id)
        self._numbered = numbered
        self._fabric: Fabric | None = None
        self._caption = ""
        self._caption_lines = 1
        self._words = ""
        self._aspect = 0.76
        self._zoom = 1.0
        self._line = 0
        self._column = 0
        self._letters: tuple[str, ...] = ()
        self._lettered = False
        self._cursor: int | None = None
        self._now = 0
        self._home: float | None = None
        self._inks: tuple[Color, ...] = ()

    # What is shown

    def show(
        self,
        fabric: Fabric | None,
        caption: str,
        *,
        aspect: float = 0.76,
        knitted: int = 0,
        home: float | None = None,
        words: str = "",
    ) -> None:
        """Draw ``fabric``; or, where there is none, say why in ``words``.

        ``aspect``: height of a stitch over its width.  ``knitted``: rounds knitted so far,
        which get a mark.  ``home``: stitches before the place the logged colour change belongs
        to, which gets one too.
        """
        self._fabric, self._caption, self._words = fabric, caption, words
        self._aspect, self._now, self._home = aspect, knitted, home
        self._letters = () if fabric is None else letters_of(fabric)
        self._inks = () if fabric is None else tuple(terminal_colours(self.app, fabric.palette))
        self.refresh()

    @property
    def fabric(self) -> Fabric | None:
        """What is drawn."""
        return self._fabric

    def caption_lines_at(self, columns: int) -> int:
        """How many lines the caption takes at a width of so many columns."""
        return len(self._told_caption(columns))

    def give_caption(self, lines: int) -> None:
        """Leave so many lines to the caption, so that fabrics beside each other begin alike."""
        self._caption_lines = lines
        self.refresh()

    def _told_caption(self, columns: int) -> list[str]:
        return wrap(
            self._caption, max(columns - 1, 8), max_lines=_MOST_CAPTION_LINES, placeholder=" …"
        ) or [""]

    @property
    def rounds_in_half_cell(self) -> int:
        """How many rounds share half a cell; 1 where every round is seen for itself."""
        return 1 if self._fabric is None else rounds_in_half_cell(self._scale)

    @property
    def zoom(self) -> float:
        """Columns a stitch."""
        return self._zoom

    @property
    def lettered(self) -> bool:
        """Whether letters are drawn: asked for, or because there is no colour."""
        return self._lettered or not self.has_colour

    @property
    def has_colour(self) -> bool:
        """Whether this terminal shows colours, and she lets it."""
        return self.app.console.color_system is not None and not self.app.no_color

    def set_lettered(self, lettered: bool) -> None:
        """Draw letters on the colours, or not."""
        self._lettered = lettered
        self.refresh()

    def set_cursor(self, round_number: int | None) -> None:
        """Mark a round and bring it into sight."""
        self._cursor = round_number
        if round_number is not None and self._fabric is not None:
            line = line_of(self._scale, round_number)
            if line < self._line:
                self._line = line
            elif line >= self._line + self.plot_lines:
                self._line = line - self.plot_lines + 1
        self.refresh()

    def set_zoom(self, zoom: float) -> None:
        """Draw a stitch ``zoom`` columns wide; what is in the middle stays there."""
        if self._fabric is None:
            self._zoom = zoom
            return
        old = self._scale
        middle_round = (self._line + self.plot_lines / 2) / old.lines
        middle_stitch = (self._column + self.plot_columns / 2) / old.columns
        self._zoom = zoom
        new = self._scale
        self._line = round(middle_round * new.lines - self.plot_lines / 2)
        self._column = round(middle_stitch * new.columns - self.plot_columns / 2)
        self._keep_inside()
        self.set_cursor(self._cursor)

    def scroll_fabric(self, *, lines: int = 0, columns: int = 0) -> None:
        """Scroll: lines upward, columns to the left, when positive."""
        self._line += lines
        self._column += columns
        self._keep_inside()
        self.refresh()

    def centre_on(self, stitch: float) -> None:
        """Bring a stitch to the middle."""
        self._column = round((stitch - 0.5) * self._zoom - self.plot_columns / 2)
        self._keep_inside()
        self.refresh()

    def zoom_for(self, *, whole_round: bool) -> float:
        """The largest zoom at which all rounds are in sight; the whole of a round too, if asked."""
        if self._fabric is None:
            return self._zoom
        wide = self._fabric.stitches if whole_round else 1
        tall = self._fabric.rounds
        if self._fabric.flat:
            tall = min(tall, 2 * self.plot_lines)  # more rows are not in sight at any zoom
        return fitting_zoom(wide, tall, self._aspect, self.plot_columns, self.plot_lines)

    def number_rounds(self, numbered: bool) -> None:
        """Whether the rounds have their numbers at the right."""
        self._numbered = numbered
        self.refresh()

    @property
    def rounds_in_sight(self) -> int:
        """How many rounds fit on the screen at once."""
        return max(int(self.plot_lines / self._scale.lines), 1)

    @property
    def plot_columns(self) -> int:
        """Columns for stitches."""
        return max(self.size.width - self._ruler_width, 1)

    @property
    def plot_lines(self) -> int:
        """Lines for rounds."""
        return max(self.size.height - self._caption_lines - _RULER_LINES, 1)

    @property
    def _gap(self) -> int:
        """Lines left empty above a fabric that does not fill its place."""
        if self._fabric is None:
            return 0
        return max(self.plot_lines - extent(self._fabric, self._scale)[1], 0)

    @property
    def _ruler_width(self) -> int:
        return _RULER if self._numbered else _NARROW_RULER

    @property
    def _scale(self) -> FabricScale:
        # rows of the two sides differ: worked flat, each is seen for itself at every zoom
        each = 0.5 if self._fabric is not None and self._fabric.flat else 0.0
        return scale_of(self._zoom, self._aspect, least_lines=each)

    def _keep_inside(self) -> None:
        if self._fabric is None:
            self._line = self._column = 0
            return
        columns, lines = extent(self._fabric, self._scale)
        self._line = min(max(self._line, 0), max(lines - self.plot_lines, 0))
        self._column = min(max(self._column, 0), max(columns - self.plot_columns, 0))

    def on_resize(self) -> None:
        """Keep the fabric in sight."""
        self._keep_inside()
        self.post_message(self.Resized())

    # Drawing

    def render_line(self, y: int) -> Strip:
        """Draw one line: the caption, the fabric, the ruler of stitches."""
        width, height = self.size
        ground = self.rich_style
        y -= self._gap
        if y < 0:
            return Strip.blank(width, ground)
        height -= self._gap
        if y < self._caption_lines:
            style = ground + self.get_component_rich_style("fabric--caption", partial=True)
            told = self._told_caption(width)
            text = told[y] if y < len(told) else ""
            return Strip([Segment(text, style)]).adjust_cell_length(width, ground)
        if self._fabric is None:
            return self._told(y - self._caption_lines, width, ground)
        faint = ground + self.get_component_rich_style("fabric--ruler", partial=True)
        columns = self.plot_columns
        if y == height - _RULER_LINES:
            numbers = stitch_ruler(self._scale, self._fabric.stitches, columns, self._column)
            return Strip(self._with_home(numbers, ground, faint)).adjust_cell_length(width, ground)
        line = self._line + (height - _RULER_LINES - 1 - y)
        if self.lettered:
            pieces = lettered_line(
                self._fabric, self._letters, self._scale, line, columns, self._column
            )
        else:
            pieces = painted_line(self._fabric, self._scale, line, columns, self._column)
        segments = [self._segment(piece, ground) for piece in pieces]
        segments.extend(self._ruler(line, ground, faint))
        return Strip(segments).adjust_cell_length(width, ground)

    def _segment(self, piece: Piece, ground: Style) -> Segment:
        if not self.has_colour:
            return Segment(piece.text, ground)
        behind = None if piece.ground is None else self._inks[piece.ground]
        if piece.ink is not None:
            ink: Color | None = self._inks[piece.ink]
        elif piece.ground is not None:
            ink = ink_on(self._inks[piece.ground])
        else:
            ink = None
        return Segment(piece.text, ground + Style(color=ink, bgcolor=behind))

    def _ruler(self, line: int, ground: Style, faint: Style) -> list[Segment]:
        """At the right of a line: the cursor, where the knitting has got to, numbers."""
        fabric = self._fabric
        if fabric is None:
            return []
        mark, style = " ", faint
        if 0 < self._now < fabric.rounds and line == line_of(self._scale, self._now):
            mark, style = _NOW, ground + self.get_component_rich_style("fabric--now", partial=True)
        label = round_label(self._scale, fabric.rounds, line) if self._numbered else None
        if self._cursor is not None and line == line_of(self._scale, self._cursor):
            mark = _CURSOR
            style = ground + self.get_component_rich_style("fabric--cursor", partial=True)
            if self._numbered:
                return [Segment(f"{mark}{self._cursor}", style)]
        number = "" if label is None else str(label)
        return [Segment(mark, style), Segment(number, faint)]

    def _with_home(self, numbers: str, ground: Style, faint: Style) -> list[Segment]:
        """The ruler of stitches with the mark of the place where the colour change belongs."""
        if self._home is None:
            return [Segment(numbers, faint)]
        at = self.plot_columns - 1 - (column_of(self._scale, self._home + 0.5) - self._column)
        if not 0 <= at < len(numbers):
            return [Segment(numbers, faint)]
        first, last = at, at
        while numbers[at] != " " and first > 0 and numbers[first - 1] != " ":
            first -= 1
        while numbers[at] != " " and last + 1 < len(numbers) and numbers[last + 1] != " ":
            last += 1
        mark = ground + self.get_component_rich_style("fabric--cursor", partial=True)
        # a number the mark falls upon gives way as a whole: half of it would be another
        return [
            Segment(numbers[:first] + " " * (at - first), faint),
            Segment(_HOME, mark),
            Segment(" " * (last - at) + numbers[last + 1 :], faint),
        ]

    def _told(self, y: int, width: int, ground: Style) -> Strip:
        """Why there is no fabric, in the lines below the caption."""
        lines = wrap(self._words, max(width - 2, 8))
        text = lines[y - 1] if 1 <= y < len(lines) + 1 else ""
        return Strip([Segment(text, ground)]).adjust_cell_length(width, ground)

    # The mouse

    def on_click(self, event: events.Click) -> None:
        """Tell which stitch was pointed at."""
        line = self._line + (self.size.height - _RULER_LINES - 1 - event.y)
        column = self._column + self.plot_columns - 1 - event.x
        if self._fabric is None or column < 0 or line < 0:
            return
        import numpy as np

        stitch = int(stitches_at(self._scale, np.array([column]))[0]) + 1
        number = round_at(self._scale, line)
        if stitch <= self._fabric.stitches and number <= self._fabric.rounds:
            self.post_message(self.Pointed(number, stitch))

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """To newer rounds."""
        event.stop()
        self.post_message(self.Wheeled(2))

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """To older rounds."""
        event.stop()
        self.post_message(self.Wheeled(-2))


def next_zoom(zoom: float, steps: int) -> float:
    """The zoom so many steps larger (or smaller, below zero)."""
    nearest = min(range(len(ZOOMS)), key=lambda i: abs(ZOOMS[i] - zoom))
    return ZOOMS[min(max(nearest + steps, 0), len(ZOOMS) - 1)]
