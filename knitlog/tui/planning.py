"""The way to the Fabric and Plan screens from anywhere in the app.

Imported lazily: planning needs numpy, and the first screen should not wait for it.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from knitlog.tui.at_hand import project_at_hand

if TYPE_CHECKING:
    from pathlib import Path

    from knitlog.tui.app import KnitlogApp


def show_fabric(app: KnitlogApp, latest: Path | None) -> None:
    """The fabric of the project at the needles, or else of ``latest``; says so if there is none."""
    from knitlog.journal.colour_runs import ColourRunBook
    from knitlog.tui.screens.fabric import FabricScreen

    if isinstance(app.screen, FabricScreen):
        return
    project = project_at_hand(app, latest, "Open a project first: then there is a fabric to show.")
    if project is not None:
        book = ColourRunBook(app.library.folder)
        app.push_screen(FabricScreen(project, book, follow_every=app.follow_every))


def show_plan(app: KnitlogApp) -> None:
    """The Plan screen, on the projects' folder."""
    from knitlog.journal.colour_runs import ColourRunBook
    from knitlog.tui.screens.plan import PlanScreen

    if not isinstance(app.screen, PlanScreen):
        app.push_screen(PlanScreen(app.library, ColourRunBook(app.library.folder)))
