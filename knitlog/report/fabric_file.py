"""A picture of the fabric as a file: SVG or PNG, by its suffix."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from knitlog.journal.disk import create_file, make_folder
from knitlog.report.fabric_image import Panel, PictureError, fabric_png, fabric_svg

if TYPE_CHECKING:
    from knitlog.plan.stitch_colours import Fabric
    from knitlog.yarn.gauge import Gauge

_MOST_TRIES = 1000


def save_fabric(path: Path, panels: Sequence[Panel], gauge: Gauge | None = None) -> None:
    """Draw fabrics side by side into a file; one that is there already is replaced.

    Raises:
        PictureError: the suffix is neither .svg nor .png, or it cannot be drawn.
        JournalError: the file cannot be written.

    """
    match path.suffix.lower():
        case ".svg":
            data = fabric_svg(panels, gauge).encode()
        case ".png":
            data = fabric_png(panels, gauge)
        case _:
            raise PictureError("Name a picture that ends in .svg or .png, such as fabric.svg.")
    make_folder(path.parent)
    create_file(path, data, overwrite=True)


def save_beside(
    journal: Path,
    fabrics: Sequence[tuple[str, Fabric]],
    gauge: Gauge | None = None,
    suffix: str = ".svg",
) -> Path:
    """Draw fabrics, each with its caption, into a new file beside ``journal``; its path.

    Raises:
        PictureError: it cannot be drawn, or the folder is full of pictures.
        JournalError: the file cannot be written.

    """
    path = free_path(journal.parent / "pictures", f"{journal.stem}-fabric", suffix)
    save_fabric(path, [Panel(caption, fabric) for caption, fabric in fabrics], gauge)
    return path


def free_path(folder: Path, stem: str, suffix: str) -> Path:
    """A path that no file has yet: ``stem``, or else ``stem-2`` and so on.

    Raises:
        PictureError: the folder is full of them, or a link to another.

    """
    if folder.is_symlink():
        raise PictureError(f"{folder} is a link to another folder: take it away and try again.")
    for number in range(1, _MOST_TRIES):
        path = folder / (f"{stem}{suffix}" if number == 1 else f"{stem}-{number}{suffix}")
        if not path.exists() and not path.is_symlink():
            return path
    raise PictureError(f"There are {_MOST_TRIES} pictures in {folder} already: clear some away.")
