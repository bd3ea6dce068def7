"""What is really on the screen: nothing clipped, live resizing."""

from collections.abc import Callable
from pathlib import Path

import pytest

from knitlog.journal.library import Library
from knitlog.tui.app import KnitlogApp

from .conftest import resized, settled, shown

Maker = Callable[..., Path]

pytestmark = pytest.mark.usefixtures("advised")


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 60)])
async def test_everything_a_knitter_needs_is_on_the_screen(
    library: Library, hut_hat: Maker, size: tuple[int, int]
) -> None:
    app = KnitlogApp(library, hut_hat(9))
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        text = shown(app)
        for words in (
            "Hut hat",
            "round 9 of 60 · 128 stitches · 4.5 mm · ±3",
            "█",
            "Stitches too small",
            "What to do",
            "Change to 132 stitches",
            "w why · f done it",
            "Round 10: expect",
            "37 the stitch · +2 against the round below · = in line",
            "home 37",
            "← past",
            "short →",
            "●",
            "○",
            "10◄",
        ):
            assert words in text
        footer = text.splitlines()[-1]
        for key in ("f Fix", "n Note", "c Change", "b Back", "u Undo", "f4 Fabric"):
            assert key in footer
        for key in ("w Why", "? Help", "^p All"):
            assert key in footer


async def test_the_screen_follows_a_resize(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(9))
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        assert await resized(pilot, (80, 24))
        assert "10◄" in shown(app)
        assert "Round 10" in shown(app)
        assert await resized(pilot, (60, 16))  # smaller than promised: still no end
        assert "Round 10" in shown(app)


async def test_where_there_is_no_room_for_big_letters_the_headline_is_in_capitals(
    library: Library, hut_hat: Maker
) -> None:
    app = KnitlogApp(library, hut_hat(9))
    async with app.run_test(size=(60, 20)) as pilot:
        await settled(pilot)
        assert "CHANGE STITCHES" in shown(app)
