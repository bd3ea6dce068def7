"""The Plan screen and its sheets, key by key."""

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import DataTable, Input, OptionList, Static

from knitlog.journal.colour_runs import ColourRunBook
from knitlog.journal.library import Library
from knitlog.plan.run_notation import parse_colour_run
from knitlog.tui.app import KnitlogApp
from knitlog.tui.modals.colour_sheet import ColourRunSheet, RunStepsSheet
from knitlog.tui.modals.plan_forms import BeginSheet, LiveSheet
from knitlog.tui.screens.needles import NeedlesScreen
from knitlog.tui.screens.plan import PlanScreen
from knitlog.tui.screens.projects import ProjectsScreen
from knitlog.tui.widgets.fabric_view import FabricView

from .conftest import settled, shown, type_in

HISTORY = Path(__file__).parents[2] / "sample_logs" / "history"

pytestmark = pytest.mark.usefixtures("advised")

TYPED = {
    "run": "rose 30cm, moss 45cm #117733, snow 77cm",
    "pulled": "40 = 80cm, 80cm",
    "needle": "4.5mm",
    "rounds": "60",
}
"""1520 mm / 20 mm = 76 stitches, by hand."""


async def opened(pilot: Pilot[None]) -> PlanScreen:
    await settled(pilot)
    await pilot.press("f5")
    await settled(pilot)
    screen = pilot.app.screen
    assert isinstance(screen, PlanScreen)
    return screen


async def filled(pilot: Pilot[None], **more: str) -> PlanScreen:
    screen = await opened(pilot)
    for name, text in {**TYPED, **more}.items():
        screen.form.question(name).set_value(text)
    await pilot.pause()  # what was typed is heard: the plan now waits for her to stop
    await settled(pilot)
    return screen


async def test_f5_asks_for_the_colours_first_and_escape_leaves(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await opened(pilot)
        assert screen.form.question("run").field.has_focus
        assert "Type the yarn's colours" in shown(app)
        assert "The yarn" in shown(app)  # the form begins at its head
        await pilot.press("escape")
        await settled(pilot)
        assert isinstance(app.screen, ProjectsScreen)
        assert not library.folder.exists()


async def test_typing_shows_stitch_counts_and_their_fabric(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(pilot)
        await type_in(pilot, TYPED["run"])
        for _ in range(2):  # turn, gauge
            await pilot.press("enter")
        await type_in(pilot, TYPED["pulled"])
        await pilot.press("enter", "enter")
        await type_in(pilot, "4.5mm")
        screen = app.screen
        assert isinstance(screen, PlanScreen)
        first = screen.candidates[0]
        assert (first.stitches, first.repeats) == (76, 1)
        assert "A stitch takes 20.0" in shown(app)
        assert screen.query_one(FabricView).fabric is not None
        for column in ("Count", "Needle", "Drift", "Size", "Stacks"):
            assert column in shown(app)


async def test_an_answer_that_cannot_be_read_says_so_under_it(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        await opened(pilot)
        await type_in(pilot, "rose")
        wrong = app.screen.query_one("#run .wrong", Static)
        assert wrong.display
        assert "'rose' is not a colour with its length" in str(wrong.visual)


async def test_a_size_that_cannot_be_shows_the_nearest(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(120, 40)) as pilot:
        screen = await filled(pilot, size="52cm")
        assert "No stitch count makes 52 cm" in shown(app)
        assert screen.candidates
        # 76 stitches at 20 / 4.1 mm (Munden, wet relaxed) are 37 cm
        assert screen.candidates[0].stitches in (75, 76, 77)


async def test_the_bar_changes_the_preview_and_the_way_out(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(120, 40)) as pilot:
        screen = await filled(pilot)
        await pilot.press("ctrl+l")
        await settled(pilot)
        assert screen.query_one(DataTable).has_focus
        first = screen.query_one(FabricView).fabric
        await pilot.press("down")
        await settled(pilot)
        second = screen.query_one(FabricView).fabric
        assert first is not None
        assert second is not None
        assert first.stitches != second.stitches
        assert second.rounds == 60
        assert "If by round 5" in shown(app)
        await pilot.press("ctrl+l")
        await settled(pilot)
        assert screen.form.question("run").field.has_focus


async def test_enter_on_a_stitch_count_begins_the_project(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        await filled(pilot, multiple="4", owned="4mm, 5mm")
        await pilot.press("ctrl+l", "enter")
        await settled(pilot)
        assert isinstance(app.screen, BeginSheet)
        assert "76 stitches" in shown(app)
        await type_in(pilot, "Hut hat")
        await type_in(pilot, "")
        await settled(pilot)
        assert isinstance(app.screen, NeedlesScreen)
        facts = library.open("hut-hat").state.facts
        assert (facts.stitches, facts.repeats, facts.planned_rounds) == (76, 1.0, 60)
        assert (facts.multiple, facts.needles_owned_mm) == (4, (4.0, 4.5, 5.0))
        assert facts.colour_run == parse_colour_run(TYPED["run"])


async def test_ctrl_s_begins_too_and_a_taken_name_is_said(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await opened(pilot)
        await pilot.press("ctrl+s")
        await settled(pilot)
        assert "nothing to begin yet" in shown(app)
        for name, text in TYPED.items():
            screen.form.question(name).set_value(text)
        await pilot.press("ctrl+s")
        await settled(pilot)
        await pilot.press("enter")  # a name is needed
        await settled(pilot)
        assert isinstance(app.screen, BeginSheet)
        await pilot.press("escape")
        await settled(pilot)
        assert app.screen is screen
        assert library.projects() == ()


async def test_the_arrows_go_from_question_to_question(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await opened(pilot)
        await pilot.press("down", "down")
        assert screen.form.question("gauge").field.has_focus
        await pilot.press("up")
        assert screen.form.question("turn").field.has_focus
        assert "One turn of the reel" in shown(app)


async def test_the_reels_turn_is_checked(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 40)) as pilot:
        await filled(pilot, turn="120in")
        # 152 cm against 304.8: half
        assert "that is half" in shown(app).replace("\n", " ")


async def test_ctrl_o_takes_a_run_kept_before(library: Library) -> None:
    ColourRunBook(library.folder).keep("Lake", parse_colour_run("ice 40cm, reed 30cm, and back"))
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 30)) as pilot:
        screen = await opened(pilot)
        await pilot.press("ctrl+n")
        await settled(pilot)
        sheet = app.screen
        assert isinstance(sheet, ColourRunSheet)
        sheet.query_one(OptionList).focus()
        await pilot.press("down", "enter")
        await settled(pilot)
        assert "ice 40 cm" in shown(app)
        assert "and back" in shown(app)
        await pilot.press("ctrl+s")
        await settled(pilot)
        assert app.screen is screen
        assert screen.form.question("run").field.value.startswith("ice 40 cm")


async def test_step_by_step_along_a_tape(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 30)) as pilot:
        screen = await opened(pilot)
        await pilot.press("ctrl+n", "ctrl+t")
        await settled(pilot)
        assert isinstance(app.screen, RunStepsSheet)
        await type_in(pilot, "")  # nothing yet
        assert "at least one colour" in shown(app)
        for name, end, colour in (("ice", "30cm", ""), ("reed", "20cm", "")):
            await type_in(pilot, name)
            await type_in(pilot, end)
            await type_in(pilot, colour)
        assert "not past where it begins" in shown(app).replace("\n", " ")
        app.screen.query_one("#end_mm Input", Input).value = ""
        await type_in(pilot, "50cm")
        await type_in(pilot, "teal")
        await type_in(pilot, "slip")
        await type_in(pilot, "60cm")
        await type_in(pilot, "")
        await pilot.press("ctrl+z")  # takes slip back, its name still there
        await settled(pilot)
        app.screen.query_one("#name Input", Input).value = ""
        await pilot.press("ctrl+b", "ctrl+s")
        await settled(pilot)
        assert isinstance(app.screen, ColourRunSheet)
        await pilot.press("ctrl+s")
        await settled(pilot)
        run = parse_colour_run(screen.form.question("run").field.value)
        assert [(s.name, s.length_mm) for s in run.segments] == [("ice", 300.0), ("reed", 200.0)]
        assert run.palindrome
        assert run.segments[1].colour == "#008080"  # teal (W3C CSS Color 4)


ASKED = (
    # -4 of 76 is 5.3 %: a hand can do that
    ("f6", {"off": "-4"}, "cast on again 5 % tighter"),
    # 1520 mm less 40 mm for 76 stitches: 40 * 76 / 1480 = 2.05 stitches
    ("f6", {"left": "4cm"}, "within the 3 you allow"),
    # 152 m at 76 * 20 mm a round is 100 rounds
    ("f7", {"left": "152m", "rounds": ""}, "Enough for about 100 rounds"),
    ("f7", {"left": "76m", "rounds": "60"}, "It lasts 60 rounds with a chance of 1 %"),
    # 38 g of 400 m / 100 g is 152 m
    ("f7", {"left": "38g", "skein": "400m/100g"}, "Enough for about 100 rounds"),
    ("f7", {"left": "38g"}, "a whole skein's label"),
    # (52 - 15) cm less (10 + 15) cm
    ("f8", {"old": "52cm", "new": "10cm"}, "Cut 12 cm off the new skein"),
    ("f8", {"old": "52cm", "new": "10cm", "other": "5cm"}, "leave the other end out"),
)


async def test_the_small_sheets_answer_as_she_types(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 30)) as pilot:
        await filled(pilot)
        for key, answers, said in ASKED:
            await pilot.press(key)
            await pilot.pause()
            sheet = app.screen
            assert isinstance(sheet, LiveSheet)
            for name, text in answers.items():
                sheet.query_one(f"#{name} Input", Input).value = text
            await pilot.pause()
            assert said in str(sheet.query_one("#said", Static).visual)
            await pilot.press("escape")
            await pilot.pause()
            assert isinstance(app.screen, PlanScreen)


async def test_the_small_sheets_say_what_they_lack(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 30)) as pilot:
        await opened(pilot)
        for key in ("f6", "f7", "f8"):
            await pilot.press(key)
            await settled(pilot)
            found = str(app.screen.query_one("#said", Static).visual)
            assert "Plan screen" in found or "Type how many" in found
            await type_in(pilot, "nonsense")
            assert "! " in shown(app)
            await pilot.press("escape")
            await settled(pilot)


async def test_inches_are_answered_in_inches(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(120, 40)) as pilot:
        await filled(pilot, size="15in")
        assert "14.5 in" in shown(app)


async def test_help_names_every_key(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(120, 60)) as pilot:
        await opened(pilot)
        await pilot.press("f1")
        await settled(pilot)
        text = shown(app)
        for phrase in (
            "Begin a project from the plan",
            "The colours: kept",
            "Check a cast-on",
            "Whether the yarn is enough",
            "Where to join the next skein",
        ):
            assert phrase in text


async def test_her_finished_projects_are_used_and_may_be_done_without(library: Library) -> None:
    library.folder.mkdir(parents=True)
    for name in ("01-first-frost-hat", "02-woodpile-cowl"):
        source = HISTORY / f"{name}.knitlog"
        (library.folder / source.name).write_bytes(source.read_bytes())
    app = KnitlogApp(library)
    async with app.run_test(size=(120, 40)) as pilot:
        screen = await filled(pilot)
        assert screen.form.question("past").field.value == "mine"
        assert "your hands" in shown(app)
        screen.form.question("past").set_value("")
        await pilot.pause()
        await settled(pilot)
        assert "your hands" not in shown(app)
