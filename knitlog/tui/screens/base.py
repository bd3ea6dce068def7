"""What every screen shares: help made from its own keys, and where the other screens are."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.screen import Screen

from knitlog.tui.key_lines import KeyLine, all_bindings, key_lines

COMMON_KEYS: tuple[BindingType, ...] = (
    Binding("question_mark", "help", "Help", tooltip="This help."),
    Binding("f1", "help", "Help", show=False, tooltip="This help."),
    Binding("f2", "app.projects", "Projects", show=False, tooltip="All projects."),
    Binding("f3", "app.needles", "At the needles", show=False, tooltip="The project last open."),
    Binding("f4", "app.fabric", "Fabric", show=False, tooltip="The fabric, so far and to come."),
    Binding("f5", "app.plan", "Plan", show=False, tooltip="Plan a project before casting on."),
)
"""Keys of every screen; each screen names its own first, then these."""


WIDE = 100
"""Columns from which on a screen counts as wide."""


class KnitScreen(Screen[None]):
    """A screen with a title, a help, and a way to every other screen."""

    WORDS: ClassVar[str] = ""
    """What the screen is called."""
    ABOUT: ClassVar[str] = ""
    """What it is for, in a few sentences: the head of its help."""
    TYPED_KEYS: ClassVar[tuple[KeyLine, ...]] = ()
    """What is typed rather than bound, for its help."""
    HAS_CHART: ClassVar[bool] = False

    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (WIDE, "-wide")]  # noqa: RUF012 - the framework's

    def expect_width(self, width: int) -> None:
        """Begin with the class of a screen so many columns wide: it need not be styled twice."""
        self.add_class("-wide" if width >= WIDE else "-narrow", update=False)

    def action_help(self) -> None:
        """Show what the screen is for and its keys."""
        from knitlog.tui.screens.help import HelpSheet

        own = all_bindings(self._bindings)
        keys = [*self.TYPED_KEYS, *key_lines([*own, *all_bindings(self.app._bindings)])]
        self.app.push_screen(HelpSheet(self.WORDS, self.ABOUT, keys, chart=self.HAS_CHART))
