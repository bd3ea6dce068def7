"""The shipped sample projects: where they lie, and a copy to play with."""

from __future__ import annotations

from typing import TYPE_CHECKING

from knitlog.journal.disk import create_file, locked, make_folder
from knitlog.journal.store import SUFFIX

if TYPE_CHECKING:
    from collections.abc import Mapping
    from importlib.resources.abc import Traversable
    from pathlib import Path


def samples() -> dict[str, Traversable]:
    """The shipped sample journals, by name; all of them invented.

    In an installed wheel they lie inside the package, in a checkout beside it.
    """
    package = _package()
    for folder in (package / "samples", package / ".." / "sample_logs"):
        if folder.is_dir():
            return _journals(folder)
    return {}


def sample_year() -> dict[str, Traversable]:
    """The shipped journals of one invented knitter's year, by name."""
    package = _package()
    for folder in (package / "samples", package / ".." / "sample_logs"):
        if (folder / "history").is_dir():
            return _journals(folder / "history")
    return {}


def _package() -> Traversable:
    from importlib import resources  # slow to load, and seldom needed

    return resources.files("knitlog")


def _journals(folder: Traversable) -> dict[str, Traversable]:
    found = [item for item in folder.iterdir() if item.name.endswith(SUFFIX)]
    return {item.name.removesuffix(SUFFIX): item for item in sorted(found, key=lambda i: i.name)}


def lay_out_samples(
    folder: Path, which: Mapping[str, Traversable] | None = None
) -> tuple[Path, ...]:
    """Copy the sample journals into ``folder``; one that is there already is left as it is.

    ``which``: other samples, as :func:`sample_year`.

    Raises ``JournalError`` where the folder cannot be written.
    """
    make_folder(folder)
    paths = []
    for name, sample in (samples() if which is None else which).items():
        path = folder / f"{name}{SUFFIX}"
        if not path.exists():
            with locked(path):
                create_file(path, sample.read_bytes())
        paths.append(path)
    return tuple(paths)
