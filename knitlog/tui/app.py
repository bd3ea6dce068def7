"""The app: themes, the way from screen to screen, and the command palette.

It translates and nothing more: what the knitter does goes to the journal, what
she should know comes from the workbench.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import asdict
from functools import partial
from pathlib import Path
from typing import ClassVar

from rich.console import Console
from textual.app import App, SystemCommand
from textual.binding import Binding, BindingType
from textual.screen import Screen

from knitlog.journal.errors import JournalError
from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile
from knitlog.tui.history import History
from knitlog.tui.key_lines import all_bindings, key_name
from knitlog.tui.looking_back import show_hands, show_review
from knitlog.tui.open_project import OpenProject
from knitlog.tui.planning import show_fabric, show_plan
from knitlog.tui.screens.base import KnitScreen
from knitlog.tui.screens.needles import NeedlesScreen
from knitlog.tui.theme import LAMPLIGHT_PALETTE, PLAIN, TERMINAL_COLOURS, THEMES, choose_theme

_PLACE = 2
"""Screens on the stack when nothing lies on top: Textual's own blank one, and the place."""


class KnitlogApp(App[None]):
    """knitlog on the screen."""

    TITLE = "knitlog"
    ENABLE_COMMAND_PALETTE = True
    CSS = "CommandPalette { background: transparent; & SearchIcon { display: none; } }"
    """What lies below the palette stays as legible as below our sheets; no sign that is painted."""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "ctrl+p",
            "command_palette",
            "All",
            key_display="^p",
            priority=True,
            tooltip="Everything that can be done here, by name.",
        ),
        Binding("ctrl+r", "review", "Review", show=False, tooltip="Look back on the project."),
        Binding("ctrl+o", "my_hands", "My hands", show=False, tooltip="What past projects say."),
        Binding("f9", "next_theme", "Colours", show=False, tooltip="The next set of colours."),
        Binding("ctrl+q", "quit", "Quit", show=False, tooltip="Leave; everything is saved."),
    ]

    def __init__(
        self,
        library: Library | None = None,
        open_project: Path | None = None,
        *,
        follow_every: float = 1.0,
    ) -> None:
        """Show ``library``; begin with the journal ``open_project`` if it is given.

        ``follow_every``: seconds between two looks for what other windows wrote.
        """
        colour_system = Console(force_terminal=True).color_system
        begin_with = choose_theme(os.environ, colour_system)
        # said beforehand: Textual decides in its constructor how NO_COLOR is honoured
        super().__init__(ansi_color=True if begin_with == PLAIN else None)
        self.set_reactive(App.ansi_color, None)
        self.library = library or Library()
        self.history = History(self.library)
        self._open_first = open_project
        self.follow_every = follow_every
        """Seconds between two looks for what other windows wrote."""
        self._latest: Path | None = open_project
        for theme in THEMES:
            self.register_theme(theme)
        # set as if it had always been so: setting it the usual way reads every style sheet twice
        self.set_reactive(App.theme, begin_with)
        self.stylesheet.set_variables(self.get_css_variables())

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Our own names of colours, for themes that are not ours."""
        return {**asdict(LAMPLIGHT_PALETTE), **TERMINAL_COLOURS}

    def on_mount(self) -> None:
        """Begin with the project that was asked for, or with the list of all."""
        if self._open_first is None:
            self._list_projects()
        else:
            self.open_path(self._open_first)

    def open_path(self, path: Path) -> None:
        """Open the journal at ``path`` at the needles; say on the list why if it cannot be."""
        try:
            journal = JournalFile.open(path)
        except JournalError as error:
            self._list_projects(told=str(error))
            return
        self.open_journal(journal)

    def open_journal(self, journal: JournalFile) -> None:
        """Show an open journal at the needles."""
        self._latest = journal.path
        self._go(NeedlesScreen(OpenProject(journal), follow_every=self.follow_every))

    def _go(self, screen: Screen[None]) -> None:
        """Leave whatever lies on top, and put ``screen`` in the place of what lies below."""
        self._back_to_place()
        if isinstance(screen, KnitScreen):
            screen.expect_width(self.size.width)
        if len(self.screen_stack) < _PLACE:
            self.push_screen(screen)
        else:
            self.switch_screen(screen)

    def _back_to_place(self) -> None:
        while len(self.screen_stack) > _PLACE:
            self.pop_screen()

    def action_projects(self) -> None:
        """Go to the projects."""
        self._back_to_place()
        self._list_projects()

    def _list_projects(self, told: str = "") -> None:
        from knitlog.tui.screens.projects import ProjectsScreen

        if told or not isinstance(self.screen, ProjectsScreen):
            self._go(ProjectsScreen(self.library, told))

    def action_needles(self) -> None:
        """Go to the project last open."""
        self._back_to_place()
        if not isinstance(self.screen, NeedlesScreen) and self._latest is not None:
            self.open_path(self._latest)

    def action_fabric(self) -> None:
        """Show the fabric of the project that is open, or was last."""
        show_fabric(self, self._latest)

    def action_review(self) -> None:
        """Look back on the project that is open, or was last."""
        show_review(self, self._latest, self.history)

    def action_my_hands(self) -> None:
        """Show what all finished projects say of her hands."""
        show_hands(self, self.history)

    def action_plan(self) -> None:
        """Plan a project before casting on."""
        show_plan(self)

    def action_next_theme(self) -> None:
        """Lamplight, snowlight, plain, and round again."""
        names = [theme.name for theme in THEMES]
        here = names.index(self.theme) if self.theme in names else -1
        self.theme = names[(here + 1) % len(names)]

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """Everything a key can do on this screen, and the sets of colours."""
        seen: set[str] = set()
        for node in (screen, self):
            for binding in all_bindings(node._bindings):
                if binding.tooltip and binding.action not in seen:
                    seen.add(binding.action)
                    yield SystemCommand(
                        binding.tooltip.rstrip("."),
                        f"Key {key_name(binding.key)}",
                        partial(self.run_action, binding.action, node),
                    )
        for theme in THEMES:
            yield SystemCommand(
                f"Colours: {theme.name}", "Key F9", partial(setattr, self, "theme", theme.name)
            )


def run(library: Library | None = None, open_project: Path | None = None) -> None:
    """Open the screens and stay until the knitter leaves."""
    KnitlogApp(library, open_project).run()
