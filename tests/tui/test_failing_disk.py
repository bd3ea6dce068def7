"""A disk that fails while the screens are open: said, nothing typed is lost, the screens go on."""

import errno
import os
from collections.abc import Callable
from pathlib import Path
from unittest import mock

import pytest

from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile
from knitlog.tui.app import KnitlogApp

from .conftest import said, settled, type_in

Maker = Callable[..., Path]

pytestmark = pytest.mark.usefixtures("advised")


@pytest.mark.parametrize("call", ["write", "fsync"])
@pytest.mark.parametrize(
    ("error", "words"),
    [
        (errno.ENOSPC, "disk is full"),
        (errno.EIO, "disk refused it"),
        (errno.EROFS, "read-only"),
    ],
)
async def test_a_round_the_disk_refuses_is_not_told_to_be_saved(
    library: Library, hut_hat: Maker, call: str, error: int, words: str
) -> None:
    path = hut_hat(3)
    before = path.read_bytes()
    refused = OSError(error, os.strerror(error))
    app = KnitlogApp(library, path, follow_every=3600)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        with mock.patch(f"knitlog.journal.disk.os.{call}", side_effect=refused):
            await type_in(pilot, "46")
            assert said(app).startswith("! ")
            assert words in " ".join(said(app).split())
        assert path.read_bytes() == before
        assert app.screen.query_one("#round").value == "46"  # what was typed is still there
        await pilot.press("enter")  # the disk has come to its senses
        await settled(pilot)
        assert "Saved: round 4" in said(app)
    assert JournalFile.open(path).state.last_round == 4


async def test_a_folder_removed_while_it_is_open_is_said_and_not_made_again(
    library: Library, hut_hat: Maker, tmp_path: Path
) -> None:
    path = hut_hat(3)
    app = KnitlogApp(library, path, follow_every=3600)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        library.folder.rename(tmp_path / "away")
        await type_in(pilot, "46")
        assert said(app).startswith("! ")
        assert "not there any more" in " ".join(said(app).split())
        assert app.screen.query_one("#round").value == "46"
        assert not library.folder.exists()
        (tmp_path / "away").rename(library.folder)
        await pilot.press("enter")
        await settled(pilot)
        assert "Saved: round 4" in said(app)
    assert JournalFile.open(path).state.last_round == 4
