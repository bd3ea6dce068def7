"""The terminal app: :func:`run_app` opens it.

Textual is only imported when the app is run, so that the command line, which
imports this room to open it, starts quickly.
"""

from pathlib import Path


def run_app(folder: Path | None = None, project: str | None = None) -> int:
    """Open the screens on the projects of ``folder``, or of the usual place; its exit code.

    ``project``: the name of one to begin with; without it, the list.

    Raises:
        JournalError: there is no such project.
    """
    from knitlog.journal.library import Library
    from knitlog.tui.app import run

    library = Library(folder)
    return run(library, None if project is None else library.find(project))
