"""What the screens' tests share: a library in a temporary folder, and invented projects."""

import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from textual import events
from textual.app import App
from textual.keys import _character_to_key
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import Input, Static

from knitlog.advice import Advice, Option, Remedy
from knitlog.journal import actions
from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library
from knitlog.tui.app import KnitlogApp
from knitlog.tui.screens.needles import NeedlesScreen
from knitlog.tui.screens.plan import PlanScreen

HUT_HAT = {
    "stitches": 128,
    "repeat_length_mm": 1524.0,
    "needle_mm": 4.5,
    "planned_rounds": 60,
    "multiple": 4,
    "needles_owned_mm": (4.0, 4.5, 5.0),
}
"""An invented project: a hat for the keeper of a mountain hut."""


_LOOK_SECONDS = 0.005


@pytest.fixture(autouse=True)
def _own_colours(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("KNITLOG_THEME", "lamplight")
    monkeypatch.setenv("TEXTUAL_ANIMATIONS", "none")


@pytest.fixture(autouse=True)
def _short_pauses(monkeypatch: pytest.MonkeyPatch) -> None:
    """Look for idleness every five milliseconds, not every twenty, by the same rule."""
    monkeypatch.setattr("textual._wait.SLEEP_GRANULARITY", _LOOK_SECONDS)
    monkeypatch.setattr("textual._wait.SLEEP_IDLE", _LOOK_SECONDS / 20)


@pytest.fixture
def library(tmp_path: Path) -> Library:
    return Library(tmp_path / "wool")


@pytest.fixture
def hut_hat(library: Library) -> Callable[..., Path]:
    """Makes a project that slides ``drift`` stitches a round, seeded, and gives its file."""

    def make(rounds: int = 0, *, drift: float = 2.6, name: str = "Hut hat", **facts: Any) -> Path:
        journal = library.create(name, make_facts(**{**HUT_HAT, **facts}))
        source = random.Random(4)
        place = 37.0
        for _ in range(rounds):
            actions.log_round(journal, [round(2 * (place + source.gauss(0, 0.4))) / 2 % 128])
            place += drift + source.gauss(0, 0.5)
        return journal.path

    return make


def option(remedy: str, title: str, **values: Any) -> Option:
    usual: dict[str, Any] = {
        "details": {},
        "share_in_tolerance": 0.5,
        "expected_fixes": 1.0,
        "minutes": 10.0,
        "size_change_percent": 0.0,
        "feasible": True,
        "reason": "",
        "expected_cost": 10.0,
    }
    return Option(remedy=Remedy(remedy), title=title, **{**usual, **values})


def canned_advice() -> Advice:
    """Advice as the advice room gives it, made up so that no test waits for a simulation."""
    stitches = option(
        "change stitch count", "Change to 132 stitches", details={"stitches": 132}, minutes=5.0
    )
    needle = option("change needle", "Change to 5 mm needles", details={"needle_mm": 5.0})
    carry_on = option("carry on", "Carry on", share_in_tolerance=0.1)
    rip = option("rip back", "Rip back", feasible=False, reason="More than a hand can take up.")
    return Advice(
        recommended=stitches,
        options=(stitches, needle, carry_on, rip),
        why="132 stitches take up one repeat at your tension.",
        would_change="A slide under 1 a round.",
        look_again_round=19,
        steps=("Increase 4 stitches in the next round, 32 apart.", "Look again at round 19."),
    )


@pytest.fixture
def advised(monkeypatch: pytest.MonkeyPatch) -> Advice:
    """The advice is made up; the journal and the fit are the real ones."""
    advice = canned_advice()
    monkeypatch.setattr("knitlog.advice.advise", lambda situation, previous=None: advice)
    return advice


async def settled(pilot: Pilot[None]) -> None:
    """Wait until everything that was set going has been worked out and drawn.

    On a busy machine a process may look idle when it only waits for its turn, so the screen
    at the needles is asked whether its look is the look at what stands in the journal now.
    """
    for _ in range(200):
        await pilot._wait_for_screen()
        await pilot.app.workers.wait_for_complete()
        if _has_looked(pilot.app.screen):
            break
        await pilot.pause(_LOOK_SECONDS)
    await pilot.wait_for_scheduled_animations()
    await _drawn(pilot)


async def _drawn(pilot: Pilot[None]) -> None:
    """Wait until the picture has stood still for a few turns.

    What a worker or a timer hands over is drawn in a later turn, and laid out in one later still.
    """
    picture, still = "", 0
    for _ in range(200):
        await pilot.pause()
        await pilot.pause(_LOOK_SECONDS)
        now = shown(pilot.app)
        still = still + 1 if now == picture else 0
        picture = now
        if still >= 4:
            return


def _has_looked(screen: Screen[Any]) -> bool:
    if isinstance(screen, PlanScreen):
        return screen.up_to_date
    if not isinstance(screen, NeedlesScreen):
        return True
    view = screen.view
    if view is None or view.state is not screen.project.state:
        return False
    nothing_to_advise = view.fit is None or view.state.finished
    return nothing_to_advise or view.advice is not None or bool(view.problems)


async def type_in(pilot: Pilot[None], text: str, *, then: str = "enter") -> None:
    """Type ``text`` character by character, as a terminal sends it, then one more key."""
    for character in text:
        pilot.app.post_message(events.Key(_character_to_key(character), character))
    await pilot.press(then)
    await settled(pilot)


def said(app: KnitlogApp) -> str:
    """What stands above the entry line."""
    return str(app.screen.query_one("#said", Static).visual)


def shown(app: App[Any]) -> str:
    """Everything on the screen as text, without colour."""
    lines = []
    for strips in app.screen._compositor.render_strips():
        lines.append("".join(segment.text for segment in strips))
    return "\n".join(lines)


@pytest.fixture
def still_cursor(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Input, "cursor_blink", False)
    return
