"""What the screens' tests share: a library in a temporary folder, and invented projects."""

import asyncio
import gc
import random
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest
from rich.cells import cell_len
from textual import events
from textual.app import App
from textual.keys import _character_to_key
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import Input, Static
from textual.worker import WorkerCancelled

from knitlog.advice import Advice, Option, Refusal, Remedy
from knitlog.journal import actions
from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library
from knitlog.tui.app import KnitlogApp
from knitlog.tui.screens.needles import NeedlesScreen
from knitlog.tui.screens.plan import PlanScreen
from tests.advice.stand_in import ask, stand_in

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

gc.set_threshold(10_000, 10, 10)  # a quarter of these tests' time went into looking for garbage


@pytest.fixture(autouse=True)
def _own_colours(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("KNITLOG_THEME", "lamplight")
    monkeypatch.setattr("textual.constants.TEXTUAL_ANIMATIONS", "none")  # read once, at import


@pytest.fixture(autouse=True)
def _short_pauses(monkeypatch: pytest.MonkeyPatch) -> None:
    """Look for idleness every five milliseconds, not every twenty, by the same rule."""
    monkeypatch.setattr("textual._wait.SLEEP_GRANULARITY", _LOOK_SECONDS)
    monkeypatch.setattr("textual._wait.SLEEP_IDLE", _LOOK_SECONDS / 20)


@pytest.fixture(autouse=True)
def _keys_are_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let what a key does be drawn before the test looks, however busy the machine is."""
    press = Pilot.press

    async def press_and_draw(pilot: Pilot[None], *keys: str) -> None:
        await press(pilot, *keys)
        await _drawn(pilot)

    monkeypatch.setattr(Pilot, "press", press_and_draw)


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


AFTER = {"predicted_drift": 0.1, "predicted_drift_low95": -0.6, "predicted_drift_high95": 0.8}
EASED = {
    "fix_by": "tapestry needle",
    "over_mm": 64.0,
    "share_of_stitch_percent": 20.0,
    "tension": "looser",
}


def option(remedy: str, **values: Any) -> Option:
    """One option, made up; its words come from its numbers, as everywhere."""
    usual: dict[str, Any] = {
        "details": {},
        "share_in_tolerance": 0.5,
        "expected_fixes": 1.0,
        "minutes": 10.0,
        "size_change_percent": 0.0,
        "feasible": True,
        "expected_cost": 10.0,
    }
    given = {**usual, **values}
    after = AFTER if remedy.startswith("change") else {}
    given["details"] = {"manner": "as usual", **after, **given["details"]}
    return Option(remedy=Remedy(remedy), **given)


def advice_of(*options: Option, **values: Any) -> Advice:
    """Advice with these options, the first recommended, as the advice room gives it."""
    usual: dict[str, Any] = {
        "situation": ask(stand_in(drift=2.6, offset=8.3), needles_owned_mm=(4.0, 4.5, 5.0)),
        "look_again_round": 19,
        "drift": 2.6,
        "drift_sd": 0.2,
        "offset": 8.3,
    }
    return Advice(recommended=options[0], options=options, **{**usual, **values})


def canned_advice() -> Advice:
    """Advice made up so that no test waits for a simulation."""
    return advice_of(
        option(
            "change stitch count",
            details={"stitches": 132, "stitches_added": 4, "every_stitches": 32},
            minutes=5.0,
        ),
        option("change needle", details={"needle_mm": 5.0}),
        option("carry on", share_in_tolerance=0.1),
        option("rip back", feasible=False, refusal=Refusal.TOO_SMALL),
    )


@pytest.fixture
def advised(monkeypatch: pytest.MonkeyPatch) -> Advice:
    """The advice is made up; the journal and the fit are the real ones."""
    advice = canned_advice()
    monkeypatch.setattr("knitlog.advice.advise", lambda situation, **_: advice)
    return advice


async def settled(pilot: Pilot[None]) -> None:
    """Wait until everything that was set going has been worked out and drawn.

    On a busy machine a process may look idle when it only waits for its turn, so the screen
    at the needles is asked whether its look is the look at what stands in the journal now.
    """
    for _ in range(200):
        await pilot._wait_for_screen()
        try:
            await pilot.app.workers.wait_for_complete()
        except WorkerCancelled:  # a newer one is on its way
            continue
        if all(map(_has_looked, _seen_screens(pilot.app))):
            break
        await pilot.pause(_LOOK_SECONDS)
    await _drawn(pilot)


async def until(pilot: Pilot[None], seen: Callable[[], bool]) -> None:
    """Let the clock of the screens run on, as it follows other windows, until it is ``seen``."""
    for _ in range(500):
        await pilot.pause(0.02)
        if seen():
            break
    await settled(pilot)


async def _drawn(pilot: Pilot[None]) -> None:
    """Wait until nothing on the screen is left to be done, twice in turn.

    What a worker or a timer hands over is drawn in a later turn, and laid out in one later still.
    """
    still = 0
    for _ in range(400):
        if pilot.app._exit or not await pilot._wait_for_screen():
            return
        pilot.app.screen._on_timer_update()
        for around in _seen_screens(pilot.app)[:-1]:  # a sheet: what is seen around it is laid out
            if around._layout_required or around._scroll_required:
                around._on_timer_update()
        still = 0 if _is_busy(pilot.app) else still + 1
        if still >= 2:
            return
        await asyncio.sleep(0)


def _is_busy(app: App[Any]) -> bool:
    """Whether a message waits to be handled, or something to be drawn."""
    top, screens = app.screen, _seen_screens(app)
    nodes = [node for screen in screens for node in (screen, *screen.walk_children())]
    return bool(
        app.animator._animations
        or top._dirty_widgets  # around a sheet, what it covers stays so
        or any(node._repaint_required for node in (top, *top.walk_children()))
        or any(screen._callbacks for screen in screens)
        or any(node._message_queue.qsize() or node._next_callbacks for node in (app, *nodes))
        or any(
            node._layout_required or node._scroll_required or node._recompose_required
            for node in nodes
        )
    )


def _seen_screens(app: App[Any]) -> Sequence[Screen[Any]]:
    """The screen on top, and those that are seen around a sheet."""
    stack = app.screen_stack
    place = max(n for n, screen in enumerate(stack) if n == 0 or not screen.is_modal)
    return stack[place:]


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


def fits(pilot: Pilot[None], size: tuple[int, int]) -> bool:
    """Whether the picture is just as wide and high as the terminal."""
    lines = shown(pilot.app).splitlines()
    return (len(lines), {cell_len(line) for line in lines}) == (size[1], {size[0]})


async def resized(pilot: Pilot[None], size: tuple[int, int]) -> bool:
    """Make the terminal ``size`` large; whether the picture then fills it."""
    await pilot.resize_terminal(*size)
    for _ in range(50):  # a place laid out anew may be laid out once more
        await pilot.pause()
        if fits(pilot, size):
            await settled(pilot)
            return True
    return False


@pytest.fixture
def still_cursor(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Input, "cursor_blink", False)
    return
