"""Fabrics beside each other that scroll and zoom together."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal

from knitlog.tui.widgets.fabric_view import FabricView, next_zoom

if TYPE_CHECKING:
    from collections.abc import Mapping

    from knitlog.plan.stitch_colours import Fabric

_COLUMNS = 8
_LARGEST_FIRST = 4.0


class Frame(NamedTuple):
    """One fabric of the row, and what stands above it."""

    fabric: Fabric | None
    caption: str
    words: str
    """Why there is none."""
    knitted: int
    home: float


class FabricRow(Horizontal):
    """As many fabrics as are picked of those there may be."""

    DEFAULT_CSS = """
    FabricRow {
        height: 1fr; padding: 0 1;
        & FabricView { display: none; }
        & FabricView.-picked { display: block; }
    }
    """

    def __init__(self, most: int) -> None:
        """Keep room for ``most``."""
        super().__init__()
        self._most = most
        self._home = 0.0
        self._whole_round = False

    def compose(self) -> ComposeResult:
        """A frame for each."""
        for _ in range(self._most):
            yield FabricView(numbered=False)

    @property
    def views(self) -> list[FabricView]:
        """The frames on the screen, left to right."""
        return [view for view in self.query(FabricView) if view.has_class("-picked")]

    @property
    def zoom(self) -> float:
        """Columns a stitch."""
        return self.views[0].zoom if self.views else 1.0

    @property
    def rounds_in_half_cell(self) -> int:
        """How many rounds share half a cell; 1 where every round is seen for itself."""
        return max((view.rounds_in_half_cell for view in self.views), default=1)

    @property
    def rounds_in_sight(self) -> int:
        """How many rounds fit on the screen at once."""
        return self.views[0].rounds_in_sight if self.views else 1

    def show(self, frames: Mapping[int, Frame], aspect: float, home: float, width: int) -> None:
        """Draw the ``frames``, by their places in the row, in ``width`` columns.

        ``aspect``: height of a stitch over its width.  ``home``: the stitch to be in the middle.
        """
        self._home = home
        for number, view in enumerate(self.query(FabricView)):
            view.set_class(number in frames, "-picked")
            if number in frames:
                fabric, caption, words, knitted, place = frames[number]
                view.number_rounds(number == max(frames))
                view.show(fabric, caption, aspect=aspect, knitted=knitted, home=place, words=words)
        columns = max(width // len(frames), 1)
        lines = max(view.caption_lines_at(columns) for view in self.views)
        for view in self.views:
            view.give_caption(lines)

    def fit_first(self) -> None:
        """All rounds in sight, but no stitch too large."""
        self._whole_round = False
        self.fit()
        self.set_zoom(min(self.zoom, _LARGEST_FIRST))
        self._whole_round = False

    def fit(self) -> None:
        """All rounds in sight; again, the whole round too."""
        views = [view for view in self.views if view.fabric is not None]
        if views:
            self.set_zoom(min(view.zoom_for(whole_round=self._whole_round) for view in views))
            self._whole_round = not self._whole_round

    def set_zoom(self, zoom: float) -> None:
        """Draw stitches so large, the home stitch in the middle."""
        for view in self.views:
            view.set_zoom(zoom)
            view.centre_on(self._home)

    def zoom_by(self, steps: int) -> None:
        """Larger or smaller; what is in the middle stays there."""
        for view in self.views:
            view.set_zoom(next_zoom(view.zoom, steps))

    def set_cursor(self, round_number: int) -> None:
        """Mark a round and bring it into sight."""
        for view in self.views:
            view.set_cursor(round_number)

    def scroll_across(self, steps: int) -> None:
        """To later stitches, or earlier ones."""
        for view in self.views:
            view.scroll_fabric(columns=steps * _COLUMNS)

    def toggle_letters(self) -> bool:
        """Letters on the colours, or none; False where there are no colours to go back to."""
        views = list(self.query(FabricView))
        lettered = not views[0].lettered
        if views[0].has_colour:
            for view in views:
                view.set_lettered(lettered)
        return views[0].has_colour

    @on(FabricView.Wheeled)
    def _wheeled(self, event: FabricView.Wheeled) -> None:
        event.stop()
        for view in self.views:
            view.scroll_fabric(lines=event.lines)
