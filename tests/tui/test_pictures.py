"""What must hold on every screen and sheet, walked one after the other as they are drawn.

Contrast is measured cell by cell; eyes that see colours otherwise are simulated on the same
cells; few colours, none, a wide terminal and a small one are walked too.
"""

from collections.abc import Awaitable, Callable, Collection, Iterator
from pathlib import Path

import pytest
from pytest_textual_snapshot import SVGImageExtension
from rich.color import ColorSystem
from rich.segment import Segment
from syrupy.assertion import SnapshotAssertion
from textual.pilot import Pilot

from knitlog.journal.library import Library
from knitlog.tui.app import KnitlogApp

from . import tour
from .colour_maths import MACHADO, contrast
from .conftest import resized, settled
from .test_keys import key_faults, our_screens
from .tour import RUN, STOPS, Stop

NOT_TEXT = set(" │─╭╮╰╯┌┐└┘├┤┬┴┼▏▕▔▁▂▃▄▅▆▇█▀░▒▓")
"""Lines, bars and shades: WCAG 2.2, 1.4.11 asks 3:1 of them where they carry a meaning."""
AA = 4.5
"""WCAG 2.2, success criterion 1.4.3 (AA), for text of any size."""
OBJECTS = 3.0
"""WCAG 2.2, 1.4.11 (AA), for graphical objects."""
YARN = {segment.colour for segment in RUN.segments}


@pytest.fixture
def hut(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Library:
    """The library of the story, at a path that is the same on every machine."""
    tour.freeze(monkeypatch)
    monkeypatch.setenv("COLORTERM", "truecolor")
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.chdir(tmp_path)
    return Library(Path("wool"))


Check = Callable[[Stop, Pilot[None]], Awaitable[None]]


async def walk(
    library: Library, size: tuple[int, int], check: Check, only: Collection[str] = ()
) -> None:
    """Go to every stop (or ``only`` some) and check it, one app for all that begin alike."""
    for begin in ("nothing", "projects", "needles"):
        app = tour.app_at(begin, Library(library.folder / begin))
        async with app.run_test(size=size, notifications=True) as pilot:
            await settled(pilot)
            for stop in STOPS:
                if stop.begin != begin or (only and stop.name not in only):
                    continue
                await stop.go(pilot)
                await check(stop, pilot)
                await tour.back(pilot, stop)


def segments(pilot: Pilot[None]) -> Iterator[Segment]:
    for strip in pilot.app.screen._compositor.render_strips():
        yield from strip


def pairs(pilot: Pilot[None]) -> dict[tuple[str, str], str]:
    """The colours of ink and ground of every piece of text, and one text of each."""
    found: dict[tuple[str, str], str] = {}
    for segment in segments(pilot):
        style = segment.style
        if style is None or not set(segment.text) - NOT_TEXT:
            continue
        assert style.color is not None
        assert style.bgcolor is not None
        ink, ground = style.color.get_truecolor().hex, style.bgcolor.get_truecolor().hex
        found.setdefault((ground, ink) if style.reverse else (ink, ground), segment.text)
    return found


def poor_text(pilot: Pilot[None]) -> Iterator[tuple[object, ...]]:
    """Text with less contrast than WCAG asks, to any eyes.

    Ink and ground are simulated as those eyes see them, cell by cell as they are drawn.  The
    yarn's colours are not ours to choose: a letter on one, whose name stands beside it in
    ordinary ink, need only be legible as a graphical object to eyes that see it otherwise.
    """
    for (ink, ground), text in pairs(pilot).items():
        for eyes in (None, *MACHADO):
            ratio = contrast(ink, ground, eyes)
            if ratio < (OBJECTS if eyes and ground in YARN else AA):
                yield eyes, text, ink, ground, round(ratio, 2)


def colours(pilot: Pilot[None]) -> set[str]:
    """The names of all colours drawn."""
    return {
        colour.name
        for segment in segments(pilot)
        if segment.style is not None
        for colour in (segment.style.color, segment.style.bgcolor)
        if colour is not None
    }


SMALL, WIDE, HUGE = (80, 24), (120, 40), (200, 60)
COLOURFUL = ("the_first_evening", "her_projects", "at_the_needles", "the_fabric", "a_plan_begun")


async def poor_text_by_day(pilot: Pilot[None]) -> list[tuple[object, ...]]:
    """Text with too little contrast in the light theme; the dark one is put back."""
    pilot.app.theme = "snowlight"
    await settled(pilot)
    poor = list(poor_text(pilot))
    pilot.app.theme = "lamplight"
    return poor


async def test_every_screen(
    hut: Library, snapshot: SnapshotAssertion, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Is the picture kept, small and wide, legible to every eye, has its keys, and follows.

    All in one walk: it takes longer to get to a screen than to look at it.
    """
    monkeypatch.setenv("KNITLOG_THEME", "lamplight")
    pictures = snapshot.use_extension(SVGImageExtension)
    visited: set[str] = set()
    wrong: list[object] = []

    async def check(stop: Stop, pilot: Pilot[None]) -> None:
        app = pilot.app
        name = type(app.screen).__name__
        first = name not in visited
        visited.add(name)
        if app.export_screenshot() != pictures(name=stop.name):
            wrong.append((stop.name, "is not the picture kept"))
        if first and name in our_screens():
            wrong.extend((name, *fault) for fault in await key_faults(pilot))
        wrong.extend((stop.name, *poor) for poor in poor_text(pilot))
        if first or stop.name in COLOURFUL:  # another theme is slow to put on
            wrong.extend([(stop.name, *poor) for poor in await poor_text_by_day(pilot)])
        sizes = (HUGE, WIDE, SMALL) if first else (WIDE, SMALL)
        for size in sizes:
            if not await resized(pilot, size):
                wrong.append((stop.name, "does not fill", size))
            if size == WIDE and app.export_screenshot() != pictures(name=f"{stop.name}_wide"):
                wrong.append((stop.name, "is not the wide picture kept"))

    await walk(hut, SMALL, check)
    assert not wrong, "\n".join(map(str, wrong))
    assert set(our_screens()) - visited == set()  # what is on no stop of the tour


@pytest.mark.long
async def test_by_day_all_text_is_legible_to_every_eye(
    hut: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("KNITLOG_THEME", "lamplight")
    wrong: list[object] = []

    async def check(stop: Stop, pilot: Pilot[None]) -> None:
        wrong.extend([(stop.name, *poor) for poor in await poor_text_by_day(pilot)])

    await walk(hut, SMALL, check)
    assert not wrong, "\n".join(map(str, wrong))


some_or_all = pytest.mark.parametrize(
    "stops", [COLOURFUL, pytest.param((), marks=pytest.mark.long)], ids=["some", "all"]
)


@some_or_all
async def test_without_colour_nothing_is_painted(
    hut: Library, monkeypatch: pytest.MonkeyPatch, stops: Collection[str]
) -> None:
    monkeypatch.delenv("KNITLOG_THEME")
    monkeypatch.setenv("NO_COLOR", "1")

    async def check(stop: Stop, pilot: Pilot[None]) -> None:
        assert pilot.app.theme == "plain"
        assert colours(pilot) <= {"default"}, stop.name
        assert any(segment.style and segment.style.bold for segment in segments(pilot)), stop.name

    await walk(hut, SMALL, check, stops)


@some_or_all
async def test_sixteen_colours_will_do(
    hut: Library, monkeypatch: pytest.MonkeyPatch, stops: Collection[str]
) -> None:
    for name in ("KNITLOG_THEME", "COLORTERM", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TERM", "xterm-16color")

    async def check(stop: Stop, pilot: Pilot[None]) -> None:
        assert pilot.app.console.color_system == "standard"
        for segment in segments(pilot):
            style = segment.style
            if style is None or style.color is None or style.bgcolor is None:
                continue
            # as it is written to such a terminal
            ink, ground = (
                colour.downgrade(ColorSystem.STANDARD) for colour in (style.color, style.bgcolor)
            )
            legible = ink.is_default or ink != ground or not set(segment.text) - NOT_TEXT
            assert legible, (stop.name, segment)

    await walk(hut, HUGE, check, stops)


def test_the_names_of_the_stops_are_their_own() -> None:
    names = [stop.name for stop in STOPS]
    assert len(set(names)) == len(names)
    assert KnitlogApp.TITLE == "knitlog"
