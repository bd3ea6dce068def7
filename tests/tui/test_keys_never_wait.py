"""Keys are taken and shown, and rounds saved, however long a look takes.

What is worked out stands still here until it is let go, so nothing is timed: where a key had to
wait for it, the test would never get on, and ends by its own limit.
"""

import asyncio
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from knitlog.analysis import analysis
from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile
from knitlog.tui.app import KnitlogApp

from .conftest import said, settled, shown

Maker = Callable[..., Path]


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch) -> Iterator[threading.Event]:
    """Every look waits for this, which is cleared to hold them up."""
    go, held_up, real = threading.Event(), [], analysis.analyse
    go.set()

    def slow(*args: Any, **kwargs: Any) -> Any:
        assert threading.current_thread() is not threading.main_thread()
        held_up.append(not go.is_set())
        assert go.wait(60)
        return real(*args, **kwargs)

    monkeypatch.setattr(analysis, "analyse", slow)
    yield go
    go.set()
    assert any(held_up)  # or this shows nothing


async def test_rounds_are_logged_while_the_first_look_is_worked_out(
    library: Library, hut_hat: Maker, held: threading.Event
) -> None:
    path = hut_hat(9)
    app = KnitlogApp(library, path)
    held.clear()
    async with app.run_test(size=(80, 24)) as pilot, asyncio.timeout(30):
        while "Round 10" not in shown(app):
            await pilot.pause()
        for number, stitch in ((10, "57"), (11, "59.5")):
            await pilot.press(*(("full_stop" if c == "." else c) for c in stitch))
            while stitch not in shown(app):
                await pilot.pause()
            await pilot.press("enter")
            while f"Saved: round {number} at stitch {stitch}." not in said(app):
                await pilot.pause()
            assert JournalFile.open(path).state.last_round == number
        await pilot.press("f4")  # another screen, and back
        while "Fabric" not in type(app.screen).__name__:
            await pilot.pause()
        await pilot.press("escape")
        while "Round 12" not in shown(app):
            await pilot.pause()
        held.set()
        await settled(pilot)
        assert "round 11 of 60" in shown(app)
        assert "12◄" in shown(app)


async def test_a_slow_look_at_a_round_holds_no_key_up_either(
    library: Library, hut_hat: Maker, held: threading.Event
) -> None:
    """Once a look took long the next is not waited for, though it were quick."""
    app = KnitlogApp(library, hut_hat(9))
    async with app.run_test(size=(80, 24)) as pilot, asyncio.timeout(60):
        await settled(pilot)
        needles: Any = app.screen
        needles._fit_seconds = 0.2  # a long log on a slow machine
        held.clear()
        await pilot.press("5", "7", "enter")
        while "Saved: round 10 at stitch 57." not in said(app):
            await pilot.pause()
        await pilot.press("6", "0")
        while "│ 60 " not in shown(app):
            await pilot.pause()
        held.set()
        await settled(pilot)
        assert "11◄" in shown(app)
