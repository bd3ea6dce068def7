"""The screens as pictures, each one moment of an invented evening.

The clock, the cursor, the size, the fit and the advice are frozen, so a picture
changes only when the screen does.  Look at a changed picture before taking it:
``pytest tests/tui/test_pictures.py --snapshot-update`` writes what is drawn now.
"""

from collections.abc import Callable
from pathlib import Path

import pytest
from textual.pilot import Pilot

from knitlog.journal.library import Library
from knitlog.tui.app import KnitlogApp

from . import story
from .conftest import settled

SMALL, LARGE = (80, 24), (120, 40)
Snapshot = Callable[..., bool]

pytestmark = pytest.mark.usefixtures("still_cursor")


@pytest.fixture
def hut(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Library:
    """The library of the story, at a path that is the same on every machine."""
    story.freeze(monkeypatch)
    monkeypatch.chdir(tmp_path)
    return Library(Path("wool"))


def after(*keys: str) -> Callable[[Pilot[None]], object]:
    """Press ``keys`` one by one, letting each settle."""

    async def act(pilot: Pilot[None]) -> None:
        await settled(pilot)
        for key in keys:
            await pilot.press(key)
            await settled(pilot)

    return act


@pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "120x40"])
def test_she_looks_up_and_sees_what_to_do(
    snap_compare: Snapshot, hut: Library, size: tuple[int, int]
) -> None:
    app = KnitlogApp(hut, story.write(hut), follow_every=3600)
    assert snap_compare(app, run_before=after(), terminal_size=size)


def test_by_day_she_reads_it_in_snowlight(
    snap_compare: Snapshot, hut: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("KNITLOG_THEME", "snowlight")
    app = KnitlogApp(hut, story.write(hut), follow_every=3600)
    assert snap_compare(app, run_before=after(), terminal_size=SMALL)


def test_the_first_evening_two_keys_lead_on(snap_compare: Snapshot, hut: Library) -> None:
    assert snap_compare(KnitlogApp(hut), run_before=after(), terminal_size=SMALL)


@pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "120x40"])
def test_her_projects_latest_first(
    snap_compare: Snapshot, hut: Library, size: tuple[int, int]
) -> None:
    story.write(hut)
    assert snap_compare(KnitlogApp(hut), run_before=after(), terminal_size=size)


@pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "120x40"])
def test_a_new_project_shows_what_a_repeat_is(
    snap_compare: Snapshot, hut: Library, size: tuple[int, int]
) -> None:
    run = after("n", "down", "down")
    assert snap_compare(KnitlogApp(hut), run_before=run, terminal_size=size)


@pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "120x40"])
def test_she_asks_why(snap_compare: Snapshot, hut: Library, size: tuple[int, int]) -> None:
    app = KnitlogApp(hut, story.write(hut), follow_every=3600)
    assert snap_compare(app, run_before=after("w"), terminal_size=size)


def test_she_logs_what_she_did_about_it(snap_compare: Snapshot, hut: Library) -> None:
    app = KnitlogApp(hut, story.write(hut), follow_every=3600)
    assert snap_compare(app, run_before=after("f"), terminal_size=SMALL)


def test_she_asks_for_help(snap_compare: Snapshot, hut: Library) -> None:
    app = KnitlogApp(hut, story.write(hut), follow_every=3600)
    assert snap_compare(app, run_before=after("question_mark"), terminal_size=LARGE)
