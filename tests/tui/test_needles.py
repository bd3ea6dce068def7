"""At the needles, key by key."""

import asyncio
import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from textual.command import CommandPalette
from textual.screen import Screen
from textual.widgets import Input

from knitlog.advice import Advice
from knitlog.journal import actions
from knitlog.journal.library import Library
from knitlog.journal.store import JournalFile
from knitlog.report.advice_words import tell
from knitlog.tui import marks
from knitlog.tui.app import KnitlogApp
from knitlog.tui.modals.confirm import ConfirmSheet
from knitlog.tui.modals.facts_sheet import FactsSheet
from knitlog.tui.modals.fix import FixSheet
from knitlog.tui.modals.project_forms import ChangeSheet, NoteSheet, RipBackSheet, SkeinSheet
from knitlog.tui.modals.reading import HelpSheet, LogbookSheet, WhySheet
from knitlog.tui.rest import Rest
from knitlog.tui.screens.needles import NeedlesScreen
from knitlog.tui.screens.projects import ProjectsScreen
from knitlog.tui.widgets.chart import ColourChart
from knitlog.tui.widgets.question import Form, Question

from .conftest import advice_of, option, said, settled, shown, type_in, until

Maker = Callable[..., Path]

pytestmark = pytest.mark.usefixtures("advised")


def stitches_logged(path: Path) -> list[list[float]]:
    entries = JournalFile.open(path).state.entries
    return [[position.stitch for position in entry.positions] for entry in entries]


async def test_a_number_and_enter_logs_a_round(library: Library, hut_hat: Maker) -> None:
    path = hut_hat()
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await type_in(pilot, "37")
        assert said(app) == "Saved: round 1 at stitch 37."
        assert stitches_logged(path) == [[37.0]]
        assert "Round 2: expect" in shown(app)


async def test_the_grammar_of_an_entry(library: Library, hut_hat: Maker) -> None:
    path = hut_hat()
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for typed in ("37", "+2", "-1.5", "=", "37 101", "38.5 = "):
            await type_in(pilot, typed)
    assert stitches_logged(path) == [[37], [39], [37.5], [37.5], [37, 101], [38.5, 101]]


async def test_a_wrong_entry_says_what_to_type_and_saves_nothing(
    library: Library, hut_hat: Maker
) -> None:
    path = hut_hat()
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for typed, sentence in (
            ("", "Type where the colour fell"),
            ("300", "Stitch 300 is beyond the round, which has 128"),
            ("+2", "There is no round below to measure"),
            ("3.7.1", "is not a stitch"),
        ):
            await type_in(pilot, typed)
            assert said(app).startswith("! ")
            assert sentence in said(app)
            app.screen.query_one("#round", Input).value = ""
    assert stitches_logged(path) == []


async def test_a_jump_no_knitter_makes_is_asked_about_and_kept_if_she_says_so(
    library: Library, hut_hat: Maker
) -> None:
    path = hut_hat(8, drift=0.0)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await type_in(pilot, "90")
        assert isinstance(app.screen, ConfirmSheet)
        await pilot.press("enter")  # Enter out of habit must not say yes
        assert isinstance(app.screen, ConfirmSheet)
        assert len(stitches_logged(path)) == 8
        await pilot.press("n")
        await settled(pilot)
        assert isinstance(app.screen, NeedlesScreen)
        assert len(stitches_logged(path)) == 8
        await pilot.press("enter", "y")
        await settled(pilot)
        assert stitches_logged(path)[-1] == [90.0]


async def test_s_leaves_a_round_unread_and_b_goes_back_to_one(
    library: Library, hut_hat: Maker
) -> None:
    path = hut_hat(3)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("s")
        assert "· round 4 left unread" in shown(app)
        await type_in(pilot, "44")
        assert [e.round for e in JournalFile.open(path).state.entries] == [1, 2, 3, 5]
        await pilot.press("b")
        assert "Round 5 again · it was stitch 44" in shown(app)
        await type_in(pilot, "45")
        assert stitches_logged(path)[-1] == [45.0]


async def test_u_takes_back_and_r_brings_back(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(3)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for undo, redo in (("u", "r"), ("ctrl+z", "ctrl+y")):
            await pilot.press(undo)
            await settled(pilot)
            assert said(app) == "Took back round 3."
            assert len(stitches_logged(path)) == 2
            await pilot.press(redo)
            await settled(pilot)
            assert said(app) == "Brought back round 3."
            assert len(stitches_logged(path)) == 3
        await pilot.press("r")
        await settled(pilot)
        assert said(app) == "! There is nothing to bring back."


async def test_n_writes_a_note_on_the_last_round(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(3)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("n")
        assert isinstance(app.screen, NoteSheet)
        await type_in(pilot, "new lamp")
        notes = JournalFile.open(path).state.notes
        assert [(note.round, note.text) for note in notes] == [(3, "new lamp")]
        await pilot.press("n", "x", "escape")
        await settled(pilot)
        assert len(JournalFile.open(path).state.notes) == 1


async def test_f_takes_the_advice_as_it_stands(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(9)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("f")
        await settled(pilot)
        assert isinstance(app.screen, FixSheet)
        await pilot.press("enter")
        await settled(pilot)
        state = JournalFile.open(path).state
        assert state.stitches == 132
        assert state.stints[-1].first_round == 10
        assert said(app) == "Saved: 132 stitches from round 10."


async def test_f_takes_another_remedy_or_one_filled_in_by_hand(
    library: Library, hut_hat: Maker
) -> None:
    path = hut_hat(9)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("f", "down", "enter")
        await settled(pilot)
        assert JournalFile.open(path).state.needle_mm == 5.0
        await pilot.press("f", "end", "tab", "end", *["backspace"] * 6)
        await type_in(pilot, "-4.5")
        await type_in(pilot, "30", then="ctrl+s")
        fix = JournalFile.open(path).state.fixes[0]
        assert (fix.after_round, fix.taken_out, fix.over_stitches) == (9, -4.5, 30.0)


async def test_f_before_the_first_round_says_why_not(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat())
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("f")
        assert said(app) == "! Log a round first: a fix comes after a round."


async def test_c_changes_needle_and_stitch_count(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(3)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("c")
        assert isinstance(app.screen, ChangeSheet)
        await pilot.press("ctrl+s")  # nothing said yet: stays
        assert "Fill in what changed" in shown(app)
        assert isinstance(app.screen, ChangeSheet)
        await type_in(pilot, "US 8")
        await type_in(pilot, "132", then="ctrl+s")
        state = JournalFile.open(path).state
        assert (state.needle_mm, state.stitches) == (5.0, 132)
        assert said(app) == "Saved: US 8 (5 mm) needles and 132 stitches from round 4 on."
        await pilot.press("u")  # one sheet, one step
        state = JournalFile.open(path).state
        assert (state.needle_mm, state.stitches) == (4.5, 128)
        assert said(app) == (
            "Took back the change to US 8 (5 mm) needles at round 4 and the change to 132 "
            "stitches at round 4."
        )
        await pilot.press("ctrl+y")
        assert JournalFile.open(path).state.stitches == 132


async def test_d_goes_to_the_round_in_doubt(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(12, drift=0.0)
    actions.log_round(JournalFile.open(path), [60.0], round_number=8)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "? check" in shown(app)
        await pilot.press("d")
        assert "Round 8 again · it was stitch 60" in shown(app)
        await type_in(pilot, "37")
        assert stitches_logged(path)[7] == [37.0]
        assert "? check" not in shown(app)
        await pilot.press("d")
        assert said(app) == "No round is in doubt."


async def test_another_window_s_round_does_not_change_which_round_is_corrected(
    library: Library, hut_hat: Maker
) -> None:
    path = hut_hat(3)
    app = KnitlogApp(library, path, follow_every=3600)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("b", "b")
        actions.log_round(JournalFile.open(path), [44.0])  # the other window
        await type_in(pilot, "40.5")
        assert [logged[0] for logged in stitches_logged(path)][1::2] == [40.5, 44.0]


async def test_i_changes_the_facts(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(3)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("i")
        await settled(pilot)
        assert isinstance(app.screen, FactsSheet)
        app.screen.query_one("#tolerance", Question).set_value("4.5")
        app.screen.query_one("#rounds", Question).set_value("")
        app.screen.query_one("#needles-owned", Question).set_value("4.5mm, 5mm, US 9")
        app.screen.query_one("#gauge", Question).set_value("20 st/4in")
        await pilot.press("ctrl+s")
        await settled(pilot)
        facts = JournalFile.open(path).state.facts
        assert (facts.tolerance, facts.planned_rounds) == (4.5, None)
        assert facts.needles_owned_mm == (4.5, 5.0, 5.5)  # US 9 is 5.5 mm: conversion tables
        # 20 stitches in 4 in, 1 in = 25.4 mm exactly (1959)
        assert facts.gauge_stitches_per_cm == pytest.approx(20 / 10.16)
        assert facts.repeat_length_mm == 1524.0  # what was not touched stays to the last digit
        events = len(JournalFile.open(path).events)
        await pilot.press("i", "ctrl+s")  # nothing changed: nothing is written
        await settled(pilot)
        assert len(JournalFile.open(path).events) == events


async def test_the_facts_show_and_take_what_work_is_counted_at(
    library: Library, hut_hat: Maker
) -> None:
    path = hut_hat(3, minutes={"rip": 2.5, "round-out": 1.0})

    def told() -> dict[str, float] | None:
        return JournalFile.open(path).state.facts.minutes

    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("i")
        await settled(pilot)
        text = shown(app)
        assert "What is knitted" in text
        ask = app.screen.query_one(Form).question
        tapestry = ask("minutes-tapestry").field  # by name: the kinds of work stand at the end
        tapestry.focus()
        await until(pilot, lambda: app.focused is tapestry)
        await pilot.press("9", ",", "5", *["tab"] * 3, "6")
        await until(pilot, lambda: "another needle" in shown(app))
        text = shown(app)
        assert "What work is counted at, in minutes" in text
        assert re.search(r"Changing to another needle +6", text), text
        assert re.search(r"Ripping back, however little +2\.5 ", text)
        ask("minutes-round-out").set_value("")  # emptied: back to the usual
        await pilot.press("ctrl+s")
        await settled(pilot)
        assert told() == {"tapestry": 9.5, "rip": 2.5, "needle": 6.0}
        await pilot.press("u")
        await settled(pilot)
        assert told() == {"rip": 2.5, "round-out": 1.0}


async def test_minutes_that_cannot_be_are_told_under_the_answer(
    library: Library, hut_hat: Maker
) -> None:
    path = hut_hat(3)
    before = path.read_bytes()
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for typed, said_so in (("-1", "type 0 to 10,000"), ("soon", "round-out=6")):
            await pilot.press("i")
            await settled(pilot)
            app.screen.query_one(Form).questions[-1].field.focus()
            await settled(pilot)
            await type_in(pilot, typed)
            assert isinstance(app.screen, FactsSheet)
            assert said_so in shown(app)  # in sight, even at the foot of a small screen
            await pilot.press("escape")
        assert path.read_bytes() == before


async def test_l_reads_the_logbook(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(3, drift=0.0)
    journal = JournalFile.open(path)
    actions.add_note(journal, "by the new lamp", round_number=2)
    actions.make_fix(journal, -2.0, how="rip back", over_stitches=30)
    actions.change_needle(journal, 5.0)
    actions.join_skein(journal, stitch=64.0)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("l")
        await settled(pilot)
        assert isinstance(app.screen, LogbookSheet)
        text = shown(app)
        for words in (
            "from here on 128 stitches, 5 mm",
            "new skein at stitch 64",
            "fix: rip back, +2 over 30",
            "note: by the new lamp",
        ):
            assert words in text
        assert text.index("fix: rip back") < text.index("note: by the new lamp")
        await pilot.press("l")
        assert isinstance(app.screen, NeedlesScreen)


async def test_x_logs_rounds_ripped_back(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(5)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("x")
        assert isinstance(app.screen, RipBackSheet)
        await pilot.press("enter")  # one round, filled in
        await settled(pilot)
        assert JournalFile.open(path).state.last_round == 4
        assert said(app) == "Saved: ripped back to round 4."
        await pilot.press("x")
        await type_in(pilot, "4")
        assert "4 rounds, back to round 0?" in shown(app)  # beyond three she is asked once more
        assert JournalFile.open(path).state.last_round == 4
        await pilot.press("enter")
        await settled(pilot)
        assert JournalFile.open(path).state.last_round == 0


async def test_j_logs_a_skein_joined(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(3)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("j")
        assert isinstance(app.screen, SkeinSheet)
        await type_in(pilot, "64")
        joins = JournalFile.open(path).state.joins
        assert [(join.round, join.stitch) for join in joins] == [(4, 64.0)]


async def test_t_starts_and_ends_a_sitting(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(3)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("t")
        await settled(pilot)
        assert said(app) == "Saved: the sitting begins. t ends it."
        await pilot.press("t")
        await settled(pilot)
        assert said(app) == "Saved: the sitting ends."
        kinds = [event.kind for event in JournalFile.open(path).events[-2:]]
        assert kinds == ["sitting started", "sitting ended"]


async def test_a_sitting_goes_on_while_another_screen_is_looked_at(
    library: Library, hut_hat: Maker
) -> None:
    path = hut_hat()
    app = KnitlogApp(library, path)
    async with app.run_test() as pilot:
        await pilot.press("t", "f2")
        assert isinstance(app.screen, ProjectsScreen)
        await pilot.press("f3")
        assert isinstance(app.screen, NeedlesScreen)
        await pilot.press("f4", "f3", "t")
        assert said(app) == "Saved: the sitting ends."
    kinds = [e.kind for e in JournalFile.open(path).events[1:]]
    assert kinds == ["sitting started", "sitting ended"]


async def test_e_ends_the_project_and_u_takes_that_back(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(3)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("e", "y")
        await settled(pilot)
        assert JournalFile.open(path).state.finished
        assert marks.OFF_LEFT not in shown(app)  # no round to come is pointed at
        assert "done it" not in shown(app)
        assert "nothing more to log" in shown(app)
        await type_in(pilot, "37")
        assert "finished" in said(app)
        assert len(stitches_logged(path)) == 3
        await pilot.press("u")  # in the middle of an entry a letter does nothing
        assert JournalFile.open(path).state.finished
        assert "then the letters are keys again" in said(app)
        await pilot.press("escape", "u")
        await settled(pilot)
        assert not JournalFile.open(path).state.finished
        assert f"4{marks.OFF_LEFT}" in shown(app)
        assert "done it" in shown(app)


async def test_w_says_why_with_every_remedy_and_the_numbers(
    library: Library, hut_hat: Maker, advised: Advice
) -> None:
    app = KnitlogApp(library, hut_hat(9))
    async with app.run_test(size=(120, 60)) as pilot:
        await settled(pilot)
        await pilot.press("w")
        await settled(pilot)
        assert isinstance(app.screen, WhySheet)
        text = shown(app)
        for words in (
            tell(advised).why.split(":")[0],
            tell(advised).would_change,
            "► Change to 132 stitches",
            "Change to 5 mm needles",
            "Not possible here",
            "Rip back: Less than a stitch cannot be mended",
            "Yarn per stitch",
        ):
            assert words in text
        await pilot.press("w")
        assert isinstance(app.screen, NeedlesScreen)


async def test_w_says_what_work_is_counted_at(
    library: Library, hut_hat: Maker, advised: Advice
) -> None:
    app = KnitlogApp(library, hut_hat(9, minutes={"needle": 12.5}))
    async with app.run_test(size=(120, 70)) as pilot:
        await settled(pilot)
        await pilot.press("w")
        await settled(pilot)
        text = shown(app)
        assert "What work is counted at, in minutes" in text
        assert re.search(r"needle +12\.5 +yours; usually 4 +Changing to another needle", text)
        assert re.search(r"count +3 +usual +Changing the stitch count", text)
        assert text.count("yours;") == 1
        assert "common practice, without a source" in text


async def test_help_names_every_key_of_the_screen_and_every_mark(
    library: Library, hut_hat: Maker
) -> None:
    app = KnitlogApp(library, hut_hat(3))
    async with app.run_test(size=(120, 70)) as pilot:
        await settled(pilot)
        await pilot.press("f1", "f1", "question_mark")
        await settled(pilot)
        assert isinstance(app.screen, HelpSheet)
        text = shown(app)
        bound = {b.tooltip for b in NeedlesScreen.BINDINGS if not isinstance(b, tuple)}
        assert not [words for words in bound if words not in text]
        assert "a note" in text
        await pilot.press("escape")
        assert isinstance(app.screen, NeedlesScreen)


async def test_the_commands_by_name_open_again_while_they_still_close(
    library: Library, hut_hat: Maker
) -> None:
    async with KnitlogApp(library, hut_hat(3)).run_test() as pilot:
        await settled(pilot)
        for _ in range(3):
            pilot.app.action_command_palette()
            await pilot.pause()
            pilot.app.screen.dismiss()
            pilot.app.action_command_palette()
            await settled(pilot)
            assert isinstance(pilot.app.screen, CommandPalette)
            pilot.app.screen.dismiss()
        await settled(pilot)
        assert not pilot.app._notifications


async def test_every_key_is_in_the_command_palette(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(3))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        found = {command.title for command in app.get_system_commands(app.screen)}
        bound = {b.tooltip.rstrip(".") for b in NeedlesScreen.BINDINGS}
        assert bound <= found


async def test_the_palette_does_what_the_key_does(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(3)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("ctrl+p")
        await pilot.pause()
        for character in "take back":
            await pilot.press("space" if character == " " else character)
        await settled(pilot)
        await pilot.press("enter")
        await settled(pilot)
        await settled(pilot)
        assert len(stitches_logged(path)) == 2


async def test_the_chart_scrolls_and_shrinks_to_the_whole_project(
    library: Library, hut_hat: Maker
) -> None:
    app = KnitlogApp(library, hut_hat(60, drift=0.1))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        chart = app.screen.query_one(ColourChart)
        newest = chart.scroll_offset.y
        await pilot.press("down")
        assert chart.scroll_offset.y == newest + 1
        await pilot.press("up")
        assert chart.scroll_offset.y == newest
        await pilot.press("pagedown")
        assert chart.scroll_offset.y > newest + 3
        await pilot.press("pageup")
        assert chart.scroll_offset.y == newest
        await pilot.press("ctrl+end")
        await settled(pilot)
        rows = [line[:50].split() for line in shown(app).splitlines()]
        assert any(row and row[-1] == "1" for row in rows)
        await pilot.press("ctrl+home")
        assert chart.scroll_offset.y == newest
        await pilot.press("z")
        await settled(pilot)
        assert chart.whole
        assert shown(app).count("●") > 12  # more readings than lines: the whole is on the screen
        await pilot.press("z")
        assert not chart.whole


async def test_a_logged_round_keeps_the_chart_where_the_knitter_put_it(
    library: Library, hut_hat: Maker
) -> None:
    app = KnitlogApp(library, hut_hat(60, drift=0.1))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        chart = app.screen.query_one(ColourChart)
        await pilot.press("ctrl+end")
        await settled(pilot)
        await type_in(pilot, "=")
        rows = [line[:50].split() for line in shown(app).splitlines()]
        assert any(row and row[-1] == "1" for row in rows)
        assert chart.scroll_offset.y > 0


async def test_escape_clears_the_entry_then_leaves_for_the_projects(
    library: Library, hut_hat: Maker
) -> None:
    app = KnitlogApp(library, hut_hat(3))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("4", "escape")
        assert isinstance(app.screen, NeedlesScreen)
        await pilot.press("escape")
        await settled(pilot)
        assert isinstance(app.screen, ProjectsScreen)


async def test_f2_goes_to_the_projects_and_f3_back_to_the_needles(
    library: Library, hut_hat: Maker
) -> None:
    app = KnitlogApp(library, hut_hat(3))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("f2")
        await settled(pilot)
        assert isinstance(app.screen, ProjectsScreen)
        await pilot.press("f3")
        await settled(pilot)
        assert isinstance(app.screen, NeedlesScreen)


async def test_f9_goes_through_the_colours(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(3))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        seen = []
        for _ in range(3):
            seen.append(app.theme)
            await pilot.press("f9")
        assert seen == ["lamplight", "snowlight", "plain"]
        assert app.theme == "lamplight"


async def test_two_windows_see_each_other_s_rounds(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(3)
    app = KnitlogApp(library, path, follow_every=0.02)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        actions.log_round(JournalFile.open(path), [44.0])  # the other window
        await until(pilot, lambda: "Round 5" in shown(app))
        assert said(app) == "Another window logged something: it is here too."
        assert "round 4 of 60" in shown(app)


async def test_a_round_logged_elsewhere_is_not_replaced(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(3)
    app = KnitlogApp(library, path, follow_every=3600)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        actions.log_round(JournalFile.open(path), [44.0])  # the other window, unseen so far
        await type_in(pilot, "46")
        assert stitches_logged(path)[-2:] == [[44.0], [46.0]]


async def test_a_journal_that_is_gone_is_said_and_does_not_end_the_app(
    library: Library, hut_hat: Maker
) -> None:
    path = hut_hat(3)
    app = KnitlogApp(library, path, follow_every=3600)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        path.unlink()
        await type_in(pilot, "46")
        assert said(app).startswith("! ")
        assert app.screen.query_one("#round").value == "46"  # what was typed is still there


async def test_a_mouse_click_on_a_key_of_the_footer_does_it(
    library: Library, hut_hat: Maker
) -> None:
    app = KnitlogApp(library, hut_hat(3))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        footer = shown(app).splitlines()[-1]
        await pilot.click(offset=(footer.index("Note"), 23))
        await settled(pilot)
        assert isinstance(app.screen, NoteSheet)


async def test_worked_flat_it_speaks_of_rows(library: Library, hut_hat: Maker) -> None:
    app = KnitlogApp(library, hut_hat(3, flat=True))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "Row 4: expect" in shown(app)
        assert "row 3 of 60" in shown(app)
        scale = next(line for line in shown(app).splitlines() if " +5 " in line or " 0 " in line)
        assert " row " in scale


async def test_advice_that_cannot_be_given_says_why_and_the_rest_goes_on(
    library: Library, hut_hat: Maker, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(situation: object, **_: object) -> None:
        raise ValueError("The cost 'rip start minutes' is -1: type 0 or more minutes.")

    monkeypatch.setattr("knitlog.advice.advise", refuse)
    path = hut_hat(6)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "! The cost 'rip start" in shown(app)
        await type_in(pilot, "+2")
        assert len(stitches_logged(path)) == 7


async def test_a_sentence_too_long_for_a_line_is_read_whole(
    library: Library, hut_hat: Maker
) -> None:
    app = KnitlogApp(library, hut_hat(3))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await type_in(pilot, "999")
        assert len(said(app)) > 76
        text = " ".join(shown(app).split())
        assert said(app).rstrip() in text


async def test_a_question_mark_after_a_stitch_asks_and_logs_nothing(
    library: Library, hut_hat: Maker
) -> None:
    path = hut_hat(9, drift=0.0)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "Round 10: expect" in shown(app)
        for typed, answer in (
            ("37?", "37 is right in its place (37), within your 3: on track, knit on."),
            # a third to a fifth of a stitch each (common practice): 4 over 12 to 20
            ("41?", "41 is 4 past its place (37): ease it back, 4 over 12 to 20 stitches"),
            ("33?", "33 is 4 short of its place (37): ease it on"),
            ("90?", "more than easing mends"),
        ):
            await type_in(pilot, typed)
            assert answer in " ".join(said(app).split())
        assert len(stitches_logged(path)) == 9


async def test_a_round_by_name_needs_no_keys_for_those_between(
    library: Library, hut_hat: Maker
) -> None:
    path = hut_hat(1, drift=0.0)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await type_in(pilot, "37,5 @5")
        assert said(app) == "Saved: round 5 at stitch 37.5."
        state = JournalFile.open(path).state
        assert [entry.round for entry in state.entries] == [1, 5]
        assert "Round 6: expect" in shown(app)


async def test_a_change_nobody_logged_is_logged_from_its_round_with_one_key(
    library: Library, hut_hat: Maker
) -> None:
    path = hut_hat(12, drift=0.0)
    journal = JournalFile.open(path)
    for number in range(1, 13):  # 4 stitches a round more from round 13 on: another needle
        actions.log_round(journal, [37 + 4.0 * number])
    app = KnitlogApp(library, path)
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        assert "d logs the change." in " ".join(shown(app).split())
        await pilot.press("d")
        await settled(pilot)
        assert isinstance(app.screen, ChangeSheet)
        first = int(app.screen.form.question("from-round").text)
        assert 11 <= first <= 15
        await type_in(pilot, "5mm", then="ctrl+s")
        assert JournalFile.open(path).state.stint_of(first).needle_mm == 5.0


async def test_after_forty_minutes_without_a_pause_it_says_so_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def told(every: int) -> list[int]:
        rest, evening = Rest(), datetime(2031, 1, 14, 20, tzinfo=UTC)
        said = [rest.logged(evening + timedelta(minutes=every * n)) for n in range(20)]
        return [every * n for n, words in enumerate(said) if words]

    assert told(5) == [40]
    assert told(15) == []  # each round a pause apart
    monkeypatch.setenv("KNITLOG_REST", "off")
    assert told(5) == []


@pytest.mark.parametrize(
    ("remedy", "kept"), [("change tension", True), ("change stitch count", False)]
)
async def test_what_was_asked_of_the_hand_is_kept_with_the_round_where_nothing_comes_first(
    library: Library, hut_hat: Maker, monkeypatch: pytest.MonkeyPatch, remedy: str, kept: bool
) -> None:
    """A count that was advised and not changed has not let go of the hand either."""
    details = {"tension_percent": 1.5 if kept else 0.0, "aim_stitch": 58.0, "stitches": 132}
    advice = advice_of(option(remedy, details=details), option("carry on"))
    monkeypatch.setattr("knitlog.advice.advise", lambda situation, **_: advice)
    path = hut_hat(9)
    actions.ask_tension(JournalFile.open(path), percent=3.0, from_round=8)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        assert ("let it fall at 58" in shown(app)) == kept
        await type_in(pilot, "57")
    state = JournalFile.open(path).state
    assert state.aims == ({10: 58.0} if kept else {})
    assert state.tension_percent == (1.5 if kept else 3.0)


async def test_a_round_lays_nothing_out_anew(
    library: Library, hut_hat: Maker, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = KnitlogApp(library, hut_hat(30))
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        await type_in(pilot, "=")
        laid_out: list[bool] = []
        lay_out = Screen._refresh_layout

        def counting(self: Screen[object], *args: Any, **kwargs: Any) -> None:
            laid_out.append(True)
            lay_out(self, *args, **kwargs)

        monkeypatch.setattr(Screen, "_refresh_layout", counting)
        await type_in(pilot, "=")
        assert "Saved: round 32" in shown(app)
        assert not laid_out


async def test_the_advice_on_a_round_does_not_hinder_the_next(
    library: Library, hut_hat: Maker
) -> None:
    app = KnitlogApp(library, hut_hat(10))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        screen = app.screen
        assert isinstance(screen, NeedlesScreen)
        await type_in(pilot, "=")
        assert screen.view is not None
        before = screen.view
        screen._fit_seconds = 1.0  # slow now: the next round is fitted in a thread
        line = screen.query_one(Input)
        line.value = "="
        await line.action_submit()
        while screen.project.state is before.state:
            await asyncio.sleep(0)
        screen._advise_next(before)  # its time comes while the next one is fitted
        await settled(pilot)
        assert screen.view is not before
        assert screen.view.state is screen.project.state
        assert screen.view.advice is not None
