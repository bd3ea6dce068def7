"""The way to the Review and My hands screens from anywhere in the app.

Imported lazily, as the way to the fabric is: looking back needs the fit.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from knitlog.tui.at_hand import project_at_hand

if TYPE_CHECKING:
    from pathlib import Path

    from knitlog.tui.app import KnitlogApp
    from knitlog.tui.history import History


def show_review(app: KnitlogApp, latest: Path | None, history: History) -> None:
    """The review of the project at the needles, or else of ``latest``; says if there is none."""
    from knitlog.tui.screens.review import ReviewScreen

    if isinstance(app.screen, ReviewScreen):
        return
    project = project_at_hand(
        app, latest, "Open a project first: then there is something to look back on."
    )
    if project is not None:
        app.push_screen(ReviewScreen(project, history, follow_every=app.follow_every))


def show_hands(app: KnitlogApp, history: History) -> None:
    """What all finished projects say."""
    from knitlog.tui.screens.my_hands import MyHandsScreen

    if not isinstance(app.screen, MyHandsScreen):
        app.push_screen(MyHandsScreen(history))
