"""Opening the screens from the command line."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from pathlib import Path


def open_screens(folder: Path | None, project: str | None = None) -> None:
    """Open the screens, if there is a terminal to open them in."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise click.ClickException(
            "The screens need a terminal; without one, every command still works: see "
            "'knitlog --help'."
        )
    from knitlog.tui import run_app

    run_app(folder, project=project)
