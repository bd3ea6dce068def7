"""The project list and the questions of a new project, key by key."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import DataTable, Static

from knitlog.analysis.samples import samples
from knitlog.journal.events import now
from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile
from knitlog.tui.app import KnitlogApp
from knitlog.tui.screens.needles import NeedlesScreen
from knitlog.tui.screens.new_project import NewProjectScreen
from knitlog.tui.screens.projects import ProjectsScreen
from knitlog.tui.widgets.question import Form, Question

from .conftest import settled, shown, type_in

Maker = Callable[..., Path]

pytestmark = pytest.mark.usefixtures("advised")


async def new_project(app: KnitlogApp, pilot: Pilot[None]) -> NewProjectScreen:
    """Press a on the list of projects, and return the questions that come."""
    await pilot.press("a")
    await settled(pilot)
    screen = app.screen
    assert isinstance(screen, NewProjectScreen)
    return screen


async def test_the_first_start_welcomes_and_names_the_keys_that_lead_on(
    library: Library,
) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        text = shown(app)
        assert "a   a project of your own" in text
        assert "F5  plan before" in text
        assert "k   play with a sample" in text
        assert not library.folder.exists()  # looking makes nothing


async def test_k_lays_out_the_samples_and_enter_opens_one(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("k")
        await settled(pilot)
        assert len(library.projects()) == len(samples()) >= 4
        await pilot.press("down", "enter")
        await settled(pilot)
        assert isinstance(app.screen, NeedlesScreen)
        assert app.screen.project.state.name == library.projects()[1].name


async def test_the_list_shows_rounds_and_says_what_cannot_be_read(
    library: Library, hut_hat: Maker
) -> None:
    hut_hat(3)
    (library.folder / "torn.knitlog").write_text("not a journal\n", encoding="utf-8")
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "3 of 60" in shown(app)
        assert "cannot be read" in shown(app)
        await pilot.press("down", "enter")
        await settled(pilot)
        assert isinstance(app.screen, ProjectsScreen)
        assert "not a knitlog journal" in shown(app)


async def test_the_bar_is_on_the_project_she_left(library: Library) -> None:
    an_hour_ago = now() - timedelta(hours=1)  # the journal tells whole seconds apart, no less
    for name in ("Hut hat", "Hut scarf", "Hut cowl"):
        library.create(name, make_facts(stitches=96), clock=lambda: an_hour_ago)
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("down", "down")
        left = _listing(app).chosen
        await pilot.press("enter")
        await settled(pilot)
        await pilot.press("escape")
        await settled(pilot)
        assert _listing(app).chosen == left
        assert _listing(app).query_one(DataTable).cursor_row == 2
        await pilot.press("enter")
        await settled(pilot)
        await type_in(pilot, "37")
        await pilot.press("escape")
        await settled(pilot)
        assert _listing(app).chosen == left
        assert _listing(app).query_one(DataTable).cursor_row == 0  # the latest is the first


def _listing(app: KnitlogApp) -> ProjectsScreen:
    assert isinstance(app.screen, ProjectsScreen)
    return app.screen


async def test_a_project_asked_for_that_cannot_be_opened_leaves_the_list(
    library: Library, hut_hat: Maker
) -> None:
    hut_hat(1)
    app = KnitlogApp(library, library.folder / "gone.knitlog")
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert isinstance(app.screen, ProjectsScreen)
        assert "! " in shown(app)


async def test_q_quits(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("q")
        await pilot.pause()
    assert app.return_code == 0


async def test_n_asks_and_begins_a_project(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("a")
        await settled(pilot)
        await type_in(pilot, "Red hat")
        await type_in(pilot, "96")
        await type_in(pilot, "60in")
        await type_in(pilot, "US 7", then="ctrl+s")
        assert isinstance(app.screen, NeedlesScreen)
        facts = library.open("Red hat").state.facts
        # 60 in x 25.4 mm (exact, 1959); US 7 is 4.5 mm (needle conversion tables)
        assert (facts.stitches, facts.repeat_length_mm, facts.needle_mm) == (96, 1524.0, 4.5)
        assert (facts.repeats, facts.tolerance, facts.multiple) == (1.0, 3.0, 1)
        await type_in(pilot, "37")
        assert library.open("Red hat").state.last_round == 1


async def test_enter_through_every_question_begins_the_project(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("a")
        await settled(pilot)
        await type_in(pilot, "Shawl")
        await type_in(pilot, "64")
        for _ in range(6):  # repeat, needle, repeats, rounds, tolerance, multiple
            await pilot.press("enter")
        await type_in(pilot, "20 st/10cm")
        await type_in(pilot, "yes")
        await type_in(pilot, "4mm, 4.5mm")
        facts = library.open("Shawl").state.facts
        assert (facts.flat, facts.needles_owned_mm) == (True, (4.0, 4.5))
        assert facts.gauge_stitches_per_cm == 2.0


async def test_a_stitch_count_that_cannot_change_is_begun_and_changed_as_fixed(
    library: Library,
) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        screen = await new_project(app, pilot)
        for question in screen.query_one(Form).questions:
            typed = {"name": "Chart", "stitches": "96", "multiple": "fixed"}.get(question.id or "")
            if typed:
                question.set_value(typed)
        await pilot.press("ctrl+s")
        await settled(pilot)
        assert library.open("Chart").state.facts.multiple == 0
        await pilot.press("i")
        await settled(pilot)
        question = app.screen.query_one("#multiple", Question)
        assert question.field.value == "fixed"
        question.set_value("6")
        await pilot.press("ctrl+s")
        await settled(pilot)
        assert library.open("Chart").state.facts.multiple == 6
        await pilot.press("i")
        await settled(pilot)
        app.screen.query_one("#multiple", Question).set_value("0")
        await pilot.press("ctrl+s")
        await settled(pilot)
        assert library.open("Chart").state.facts.multiple == 0


async def test_each_question_shows_its_picture_and_meaning(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        screen = await new_project(app, pilot)
        seen = []
        for question in screen.query_one(Form).questions:
            await settled(pilot)
            text = shown(app)
            for line in question.asked.picture.splitlines():
                assert line.rstrip() in text
            assert len(max(question.asked.picture.splitlines(), key=len)) <= 36
            seen.append(question.asked.about)
            await pilot.press("down")
        assert len(set(seen)) == len(seen) == 11


async def test_the_arrows_go_from_question_to_question_and_f1_helps(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        screen = await new_project(app, pilot)
        await pilot.press("down", "down")
        assert screen.query_one(Form).questions[2].field.has_focus
        await pilot.press("up")
        assert screen.query_one(Form).questions[1].field.has_focus
        await pilot.press("f1")
        await settled(pilot)
        assert "Help: A new project" in shown(app)
        await pilot.press("escape", "escape")
        assert isinstance(app.screen, ProjectsScreen)


async def test_an_answer_that_cannot_be_read_says_so_under_it(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("a", "ctrl+s")  # begins nothing without a name
        await settled(pilot)
        assert isinstance(app.screen, NewProjectScreen)
        for question, typed, sentence in zip(
            app.screen.query_one(Form).questions,
            ("", "1", "60", "thick", "once", "60.5", "three", "-4", "tight", "square", "4mm, x"),
            (
                "Type a name",
                "it must be 2 or more",
                "has no unit",
                "needle",
                "is not a number; type it as 1 or 2",
                "whole number",
                "is not a number",
                "fixed",
                "gauge",
                "yes or no",
                "needle",
            ),
            strict=True,
        ):
            question.field.value = ""
            await type_in(pilot, typed, then="ctrl+s")
            question.field.focus()
            wrong = question.query_one(".wrong", Static)
            with pytest.raises(ValueError, match=sentence):
                question.answer()
            assert wrong.display
            assert sentence in str(wrong.visual)
            usual = {"name": "Red hat", "stitches": "96", "repeats": "1", "tolerance": "3"}
            usual |= {"multiple": "1", "worked": "round"}
            question.set_value(usual.get(question.id or "", ""))
            await pilot.press("down")
        assert not library.projects()


async def test_a_name_that_is_taken_is_said(library: Library, hut_hat: Maker) -> None:
    hut_hat(1, name="Red hat")
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("a")
        await settled(pilot)
        await type_in(pilot, "Red hat")
        await type_in(pilot, "96", then="ctrl+s")
        assert "There is already a project" in shown(app)
        await pilot.press("escape")
        await settled(pilot)
        assert isinstance(app.screen, ProjectsScreen)


async def test_a_folder_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "wool").write_text("a file where the folder should be", encoding="utf-8")
    app = KnitlogApp(Library(tmp_path / "wool"))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("a")
        await settled(pilot)
        await type_in(pilot, "Red hat")
        await type_in(pilot, "96", then="ctrl+s")
        assert "! " in shown(app)
        assert isinstance(app.screen, NewProjectScreen)


async def test_a_project_may_be_opened_twice_and_reads_the_same(
    library: Library, hut_hat: Maker
) -> None:
    path = hut_hat(2)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await type_in(pilot, "40")
        await pilot.press("escape", "escape")
        await settled(pilot)
        assert "3 of 60" in shown(app)
        await pilot.press("enter")
        await settled(pilot)
        assert "Round 4" in shown(app)
    assert JournalFile.open(path).state.last_round == 3
