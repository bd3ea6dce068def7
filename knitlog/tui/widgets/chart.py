"""The chart of where the colour fell.

Why a widget of its own line by line: a project may have hundreds of rounds,
and a new one must be on the screen at once, so only the lines in sight are
laid out.  It never takes the focus (the entry line keeps it); the screen's
keys scroll it, and so does the mouse wheel.

Up and down: one round.  Page up and page down: a screenful.  Ctrl+home: the
newest round; ctrl+end: round 1.  ``z``: the whole project at a glance, and back.
"""

from __future__ import annotations

from collections.abc import Mapping

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Size
from textual.scroll_view import ScrollView
from textual.strip import Strip

from knitlog.tui.chart_data import ChartData
from knitlog.tui.chart_lines import (
    AXIS_LINES,
    LEFT_GUTTER,
    RIGHT_GUTTER,
    Part,
    Run,
    Scale,
    axis_lines,
    choose_scale,
    round_line,
)
from knitlog.tui.theme import TERMINAL_COLOUR

_LOOKS: Mapping[Part, tuple[str, str]] = {
    "blank": ("ink", ""),
    "home": ("line", ""),
    "edge": ("faint", ""),
    "spread": ("expected", ""),
    "expected": ("expected", "bold"),
    "reading": ("ink", "bold"),
    "doubt": ("watch", "bold reverse"),
    "deed": ("deed", "bold"),
    "axis": ("faint", ""),
    "next": ("key", "bold"),
}
"""Of each part of the chart: which colour of the palette, and what else.

Not styled by class: each class would be a node for every style sheet to be matched against,
a tenth of the time until the screen is first seen.
"""

_ROUNDS_A_LINE = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)


class ColourChart(ScrollView, can_focus=False):
    """Offsets across, rounds upward: readings, the expected path, and what happened."""

    DEFAULT_CSS = """
    ColourChart {
        width: 1fr; height: 1fr;
        overflow-x: hidden;
        overflow-y: auto;
        scrollbar-size-vertical: 1;
        scrollbar-gutter: stable;
    }
    """

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._data = ChartData(tolerance=3.0)
        self._home_words, self._unit = "home", "round"
        self._whole = False
        self._scale: Scale | None = None
        self._axis: tuple[Strip, Strip] | None = None
        self._inks: dict[tuple[Part, bool], Style] = {}
        self._ground: Style | None = None
        self._blank: Strip | None = None
        self._top_round = self._data.top_round

    @property
    def whole(self) -> bool:
        """Whether the whole project is squeezed onto the screen."""
        return self._whole

    def show(self, data: ChartData, home_words: str = "home", unit: str = "round") -> None:
        """Draw ``data``; keeps the newest round in sight unless the knitter has scrolled away."""
        following = self._is_following()
        self._data, self._top_round = data, data.top_round
        self._home_words, self._unit = home_words, unit
        self._draw_anew(follow=following)

    def toggle_whole(self) -> None:
        """The whole project at a glance, or one round a line."""
        self._whole = not self._whole
        self._draw_anew(follow=True)

    def scroll_rounds(self, rounds: int) -> None:
        """Scroll by ``rounds`` lines, upward (to newer rounds) when positive."""
        self.scroll_relative(y=-rounds, animate=False, force=True)

    def scroll_pages(self, pages: int) -> None:
        """Scroll by screenfuls, upward when positive."""
        self.scroll_rounds(pages * max(self._plot_height - 1, 1))

    def scroll_newest(self) -> None:
        """Bring the newest round into sight, with a few rounds to come above it."""
        self.scroll_to(y=self._newest_top(), animate=False, force=True)

    def scroll_first(self) -> None:
        """Bring round 1 into sight."""
        self.scroll_to(y=self.max_scroll_y, animate=False, force=True)

    @property
    def _plot_height(self) -> int:
        return max(self.size.height - AXIS_LINES, 1)

    @property
    def _rounds_a_line(self) -> int:
        if not self._whole:
            return 1
        top = max(self._top_round, 1)
        return next((n for n in _ROUNDS_A_LINE if top <= n * self._plot_height), _ROUNDS_A_LINE[-1])

    @property
    def _lines(self) -> int:
        return max(-(-self._top_round // self._rounds_a_line), self._plot_height)

    def _newest_top(self) -> int:
        ahead = (self._top_round - self._data.last_round) // self._rounds_a_line
        spare = self._lines - -(-self._top_round // self._rounds_a_line)
        return max(spare + ahead - self._plot_height // 3, 0) if not spare else 0

    def _is_following(self) -> bool:
        return self.scroll_offset.y == min(self._newest_top(), self.max_scroll_y)

    def _draw_anew(self, *, follow: bool) -> None:
        self._scale = None
        self._axis = None
        self._lay_out(follow=follow)
        self.refresh()

    def _lay_out(self, *, follow: bool) -> None:
        self._set_size(Size(self.scrollable_content_region.width, self._lines + AXIS_LINES))
        if follow:
            self.scroll_to(y=self._newest_top(), animate=False, force=True, immediate=True)

    def _set_size(self, size: Size) -> None:
        """Tell how much there is to scroll: the screen is laid out anew for the bar alone."""
        shown = self.show_vertical_scrollbar
        if shown != (size.height > self.size.height):
            self.virtual_size = size
            return
        self.set_reactive(ColourChart.virtual_size, size)
        if shown:
            self.vertical_scrollbar.window_virtual_size = size.height

    def watch_show_vertical_scrollbar(self, shown: bool) -> None:
        """Place a bar that appears, with a layout to come: it would stand at the top."""
        if shown:
            self.vertical_scrollbar.position = self.scroll_y

    def on_resize(self) -> None:
        """Keep the newest round in sight; the lines are drawn for the new size as it is."""
        self._lay_out(follow=True)

    def notify_style_update(self) -> None:
        """Forget what was drawn when the colours change."""
        self._axis = self._blank = self._ground = None
        self._inks = {}
        super().notify_style_update()

    def render_line(self, y: int) -> Strip:
        """Draw one line of what is in sight; the last two are the scale."""
        width, height = self.scrollable_content_region.size
        line = self._lines - 1 - (y + self.scroll_offset.y)
        first = line * self._rounds_a_line + 1
        on_scale = y >= height - AXIS_LINES and height > AXIS_LINES
        above = first > max(self._top_round, self._data.next_round or 0)
        if not on_scale and (line < 0 or above):
            return self._blank_line(width)
        plot_width = max(width - LEFT_GUTTER - RIGHT_GUTTER, 12)
        if self._scale is None or self._scale.width != plot_width:
            self._scale = choose_scale(self._data, plot_width)
            self._axis = None
        if on_scale:
            if self._axis is None:
                upper, lower = axis_lines(self._scale, self._home_words, self._unit)
                self._axis = self._strip(upper), self._strip(lower)
            return self._axis[y - (height - AXIS_LINES)]
        last = first + self._rounds_a_line - 1
        return self._strip(round_line(self._data, self._scale, first, last))

    @property
    def _behind(self) -> Style:
        if self._ground is None:
            self._ground = self.rich_style
        return self._ground

    def _blank_line(self, width: int) -> Strip:
        if self._blank is None or self._blank.cell_length != width:
            self._blank = Strip.blank(width, self._behind)
        return self._blank

    def _strip(self, runs: list[Run]) -> Strip:
        ground = self._behind
        segments = [Segment(run.text, self._ink(run.part, run.in_band)) for run in runs]
        return Strip(segments).adjust_cell_length(self.scrollable_content_region.width, ground)

    def _ink(self, part: Part, in_band: bool) -> Style:
        """How a part is drawn, on the tolerance's band or beside it."""
        found = self._inks.get((part, in_band))
        if found is None:
            name, looks = _LOOKS[part]
            behind = self._colour("band") if in_band else None
            ink = Style(color=self._colour(name), bgcolor=behind)
            found = self._behind + ink + Style.parse(looks)
            self._inks[part, in_band] = found
        return found

    def _colour(self, name: str) -> str:
        colour = self.app.theme_variables[name]
        return "default" if colour == TERMINAL_COLOUR else colour
