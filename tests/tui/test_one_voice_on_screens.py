"""One voice: the screens say what the command line says, of the same projects."""

import json
import re
from io import StringIO

import pytest
from rich.console import Console
from rich.table import Table
from textual.widgets import Static

from knitlog.analysis.samples import lay_out_samples, sample_year, samples
from knitlog.cli import run
from knitlog.journal.library import Library
from knitlog.tui.app import KnitlogApp
from knitlog.tui.modals.reading import WhySheet
from knitlog.tui.screens.fabric import FabricScreen
from knitlog.tui.screens.review import ReviewScreen

from .conftest import settled

NAMES = ["two-changes", "worked-flat", "09-second-frost-hat"]
SIZE = (160, 50)


def folded(text: str) -> str:
    """Words alone, however the lines were broken."""
    return " ".join(text.split())


def laid_out(piece: Static) -> str:
    """What one piece says; a table cell by cell."""
    if not isinstance(piece.content, Table):
        return str(piece.visual)
    console = Console(file=StringIO(), width=400)
    with console.capture() as captured:
        console.print(piece.content)
    return captured.get()


def on_screen(app: KnitlogApp) -> str:
    """All that stands on the screen, in sight or not, in words."""
    return folded("\n".join(map(laid_out, app.screen.query(Static))))


@pytest.mark.parametrize("name", NAMES)
async def test_the_screens_say_what_the_commands_say(
    name: str, library: Library, capsys: pytest.CaptureFixture[str]
) -> None:
    lay_out_samples(library.folder, sample_year() if name in sample_year() else samples())

    def told(*arguments: str) -> str:
        assert run(["--folder", str(library.folder), *arguments]) == 0
        return capsys.readouterr().out

    advised = json.loads(told("advise", name, "--json"))
    fitted = told("fit", name)
    ways = json.loads(told("fabric", name, "--under", "all", "--json"))["ways"]
    review = told("review", name)
    app = KnitlogApp(library, library.find(name))
    async with app.run_test(size=SIZE) as pilot:
        await settled(pilot)
        sentence = str(app.screen.query_one("#sentence", Static).visual)
        assert sentence == advised["verdict"]
        assert advised["recommended"]["title"] in on_screen(app)
        assert (advised["question"] or "") in on_screen(app)

        await pilot.press("w")
        await settled(pilot)
        assert isinstance(app.screen, WhySheet)
        why = on_screen(app)
        assert advised["verdict"] in why
        assert f"Do this: {advised['recommended']['title']}" in why
        drift = re.search(r"[+-][0-9.]+ \([^)]*\)", fitted)
        assert drift is not None
        assert drift[0] in why
        assert "In place" in why
        assert not re.search(r"% in line", why)
        for option in advised["options"]:
            if option["feasible"]:
                share = f"{100 * option['share_in_tolerance']:.0f} %"
                assert re.search(f"{re.escape(option['title'])} .*?{share}", why)
        await pilot.press("escape", "f4")
        await settled(pilot)
        await settled(pilot)

        screen = app.screen
        assert isinstance(screen, FabricScreen)
        assert [str(f.option.remedy) for f in screen.futures if f.option] == [
            way["way"] for way in ways[: len(screen.futures)]
        ]
        above = [view._caption for view in screen.views]
        assert f"1 {ways[0]['caption']}" == above[0]
        assert f"{100 * ways[0]['share_in_tolerance']:.0f} % in place" in above[0]
        assert set(above) <= {f"{n} {way['caption']}" for n, way in enumerate(ways, start=1)}
        await pilot.press("f3", "ctrl+r")
        await settled(pilot)
        await settled(pilot)

        assert isinstance(app.screen, ReviewScreen)
        looked_back = on_screen(app)
        drifts = re.findall(r"[+-][0-9.]+ \([^)]*\)", review)
        assert drifts
        for words in (*drifts, *re.findall(r".* of the fabric .*", review)):
            assert words in looked_back
