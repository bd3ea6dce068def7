"""The app: themes, the way from screen to screen, and the command palette.

It translates and nothing more: what the knitter does goes to the journal, what
she should know comes from the analysis.
"""

from __future__ import annotations

import gc
import os
from collections.abc import Iterable
from dataclasses import asdict
from functools import partial
from pathlib import Path
from typing import ClassVar

from rich.console import Console
from textual import on
from textual.app import App, SystemCommand
from textual.binding import Binding, BindingType
from textual.screen import Screen

from knitlog.analysis.past import Past
from knitlog.journal.errors import JournalError
from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile
from knitlog.tui.key_lines import all_bindings, key_name
from knitlog.tui.open_project import OpenProject
from knitlog.tui.screens.base import Begun, Chosen, KnitScreen
from knitlog.tui.screens.needles import NeedlesScreen
from knitlog.tui.steady import PLACE, SteadyApp
from knitlog.tui.theme import LAMPLIGHT_PALETTE, PLAIN, TERMINAL_COLOURS, THEMES, choose_theme


class KnitlogApp(SteadyApp):
    """knitlog on the screen."""

    TITLE = "knitlog"
    ENABLE_COMMAND_PALETTE = True
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
        Binding(
            "ctrl+q",
            "quit",
            "Quit",
            show=False,
            priority=True,  # from a sheet too
            tooltip="Leave; everything is saved.",
        ),
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
        self.library = library or Library()
        super().__init__(
            reports=self.library.folder / "reports",
            ansi_color=True if begin_with == PLAIN else None,
        )
        self.set_reactive(App.ansi_color, None)
        # nothing glides: an answer is in sight at once, and one left half way by a slow drawing
        # would stay out of sight
        self.animation_level = "none"
        self.past = Past(self.library)
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
        if len(self.screen_stack) < PLACE:
            self.push_screen(screen)
        else:
            self.switch_screen(screen)

    def _back_to_place(self) -> None:
        while len(self.screen_stack) > PLACE:
            self.pop_screen()

    def action_projects(self) -> None:
        """Go to the projects."""
        self._back_to_place()
        self._list_projects()

    def _list_projects(self, told: str = "") -> None:
        from knitlog.tui.screens.projects import ProjectsScreen

        if told or not isinstance(self.screen, ProjectsScreen):
            self._go(ProjectsScreen(self.library, told, left=self._latest))

    def action_needles(self) -> None:
        """Go to the project under the bar, or to the one last open."""
        self._back_to_place()
        path = self._path_at_hand
        if not isinstance(self.screen, NeedlesScreen) and path is not None:
            self.open_path(path)

    def action_fabric(self) -> None:
        """Show the fabric of the project at hand."""
        from knitlog.journal.colour_runs import ColourRunBook
        from knitlog.tui.screens.fabric import FabricScreen

        if not isinstance(self.screen, FabricScreen):
            project = self.at_hand("then there is a fabric to show")
            if project is not None:
                book = ColourRunBook(self.library.folder)
                self.push_screen(FabricScreen(project, book, follow_every=self.follow_every))

    def action_review(self) -> None:
        """Look back on the project at hand."""
        from knitlog.tui.screens.review import ReviewScreen

        if not isinstance(self.screen, ReviewScreen):
            project = self.at_hand("then there is something to look back on")
            if project is not None:
                self.push_screen(ReviewScreen(project, self.past, follow_every=self.follow_every))

    def action_my_hands(self) -> None:
        """Show what all finished projects say of her hands."""
        from knitlog.tui.screens.my_hands import MyHandsScreen

        if not isinstance(self.screen, MyHandsScreen):
            self.push_screen(MyHandsScreen(self.past))

    def action_plan(self) -> None:
        """Plan a project before casting on."""
        from knitlog.journal.colour_runs import ColourRunBook
        from knitlog.tui.screens.plan import PlanScreen

        if not isinstance(self.screen, PlanScreen):
            self.push_screen(PlanScreen(self.library, ColourRunBook(self.library.folder)))

    def at_hand(self, then: str) -> OpenProject | None:
        """The project at the needles, or under the bar, or last open; says so if there is none.

        ``then``: what would be there if there was one.
        """
        for screen in reversed(self.screen_stack):
            if isinstance(screen, NeedlesScreen):
                return screen.project
        path = self._path_at_hand
        if path is None:
            self.notify(f"Open a project first: {then}.")
            return None
        try:
            return OpenProject(JournalFile.open(path))
        except JournalError as error:
            self.notify(str(error), severity="error", markup=False)
            return None

    @property
    def _path_at_hand(self) -> Path | None:
        """The project under the bar of the list, or else the one last open."""
        from knitlog.tui.screens.projects import ProjectsScreen

        on_list = [screen for screen in self.screen_stack if isinstance(screen, ProjectsScreen)]
        return (on_list[-1].chosen if on_list else None) or self._latest

    @on(Chosen)
    def _chosen(self, event: Chosen) -> None:
        self.open_path(event.path)

    @on(Begun)
    def _begun(self, event: Begun) -> None:
        self.open_journal(event.journal)

    def action_next_theme(self) -> None:
        """Lamplight, snowlight, plain, and round again."""
        names = [theme.name for theme in THEMES]
        here = names.index(self.theme) if self.theme in names else -1
        self.theme = names[(here + 1) % len(names)]

    def action_command_palette(self) -> None:
        """Everything that can be done here, by name."""
        from knitlog.tui.widgets.choices import CommandsByName

        if not isinstance(self.screen, CommandsByName):
            self.push_screen(CommandsByName())

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


def run(library: Library | None = None, open_project: Path | None = None) -> int:
    """Open the screens and stay until the knitter leaves; 0, or 1 where they could not go on."""
    # what is loaded by now stays: looked through again and again it only costs time
    gc.freeze()
    app = KnitlogApp(library, open_project)
    app.run()
    return app.return_code or 0
