"""Names and notes somebody else wrote: shown as words on every screen, obeyed on none."""

from collections.abc import Callable
from pathlib import Path

import pytest

from knitlog.journal import actions
from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile
from knitlog.tui.app import KnitlogApp

from .conftest import settled, shown

Maker = Callable[..., Path]

pytestmark = pytest.mark.usefixtures("advised")

NAME = "[b]Hat[/] [@click=quit]x[/]"
NOTE = "a\x1b[2Jb\x1b]0;gone\x07 \u202eeman [bold]loud[/bold] [/] \x9b31m"
OBEYED = {chr(code) for code in (*range(32), *range(0x7F, 0xA0))} - {"\n"}
DIRECTIONS = set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f")


def check(app: KnitlogApp) -> None:
    found = set(shown(app)) & (OBEYED | DIRECTIONS)
    assert not found, (app.screen, found)


async def test_no_screen_obeys_a_name_or_a_note(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(6, name=NAME, fibre=NOTE[:40], stitch_pattern="[b]ribs[/b]")
    journal = JournalFile.open(path)
    actions.change_facts(journal, about=NOTE)
    actions.add_note(journal, NOTE, round_number=6)
    actions.make_fix(journal, 4.0, how="[u]teeth[/u]", note=NOTE)
    actions.log_round(journal, [50], note=NOTE)
    app = KnitlogApp(library, path, follow_every=3600)
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        assert NAME in shown(app)
        check(app)
        for key in ("f", "c", "n", "w", "l", "p", "x", "j", "e", "question_mark", "ctrl+p"):
            await pilot.press(key)
            await settled(pilot)
            check(app)
            assert key != "l" or f"Logbook of {NAME}" in shown(app)
            await pilot.press("escape")
            await settled(pilot)
        for key in ("f4", "f5", "ctrl+r", "ctrl+o", "escape"):
            await pilot.press(key)
            await settled(pilot)
            check(app)
        app.action_projects()
        await settled(pilot)
        assert NAME in shown(app)
        check(app)
