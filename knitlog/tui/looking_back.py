"""The way to the Review and My hands screens from anywhere in the app.

Imported lazily, as the way to the fabric is: looking back needs the fit.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from knitlog.journal.errors import JournalError
from knitlog.journal.store import JournalFile
from knitlog.tui.open_project import OpenProject
from knitlog.tui.screens.needles import NeedlesScreen

if TYPE_CHECKING:
    from knitlog.tui.app import KnitlogApp
    from knitlog.tui.history import History


def show_review(app: KnitlogApp, latest: Path | None, history: History) -> None:
    """The review of the project at the needles, or else of ``latest``; says if there is none."""
    from knitlog.tui.screens.review import ReviewScreen

    if isinstance(app.screen, ReviewScreen):
        return
    project = next(
        (s.project for s in reversed(app.screen_stack) if isinstance(s, NeedlesScreen)), None
    )
    if project is None and latest is not None:
        try:
            project = OpenProject(JournalFile.open(latest))
        except JournalError as error:
            app.notify(str(error), severity="error", markup=False)
            return
    if project is None:
        app.notify("Open a project first: then there is something to look back on.")
        return
    app.push_screen(ReviewScreen(project, history))


def show_hands(app: KnitlogApp, history: History) -> None:
    """What all finished projects say."""
    from knitlog.tui.screens.my_hands import MyHandsScreen

    if not isinstance(app.screen, MyHandsScreen):
        app.push_screen(MyHandsScreen(history))
