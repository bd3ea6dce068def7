"""What is really on the screen: contrast measured cell by cell, nothing clipped, live resizing."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from rich.segment import Segment
from textual.pilot import Pilot

from knitlog.journal.library import Library
from knitlog.tui.app import KnitlogApp

from .colour_maths import contrast
from .conftest import settled, shown, type_in

Maker = Callable[..., Path]

pytestmark = pytest.mark.usefixtures("advised")

NOT_TEXT = set(" │─╭╮╰╯┌┐└┘├┤┬┴┼▏▕▔▁▂▃▄▅▆▇█▀░▒▓")
"""Lines, bars and shades: WCAG 2.2, 1.4.11 asks 3:1 of them where they carry a meaning."""


def segments(pilot: Pilot[None]) -> Iterator[Segment]:
    for strip in pilot.app.screen._compositor.render_strips():
        yield from strip


def poor_text(pilot: Pilot[None]) -> list[tuple[str, float]]:
    """Every piece of text drawn with less contrast than WCAG 2.2, 1.4.3 (AA) asks."""
    found = []
    for segment in segments(pilot):
        style = segment.style
        if style is None or not set(segment.text) - NOT_TEXT:
            continue
        assert style.color is not None
        assert style.bgcolor is not None
        colours = (style.color.get_truecolor().hex, style.bgcolor.get_truecolor().hex)
        ratio = contrast(*colours)
        if ratio < 4.5:
            found.append((segment.text, ratio))
    return found


@pytest.mark.parametrize("theme", ["lamplight", "snowlight"])
async def test_all_text_on_every_screen_meets_wcag_aa(
    library: Library, hut_hat: Maker, theme: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("KNITLOG_THEME", theme)
    app = KnitlogApp(library, hut_hat(9))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert poor_text(pilot) == []
        for key in ("f", "c", "n", "x", "w", "question_mark", "e"):
            await pilot.press(key)
            await settled(pilot)
            assert (key, poor_text(pilot)) == (key, [])
            await pilot.press("escape")
        await type_in(pilot, "999")
        assert poor_text(pilot) == []
        await pilot.press("escape", "escape")
        await settled(pilot)
        assert poor_text(pilot) == []
        await pilot.press("n", "ctrl+s")
        await settled(pilot)
        assert poor_text(pilot) == []


async def test_plain_uses_no_colour_at_all(
    library: Library, hut_hat: Maker, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("KNITLOG_THEME")
    monkeypatch.setenv("NO_COLOR", "1")
    app = KnitlogApp(library, hut_hat(9))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert app.theme == "plain"
        colours = {
            colour.name
            for segment in segments(pilot)
            if segment.style is not None
            for colour in (segment.style.color, segment.style.bgcolor)
            if colour is not None
        }
        assert colours <= {"default"}
        assert any(segment.style and segment.style.bold for segment in segments(pilot))


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
            "Round 10 · where did the colour change?",
            "37 the stitch · +2 -1.5 against the round below · = in line",
            "home 37",
            "← past",
            "short →",
            "●",
            "○",
            "10◄",
        ):
            assert words in text
        footer = text.splitlines()[-1]
        for key in ("f Fix", "n Note", "c Change", "s Skip", "b Back", "u Undo", "r Redo"):
            assert key in footer
        for key in ("w Why", "? Help", "^p All"):
            assert key in footer


async def test_the_screen_follows_a_resize(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(9))
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        await pilot.resize_terminal(80, 24)
        await settled(pilot)
        lines = shown(app).splitlines()
        assert (len(lines), {len(line) for line in lines}) == (24, {80})
        assert "10◄" in shown(app)
        assert "Round 10" in shown(app)
        await pilot.resize_terminal(60, 16)  # smaller than promised: still no end
        await settled(pilot)
        assert "Round 10" in shown(app)


async def test_where_there_is_no_room_for_big_letters_the_headline_is_in_capitals(
    library: Library, hut_hat: Maker
) -> None:
    app = KnitlogApp(library, hut_hat(9))
    async with app.run_test(size=(60, 20)) as pilot:
        await settled(pilot)
        assert "CHANGE STITCHES" in shown(app)
