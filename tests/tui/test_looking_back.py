"""The Review and My hands screens, key by key, on the invented year."""

import os
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from textual.containers import VerticalScroll
from textual.pilot import Pilot
from textual.widgets import Static

from knitlog.analysis.past import Past
from knitlog.analysis.samples import lay_out_samples, sample_year
from knitlog.journal import actions
from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile
from knitlog.tui.app import KnitlogApp
from knitlog.tui.modals.reading import HelpSheet
from knitlog.tui.screens.my_hands import MyHandsScreen
from knitlog.tui.screens.needles import NeedlesScreen
from knitlog.tui.screens.projects import ProjectsScreen
from knitlog.tui.screens.review import ReviewScreen

from .conftest import settled, shown, until

Maker = Callable[..., Path]

pytestmark = pytest.mark.usefixtures("advised")


@pytest.fixture
def year(library: Library) -> dict[str, Path]:
    """The invented year in the library, by name."""
    return {p.stem: p for p in lay_out_samples(library.folder, sample_year())}


def text_of(pilot: Pilot[None]) -> str:
    """All that stands on the screen, in sight or not."""
    lines = []
    for piece in pilot.app.screen.query("Static, DrawnPart"):
        visual = piece.render()
        lines.append(str(visual))
    return "\n".join(lines)


async def reviewed(pilot: Pilot[None]) -> ReviewScreen:
    await settled(pilot)
    await pilot.press("ctrl+r")
    await settled(pilot)
    await settled(pilot)
    screen = pilot.app.screen
    assert isinstance(screen, ReviewScreen)
    return screen


@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=["80x24", "120x40"])
async def test_a_project_is_looked_back_on(
    library: Library, year: dict[str, Path], size: tuple[int, int]
) -> None:
    app = KnitlogApp(library, year["03-storm-week-yoke"])
    async with app.run_test(size=size) as pilot:
        screen = await reviewed(pilot)
        assert screen.found is not None
        assert "Storm-week yoke: review" in shown(app)
        assert "of the fabric was within" in shown(app)
        assert re.search(r"Around round 3\d the drift changed by \+", text_of(pilot))
        await pilot.press("escape")
        assert isinstance(app.screen, NeedlesScreen)


async def test_it_scrolls(library: Library, year: dict[str, Path]) -> None:
    app = KnitlogApp(library, year["03-storm-week-yoke"])
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await reviewed(pilot)
        place = screen.query_one("#review", VerticalScroll)
        for key, way in (("down", 1), ("pagedown", 1), ("up", -1), ("pageup", -1)):
            before = place.scroll_y
            await pilot.press(key)
            await settled(pilot)
            assert (place.scroll_y - before) * way > 0, key


async def test_p_writes_the_page(library: Library, year: dict[str, Path]) -> None:
    app = KnitlogApp(library, year["06-thaw-headband"])
    async with app.run_test(size=(100, 30)) as pilot:
        screen = await reviewed(pilot)
        for number in ("", "-2"):
            await pilot.press("p")
            await settled(pilot)
            page = library.folder / "pictures" / f"06-thaw-headband-review{number}.html"
            assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
            if os.name != "nt":
                assert page.stat().st_mode & 0o077 == page.parent.stat().st_mode & 0o077 == 0
        assert "Wrote" in str(screen.query_one("#said", Static).render())


@pytest.mark.skipif(os.name == "nt", reason="links as POSIX has them")
async def test_a_page_is_not_written_through_a_link(
    library: Library, hut_hat: Maker, tmp_path: Path
) -> None:
    path = hut_hat(6)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (path.parent / "pictures").symlink_to(elsewhere)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(100, 30)) as pilot:
        screen = await reviewed(pilot)
        await pilot.press("p")
        await settled(pilot)
        assert "is a link to another folder" in str(screen.query_one("#said", Static).render())
    assert not list(elsewhere.iterdir())


async def test_without_a_project_it_says_so(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("ctrl+r")
        await settled(pilot)
        assert isinstance(app.screen, ProjectsScreen)
        assert any("look back on" in n.message for n in app._notifications)


async def test_a_project_without_rounds_is_reviewed_too(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(0))
    async with app.run_test(size=(80, 24)) as pilot:
        await reviewed(pilot)
        assert "No round logged yet" in text_of(pilot)


async def test_help_names_every_key(library: Library, year: dict[str, Path]) -> None:
    app = KnitlogApp(library, year["06-thaw-headband"])
    async with app.run_test(size=(120, 60)) as pilot:
        await reviewed(pilot)
        for keys in (("question_mark",), ("escape", "o", "question_mark")):
            for key in keys:
                await pilot.press(key)
                await settled(pilot)
            assert isinstance(app.screen, HelpSheet)
            text = shown(app)
            for words in ("Scroll up", "A screenful down", "Back to where you were", "Ctrl+R"):
                assert words in text


async def hands_of(pilot: Pilot[None]) -> MyHandsScreen:
    await settled(pilot)
    await pilot.press("ctrl+o")
    await settled(pilot)
    await settled(pilot)
    screen = pilot.app.screen
    assert isinstance(screen, MyHandsScreen)
    return screen


@pytest.mark.usefixtures("year")
@pytest.mark.parametrize("size", [(80, 24), (120, 40)], ids=["80x24", "120x40"])
async def test_her_hands_are_told(library: Library, size: tuple[int, int]) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=size) as pilot:
        screen = await hands_of(pilot)
        assert "From 8 finished projects." in shown(app)
        told = text_of(pilot)
        assert "you take out too little" in told
        assert re.search(r"any knitter .* you   \(19 times in 20\)", told)
        assert "A needle step does" in told
        place = screen.query_one("#hands", VerticalScroll)
        for key, way in (("down", 1), ("pagedown", 1), ("up", -1), ("pageup", -1)):
            before = place.scroll_y
            await pilot.press(key)
            await settled(pilot)
            assert (place.scroll_y - before) * way > 0, key
        await pilot.press("escape")
        assert isinstance(app.screen, ProjectsScreen)


async def test_g_draws_in_letters_and_back(library: Library, year: dict[str, Path]) -> None:
    app = KnitlogApp(library, year["06-thaw-headband"])
    async with app.run_test(size=(80, 24)) as pilot:
        for opened in (reviewed, hands_of):
            screen = await opened(pilot)
            before = text_of(pilot)
            await pilot.press("g")
            await settled(pilot)
            assert isinstance(screen, ReviewScreen | MyHandsScreen)
            assert screen.lettered
            assert text_of(pilot) != before
            await pilot.press("g")
            await settled(pilot)
            assert text_of(pilot) == before


async def test_w_does_without_and_with_again(library: Library, year: dict[str, Path]) -> None:
    app = KnitlogApp(library, year["09-second-frost-hat"])
    async with app.run_test(size=(100, 30)) as pilot:
        screen = await hands_of(pilot)
        state = next(s.state for s in library.projects() if s.slug == "09-second-frost-hat")
        assert state is not None
        assert app.past.beliefs(state).prior is not None
        await pilot.press("m")
        assert "do without your history" in str(screen.query_one("#switch", Static).render())
        assert app.past.beliefs(state).prior is None
        await pilot.press("m")
        assert app.past.beliefs(state).prior is not None


async def test_nothing_finished_is_said(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(4))
    async with app.run_test(size=(80, 24)) as pilot:
        await hands_of(pilot)
        assert "No finished project to learn from yet" in shown(app)


def test_a_finished_project_does_not_judge_itself(library: Library, year: dict[str, Path]) -> None:
    assert year
    past = Past(library)
    assert len(past.learnt().hands.projects) == 8
    assert len(past.learnt("02-woodpile-cowl").hands.projects) == 7


async def test_another_windows_round_is_looked_back_on_too(
    library: Library, hut_hat: Maker
) -> None:
    path = hut_hat(12)
    app = KnitlogApp(library, path, follow_every=0.02)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await reviewed(pilot)
        place = screen.query_one("#review", VerticalScroll)
        await pilot.press("down")
        await settled(pilot)
        line = place.scroll_y
        actions.add_note(JournalFile.open(path), "by the other lamp")  # the other window
        await until(pilot, lambda: "by the other lamp" in text_of(pilot))
        assert app.screen is screen
        assert "by the other lamp" in text_of(pilot)
        assert "Another window logged something" in shown(app)
        assert place.scroll_y == line  # she reads on where she was
        path.unlink()
        await until(pilot, lambda: "! " in shown(app))
        assert str(screen.query_one("#said", Static).render()).startswith("! ")
