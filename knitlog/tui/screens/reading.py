"""Screens that are read: one text that scrolls, and the way back."""

from __future__ import annotations

from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll

from knitlog.tui.screens.base import KnitScreen

READING_KEYS: tuple[BindingType, ...] = (
    Binding("up", "move(-1)", "Up", show=False, tooltip="Scroll up."),
    Binding("down", "move(1)", "Down", show=False, tooltip="Scroll down."),
    Binding("pageup", "turn(-1)", "Page up", show=False, tooltip="A screenful up."),
    Binding("pagedown", "turn(1)", "Page down", show=False, tooltip="A screenful down."),
    Binding("escape", "leave", "Back", tooltip="Back to where you were."),
)
"""Keys of every screen that is read; each names its own first, then these."""


class ReadingScreen(KnitScreen):
    """A screen with one :class:`VerticalScroll` to be read."""

    def action_move(self, way: int) -> None:
        """Scroll a line."""
        self.query_one(VerticalScroll).scroll_relative(y=2 * way, animate=False)

    def action_turn(self, way: int) -> None:
        """Scroll a screenful."""
        place = self.query_one(VerticalScroll)
        place.scroll_relative(y=way * max(place.size.height - 2, 1), animate=False)

    def action_leave(self) -> None:
        """Go back."""
        self.app.pop_screen()
