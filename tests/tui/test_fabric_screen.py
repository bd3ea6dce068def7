"""The Fabric screen, key by key."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest
from textual.pilot import Pilot
from textual.widgets import Static

from knitlog.advice import Advice, Manner, Plan, Remedy, Situation
from knitlog.advice.turns import Turn
from knitlog.advice.ways import Way
from knitlog.journal import actions
from knitlog.journal.colour_runs import ColourRunBook
from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile
from knitlog.plan.run_notation import parse_colour_run
from knitlog.tui.app import KnitlogApp
from knitlog.tui.modals.colour_sheet import ColourRunSheet
from knitlog.tui.modals.reading import HelpSheet, WhySheet
from knitlog.tui.screens.fabric import FabricScreen
from knitlog.tui.screens.needles import NeedlesScreen
from knitlog.tui.screens.projects import ProjectsScreen
from knitlog.tui.widgets.fabric_view import FabricView

from .conftest import canned_advice, resized, settled, shown, type_in, until

Maker = Callable[..., Path]

WIDER = Way(4.5, 132, Turn(130.5, 0.4, 0.0), 3.1)
LARGER = Way(5.0, 128, Turn(121.0, 0.4, 0.8), 7.0)
PLANS = {
    Remedy.CHANGE_STITCH_COUNT: Plan(Remedy.CHANGE_STITCH_COUNT, Manner.AS_USUAL, way=WIDER),
    Remedy.CHANGE_NEEDLE: Plan(Remedy.CHANGE_NEEDLE, Manner.AS_USUAL, way=LARGER),
    Remedy.CARRY_ON: Plan(Remedy.CARRY_ON, Manner.AS_USUAL),
}


@pytest.fixture(autouse=True)
def _advised(monkeypatch: pytest.MonkeyPatch) -> None:
    """The made-up advice, about the project as it stands, with plans to follow."""
    canned = canned_advice()
    options = tuple(replace(o, plan=PLANS.get(o.remedy)) for o in canned.options)

    def advise(situation: Situation, **_: object) -> Advice:
        return replace(canned, situation=situation, options=options, recommended=options[0])

    monkeypatch.setattr("knitlog.advice.advise", advise)


RUN = parse_colour_run("rose 30cm #cc6677, moss 45cm #117733, snow 77cm #ddeeff")
COLOURS = {
    "colours": tuple(
        {"name": s.name, "length_mm": s.length_mm, "colour": s.colour} for s in RUN.segments
    )
}


@pytest.fixture(autouse=True)
def _true_colour(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLORTERM", "truecolor")
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)


async def opened(pilot: Pilot[None]) -> FabricScreen:
    await settled(pilot)
    await pilot.press("f4")
    await settled(pilot)
    await settled(pilot)
    screen = pilot.app.screen
    assert isinstance(screen, FabricScreen)
    return screen


def words(screen: FabricScreen, what: str = "words") -> str:
    return str(screen.query_one(f"#{what}", Static).visual)


async def test_f4_shows_the_fabric_and_escape_goes_back(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(12, **COLOURS))
    async with app.run_test(size=(120, 40)) as pilot:
        screen = await opened(pilot)
        assert [view.fabric is not None for view in screen.views] == [True] * 3
        text = shown(app)
        # the recommended remedy, and what the advice says of it
        assert "1 Change to 132 stitches: " in text
        assert "50 % in place, 1 fix" in text
        assert "3 Carry on: +2" in text
        assert words(screen).startswith("Round 12: ")
        assert "rose" in words(screen, "key")
        await pilot.press("f4")  # already there
        assert app.screen is screen
        await pilot.press("escape")
        await settled(pilot)
        assert isinstance(app.screen, NeedlesScreen)


async def test_without_a_project_it_says_so(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("f4")
        await settled(pilot)
        assert isinstance(app.screen, ProjectsScreen)
        assert [n.message[:20] for n in app._notifications] == ["Open a project first"]


async def test_the_futures_are_named_with_their_keys(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(12, **COLOURS))
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await opened(pilot)
        assert [str(f.option.remedy) for f in screen.picked if f.option is not None] == [
            "change stitch count",
            "carry on",
        ]
        assert words(screen, "futures").split("  ") == [
            "1►132 stitches",
            "2 5 mm",
            "3 carry on",
            "(4 rip back)",
            "",
        ]
        assert "1-9 Futures" in shown(app)


async def test_numbers_pick_futures_and_one_always_stays(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(12, **COLOURS))
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await opened(pilot)
        await pilot.press("1", "3")
        await settled(pilot)
        assert screen.picked == (screen.futures[2],)
        await pilot.press("2")
        await settled(pilot)
        assert screen.picked == screen.futures[1:3]
        await pilot.press("4")  # cannot be done here: it says why, in its place and below
        await settled(pilot)
        assert screen.picked == screen.futures[1:4]
        assert "Less than a stitch cannot be mended: the count is no finer." in shown(app)
        assert (
            words(screen, "said") == "Less than a stitch cannot be mended: the count is no finer."
        )
        await pilot.press("9")
        assert words(screen, "said") == "There are 4 futures here."


async def test_w_says_why(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(12, **COLOURS))
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(pilot)
        await pilot.press("w")
        await settled(pilot)
        assert isinstance(app.screen, WhySheet)
        assert "Change to 132 stitches" in shown(app)


async def test_from_farther_off_it_says_what_a_cell_is(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(12, **COLOURS))
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await opened(pilot)
        assert "half a cell: the commonest of 3 rounds" in words(screen, "key")
        while screen.views[0].rounds_in_half_cell > 1:
            await pilot.press("plus")
        assert "half a cell" not in words(screen, "key")


async def test_plus_minus_and_nought_zoom(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(12, **COLOURS))
    async with app.run_test(size=(120, 40)) as pilot:
        screen = await opened(pilot)
        first = screen.views[0].zoom
        await pilot.press("plus")
        larger = screen.views[0].zoom
        assert larger > first
        await pilot.press("minus", "minus")
        assert screen.views[0].zoom < first
        await pilot.press("0")
        assert screen.views[0].zoom == first  # all rounds in sight
        await pilot.press("0")
        whole = screen.views[0]
        assert whole.fabric is not None
        assert whole.fabric.stitches * whole.zoom <= whole.plot_columns + 1
        assert len({view.zoom for view in screen.views}) == 1


async def test_the_arrows_tell_another_round_and_scroll(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(12, **COLOURS))
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await opened(pilot)
        await pilot.press("down")
        assert (screen.cursor, words(screen)[:9]) == (11, "Round 11:")
        await pilot.press("up", "up")
        assert screen.cursor == 13
        assert "(132 stitches)" in words(screen)
        await pilot.press("home")
        assert screen.cursor == 1
        await pilot.press("pageup")
        assert screen.cursor > 5
        await pilot.press("pagedown")
        assert screen.cursor == 1
        await pilot.press("end")
        assert screen.cursor == 12
        before = shown(app)
        await pilot.press("left")
        await settled(pilot)
        moved = shown(app)
        assert moved != before
        await pilot.press("right")
        await settled(pilot)
        assert shown(app) == before


async def test_l_puts_letters_on_the_colours(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(12, **COLOURS))
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(pilot)
        assert "RRRR" not in shown(app)
        await pilot.press("g")
        await settled(pilot)
        assert "RRRR" in shown(app) or "SSSS" in shown(app)
        await pilot.press("g")
        await settled(pilot)
        assert "SSSS" not in shown(app)


async def test_e_takes_the_unevenness_to_come_away(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(12, **COLOURS))
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await opened(pilot)
        uneven = screen.futures[0].fabric
        await pilot.press("h")
        await settled(pilot)
        even = screen.futures[0].fabric
        assert uneven is not None
        assert even is not None
        assert (even.cells[:12] == uneven.cells[:12]).all()
        assert (even.cells[12:] != uneven.cells[12:]).any()
        assert "evenly" in shown(app)


async def test_p_and_s_save_a_picture_and_say_where(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(12, **COLOURS))
    async with app.run_test(size=(160, 40)) as pilot:
        screen = await opened(pilot)
        await pilot.press("v")
        await settled(pilot)
        drawn = library.folder / "pictures" / "hut-hat-fabric.svg"
        said = words(screen, "said")
        assert str(drawn) in said
        title = ElementTree.parse(drawn).getroot()[0].text
        assert title is not None
        assert title.startswith("Change to 132 stitches: ")
        assert title.count("; ") == len(screen.picked) - 1
        await pilot.press("v")
        await settled(pilot)
        assert (library.folder / "pictures" / "hut-hat-fabric-2.svg").exists()
        await pilot.press("p")
        await settled(pilot)
        assert (library.folder / "pictures" / "hut-hat-fabric.png").read_bytes()[1:4] == b"PNG"


async def test_a_picture_that_cannot_be_saved_is_said(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(12, **COLOURS)
    (library.folder / "pictures").write_text("a file where the folder should be")
    app = KnitlogApp(library, path)
    async with app.run_test(size=(120, 40)) as pilot:
        screen = await opened(pilot)
        await pilot.press("v")
        await settled(pilot)
        assert words(screen, "said").startswith("! ")


async def test_c_describes_the_colours_and_the_journal_has_them(
    library: Library, hut_hat: Maker
) -> None:
    path = hut_hat(12)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(120, 40)) as pilot:
        screen = await opened(pilot)
        assert "not described yet" in words(screen, "key")
        await pilot.press("y")
        await settled(pilot)
        assert isinstance(app.screen, ColourRunSheet)
        await type_in(pilot, "rose 60cm #cc6677, moss 92.4cm")
        await pilot.press("enter")
        await settled(pilot)
        await type_in(pilot, "Hut moss")
        await settled(pilot)
        assert app.screen is screen
        run = JournalFile.open(path).state.facts.colour_run
        assert run is not None
        assert [s.name for s in run.segments] == ["rose", "moss"]
        assert "not described" not in words(screen, "key")
        assert ColourRunBook(library.folder).find("hut moss").run == run


async def test_clicking_a_stitch_tells_its_round(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(12, **COLOURS))
    async with app.run_test(size=(120, 40)) as pilot:
        screen = await opened(pilot)
        view = screen.views[0]
        await pilot.click(view, offset=(5, view.size.height - 2))  # the lowest line of stitches
        await settled(pilot)
        assert screen.cursor <= 3


async def test_help_names_every_key(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(2, **COLOURS))
    async with app.run_test(size=(120, 60)) as pilot:
        await opened(pilot)
        await pilot.press("question_mark")
        await settled(pilot)
        assert isinstance(app.screen, HelpSheet)
        text = shown(app)
        for phrase in (
            "Show or hide that future",
            "every remedy side by side",
            "Letters on the colours",
            "Save a picture as PNG",
            "Describe the yarn's colours",
            "All rounds in sight",
        ):
            assert phrase in text


async def test_without_colour_there_are_letters(
    library: Library, hut_hat: Maker, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.delenv("KNITLOG_THEME")
    app = KnitlogApp(library, hut_hat(12, **COLOURS))
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await opened(pilot)
        assert "SSSS" in shown(app)
        assert " R " in words(screen, "key")
        styles = {
            segment.style.bgcolor
            for strips in app.screen._compositor.render_strips()
            for segment in strips
            if segment.style is not None and "SSSS" in segment.text
        }
        assert all(colour is None or colour.is_default for colour in styles)
        await pilot.press("g")
        await settled(pilot)
        assert "shows no colours" in words(screen, "said")


async def test_sixteen_colours_are_each_their_own(
    library: Library, hut_hat: Maker, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("COLORTERM")
    monkeypatch.setenv("TERM", "xterm-16color")
    monkeypatch.delenv("KNITLOG_THEME")
    reds = parse_colour_run("rust 50cm #aa3311, brick 50cm #aa3318, snow 52cm #ffffff")
    parts = tuple(
        {"name": s.name, "length_mm": s.length_mm, "colour": s.colour} for s in reds.segments
    )
    app = KnitlogApp(library, hut_hat(12, colours=parts))
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await opened(pilot)
        assert isinstance(screen.views[0], FabricView)
        assert app.console.color_system == "standard"
        inks = screen.views[0]._inks
        assert len({ink.number for ink in inks}) == 3


async def test_home_is_marked_and_never_cuts_a_number(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(12, **COLOURS, homes={1: 30.0}))
    async with app.run_test(size=(120, 40)) as pilot:
        screen = await opened(pilot)
        view = screen.views[0]
        for _ in range(4):
            ruler = view.render_line(view.size.height - 1).text
            assert ruler.count("▲") == 1
            step = {int(number) for number in ruler.replace("▲", " ").split()}
            assert all(number % 5 == 0 or number % 2 == 0 or number == 1 for number in step)
            assert len(step) < 2 or min(step - {1}) >= 2
            await pilot.press("plus")


async def test_another_windows_round_is_drawn_here_too(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(12, **COLOURS)
    app = KnitlogApp(library, path, follow_every=0.02)
    async with app.run_test(size=(120, 40)) as pilot:
        screen = await opened(pilot)
        for number in (13, 14):
            actions.log_round(JournalFile.open(path), [70.0])  # the other window
            await until(pilot, lambda n=number: f"round {n} of 60" in shown(app))
            assert app.screen is screen
            assert words(screen).startswith(f"Round {number}: ")  # it stays at the newest
        assert words(screen, "said") == "Another window logged something: it is here too."
        await pilot.press("escape")
        await settled(pilot)
        assert "round 14 of 60" in shown(app)


async def test_colours_described_here_are_not_taken_for_another_windows(
    library: Library, hut_hat: Maker
) -> None:
    path = hut_hat(3)
    app = KnitlogApp(library, path, follow_every=0.02)
    async with app.run_test(size=(120, 40)) as pilot:
        screen = await opened(pilot)
        screen._described(RUN)
        for _ in range(5):
            await pilot.pause(0.02)
        await settled(pilot)
        assert words(screen, "said") == "Saved: the yarn's colours."
        await pilot.press("escape")
        await settled(pilot)
        needles = app.screen
        assert isinstance(needles, NeedlesScreen)
        assert needles.view is not None
        assert needles.view.state.facts.colour_run == RUN  # and the screen below knows of them
        assert "Another window" not in shown(app)


async def test_worked_flat_every_row_is_seen_for_itself(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(12, **COLOURS, flat=True, planned_rounds=200))
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await opened(pilot)
        for _ in range(4):
            assert {view.rounds_in_half_cell for view in screen.views} == {1}
            await pilot.press("minus")
        assert words(screen).startswith("Row 12: ")
        assert "half a cell" not in words(screen, "key")


async def test_under_a_sheet_too_the_fabric_is_fitted_to_another_size(
    library: Library, hut_hat: Maker
) -> None:
    app = KnitlogApp(library, hut_hat(12))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("f4")
        await settled(pilot)
        fabric = app.screen
        await resized(pilot, (120, 40))
        zooms = [view.zoom for view in fabric.query(FabricView)]
        await resized(pilot, (80, 24))
        await pilot.press("y")
        await resized(pilot, (120, 40))
        assert app.screen is not fabric
        assert [view.zoom for view in fabric.query(FabricView)] == zooms
