"""How soon the screen is there, and how soon a logged round is seen, beside a bare app.

``pytest tests/tui/test_speed.py -m long -s`` prints the measurements.
"""

import asyncio
import gc
import random
import statistics
import time
from collections.abc import Callable
from pathlib import Path
from typing import ClassVar

import pytest
from textual.app import App, ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.pilot import Pilot
from textual.screen import Screen
from textual.scroll_view import ScrollView
from textual.widget import Widget
from textual.widgets import Footer, Input, Static

from knitlog.journal.events import Position, RoundLogged
from knitlog.journal.library import Library
from knitlog.journal.lines import encode
from knitlog.tui.app import KnitlogApp
from knitlog.tui.widgets.chart import ColourChart
from knitlog.tui.widgets.verdict import Verdict

from .conftest import settled, type_in

Maker = Callable[..., Path]
RUNS = 31
MOST_TIMES_BARE = 1.25
MOST_SECONDS_TO_A_VERDICT = {60: 0.016, 500: 0.05}

pytestmark = pytest.mark.usefixtures("advised")


class BareScreen(Screen[None]):
    """The framework's own widgets, as many, of the same kinds and nested alike; nothing behind.

    The same widget has the focus: a line to type on is drawn in more pieces when it has it.
    """

    AUTO_FOCUS = "Input"
    BINDINGS: ClassVar[list[BindingType]] = [(f"f{n}", f"noop({n})", "Key") for n in range(1, 10)]

    def compose(self) -> ComposeResult:
        with Horizontal():
            yield Static("title")
            yield Static("facts")
        with Vertical():
            yield Static("headline")
            yield Static("sentence")
        with Horizontal():
            yield ScrollView()
            with VerticalScroll():
                yield Static("advice")
        with Vertical():
            yield Static("said")
            yield Input()
        yield Footer(show_command_palette=False)

    def action_noop(self, _number: int) -> None:
        """Do nothing."""


class Bare(App[None]):
    """An app with one such screen."""

    def on_mount(self) -> None:
        self.push_screen(BareScreen())


async def first_paint(make: Callable[[], App[None]], widget: type[Widget]) -> float:
    """Seconds of the screen's own thread from making the app to the first whole picture.

    The first with a ``widget`` and the footer's keys on it, which the framework adds a turn later;
    the fit, in a thread of its own, does not count.  Processor time: what others do on the machine
    meanwhile is not in it.
    """
    painted: list[float] = []
    seen = asyncio.Event()
    display = App._display

    def timed(self: App[None], screen: Screen[object], renderable: object) -> None:
        display(self, screen, renderable)
        if not painted and all(
            any(node.size for node in screen.query(kind)) for kind in (widget, "FooterKey")
        ):
            painted.append(time.thread_time())
            seen.set()

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(App, "_display", timed)
        gc.collect()  # what the run before left behind
        begun = time.thread_time()
        app = make()
        async with app.run_test(size=(120, 40)):
            await asyncio.wait_for(seen.wait(), timeout=30)
            return painted[0] - begun


async def widgets_of(app: App[None]) -> int:
    """How many widgets the app's screen has, the keys in its footer too."""
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        return len(list(app.screen.walk_children()))


@pytest.mark.long
async def test_the_first_paint_beside_a_bare_app(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(20)
    ours_kinds = await widgets_of(KnitlogApp(library, path))
    assert await widgets_of(Bare()) == ours_kinds
    ours, bare = [], []
    for _ in range(RUNS):
        ours.append(await first_paint(lambda: KnitlogApp(library, path), ColourChart))
        bare.append(await first_paint(Bare, Input))
    ratio = statistics.median(ours) / statistics.median(bare)
    print(
        f"\nfirst paint: ours {statistics.median(ours) * 1000:.1f} ms, bare app of {ours_kinds} "
        f"widgets {statistics.median(bare) * 1000:.1f} ms, ratio {ratio:.2f} (medians of {RUNS}; "
        f"best {min(ours) / min(bare):.2f})"
    )
    assert ratio <= MOST_TIMES_BARE


@pytest.mark.long
@pytest.mark.parametrize("rounds", MOST_SECONDS_TO_A_VERDICT)
async def test_a_logged_round_is_seen_with_its_verdict(
    library: Library, hut_hat: Maker, rounds: int
) -> None:
    path = hut_hat(0)
    source = random.Random(1)
    place = 37.0
    with path.open("ab") as file:
        for number in range(1, rounds + 1):
            place += source.gauss(0, 0.5)
            stitch = round(place) % 128
            file.write(encode(RoundLogged(round=number, positions=(Position(stitch=stitch),))))
    app = KnitlogApp(library, path, follow_every=3600)
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        taken = [await _to_the_verdict(pilot) for _ in range(RUNS)]
    wall, work = ([each[n] for each in taken] for n in (0, 1))
    print(
        f"\na round at {rounds} rounds, from Enter to its verdict on the screen: "
        f"{1000 * statistics.median(work):.0f} ms of processor time, by the clock "
        f"{1000 * min(wall):.0f} ms at best and {1000 * statistics.median(wall):.0f} ms at the "
        f"median of {RUNS}"
    )
    assert statistics.median(work) <= MOST_SECONDS_TO_A_VERDICT[rounds]


async def _to_the_verdict(pilot: Pilot[None]) -> tuple[float, float]:
    """Seconds by the clock, and of processor time, from Enter to the picture with its verdict."""
    said, seen = [], asyncio.Event()
    say, display = Verdict.show, App._display
    taken: list[float] = []

    def saying(self: Verdict, *args: object) -> None:
        say(self, *args)  # type: ignore[arg-type]
        said.append(True)

    def drawing(self: App[None], screen: Screen[object], renderable: object) -> None:
        display(self, screen, renderable)
        if said and not taken:
            taken.extend((time.perf_counter(), time.process_time()))
            seen.set()

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Verdict, "show", saying)
        patch.setattr(App, "_display", drawing)
        await type_in(pilot, "=", then="space")
        said.clear()
        begun = time.perf_counter(), time.process_time()
        await pilot.app.screen.query_one(Input).action_submit()
        await asyncio.wait_for(seen.wait(), timeout=30)
    await settled(pilot)
    return taken[0] - begun[0], taken[1] - begun[1]
