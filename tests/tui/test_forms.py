"""What holds of every form: it asks everything, goes on with Enter, helps with F1, says row."""

from collections.abc import Callable
from pathlib import Path

import pytest
from textual.widgets import Input, Label

from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library
from knitlog.journal.registry import FACTS
from knitlog.journal.store import JournalFile
from knitlog.tui.app import KnitlogApp
from knitlog.tui.fact_fields import facts_form
from knitlog.tui.modals.facts_sheet import FactsSheet
from knitlog.tui.modals.form_sheet import FormSheet
from knitlog.tui.screens.needles import NeedlesScreen
from knitlog.tui.screens.new_project import NewProjectScreen
from knitlog.tui.widgets.question import Form

from .conftest import settled, shown
from .test_keys import our_screens

Maker = Callable[..., Path]


def test_every_fact_can_be_set_on_the_facts_sheet(library: Library, hut_hat: Maker) -> None:
    state = JournalFile.open(hut_hat(3)).state
    asked = {field.key for field in facts_form(state)}
    assert {fact.key for fact in FACTS} - asked == {"minutes"}  # a question for each kind of work
    assert {"name", "about"} <= asked
    assert sum(key.startswith("minutes-") for key in asked) > 10


def test_every_form_says_that_f1_helps() -> None:
    forms = [screen for screen in our_screens().values() if issubclass(screen, FormSheet)]
    assert forms
    assert [form.__name__ for form in forms if "F1 help" not in form.HINT] == []


async def test_enter_on_the_last_fact_saves_them_once(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(3)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("i")
        await settled(pilot)
        sheet = app.screen
        assert isinstance(sheet, FactsSheet)
        sheet.form.question("hand-range").set_value("2,5")
        sheet.form.question("count-changes").set_value("0")
        sheet.form.question("pattern-rounds").set_value("4")
        sheet.form.questions[-1].field.focus()
        await pilot.press("enter")
        await settled(pilot)
        assert isinstance(app.screen, NeedlesScreen)
    facts = JournalFile.open(path).state.facts
    assert (facts.hand_range_percent, facts.count_changes, facts.pattern_rounds) == (2.5, 0, 4)
    assert path.read_text().count("hand_range_percent") == 1


async def test_forms_of_flat_work_say_row(library: Library) -> None:
    journal = library.create("Scarf", make_facts(stitches=40, flat=True))
    app = KnitlogApp(library, journal.path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for key in ("i", "c", "j"):
            await pilot.press(key)
            await settled(pilot)
            labels = [str(label.visual) for label in app.screen.query(Label)]
            assert not any("round" in words.lower() for words in labels), labels
            await pilot.press("f1")
            await settled(pilot)
            await pilot.press("escape", "escape")
            await settled(pilot)
            assert isinstance(app.screen, NeedlesScreen)


async def test_a_new_project_says_row_as_soon_as_it_is_flat(library: Library) -> None:
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 40)) as pilot:
        await settled(pilot)
        await pilot.press("a")
        await settled(pilot)
        assert isinstance(app.screen, NewProjectScreen)
        assert "Stitches in a round" in shown(app)
        flat = app.screen.query_one(Form).question("flat")
        for typed, unit in (("yes", "row"), ("no", "round")):
            flat.query_one(Input).value = typed
            await settled(pilot)
            assert f"Stitches in a {unit}" in shown(app)


@pytest.mark.parametrize("keys", [("f4",), ("ctrl+r",), ("f3",)])
async def test_keys_of_the_list_act_on_the_project_under_the_bar(
    library: Library, hut_hat: Maker, keys: tuple[str, ...]
) -> None:
    library.create("Other hat", make_facts(stitches=96))
    hut_hat(5)
    app = KnitlogApp(library)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("down")
        await settled(pilot)
        under = app._path_at_hand
        await pilot.press(*keys)
        await settled(pilot)
        project = getattr(app.screen, "project")  # noqa: B009
        assert project.path == under
        await pilot.press("escape")
        await settled(pilot)
