"""The project a screen is asked for: the one at the needles, or else the one last worked on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from knitlog.journal.errors import JournalError
from knitlog.journal.store import JournalFile
from knitlog.tui.open_project import OpenProject
from knitlog.tui.screens.needles import NeedlesScreen

if TYPE_CHECKING:
    from textual.app import App


def project_at_hand(app: App[Any], latest: Path | None, none: str) -> OpenProject | None:
    """The project at the needles, or else that of ``latest``; says ``none`` if there is none."""
    project = next(
        (s.project for s in reversed(app.screen_stack) if isinstance(s, NeedlesScreen)), None
    )
    if project is None and latest is not None:
        try:
            project = OpenProject(JournalFile.open(latest))
        except JournalError as error:
            app.notify(str(error), severity="error", markup=False)
            return None
    if project is None:
        app.notify(none)
    return project
