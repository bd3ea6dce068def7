"""How soon the screen is there, and how soon a logged round is seen, beside a bare app.

``pytest tests/tui/test_speed.py -m long -s`` prints the measurements.
"""

import asyncio
import random
import statistics
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from textual.app import App, ComposeResult
from textual.containers import Vertical
from textual.screen import Screen
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
RUNS = 7

pytestmark = pytest.mark.usefixtures("advised")


class Bare(App[None]):
    """As many widgets as the screen at the needles, with nothing behind them."""

    BINDINGS = [(letter, "noop", letter) for letter in "fncsburw"]  # noqa: RUF012

    def __init__(self, widgets: int) -> None:
        super().__init__()
        self._widgets = widgets

    def compose(self) -> ComposeResult:
        with Vertical():
            for _ in range(self._widgets):
                yield Static("wool")
            yield Input()
        yield Footer()

    def action_noop(self) -> None:
        """Do nothing."""


async def first_paint(make: Callable[[], App[None]], widget: type[Widget]) -> float:
    """Seconds from making the app to the first picture with a ``widget`` on it."""
    painted: list[float] = []
    display = App._display

    def timed(self: App[None], screen: Screen[object], renderable: object) -> None:
        display(self, screen, renderable)
        if not painted and any(node.size for node in screen.query(widget)):
            painted.append(time.perf_counter())

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(App, "_display", timed)
        begun = time.perf_counter()
        app = make()
        async with app.run_test(size=(120, 40)):
            while not painted:
                await asyncio.sleep(0.0005)
            return painted[0] - begun


@pytest.mark.long
async def test_the_first_paint_beside_a_bare_app(library: Library, hut_hat: Maker) -> None:
    path = hut_hat(20)
    app = KnitlogApp(library, path)
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        count = len(list(app.screen.walk_children()))
    ours, bare = [], []
    for _ in range(RUNS):
        ours.append(await first_paint(lambda: KnitlogApp(library, path), ColourChart))
        bare.append(await first_paint(lambda: Bare(count), Static))
    ratio = statistics.median(ours) / statistics.median(bare)
    print(
        f"\nfirst paint: ours {statistics.median(ours) * 1000:.0f} ms, bare app of {count} "
        f"widgets {statistics.median(bare) * 1000:.0f} ms, ratio {ratio:.2f}"
    )
    assert ratio <= 1.3


@pytest.mark.long
async def test_a_round_logged_at_500_rounds_is_seen_with_its_verdict(
    library: Library, hut_hat: Maker
) -> None:
    path = hut_hat(0)
    source = random.Random(1)
    place = 37.0
    with path.open("ab") as file:
        for number in range(1, 501):
            place += source.gauss(0, 0.5)
            stitch = round(place) % 128
            file.write(encode(RoundLogged(round=number, positions=(Position(stitch=stitch),))))
    app = KnitlogApp(library, path, follow_every=3600)
    async with app.run_test(size=(120, 40)) as pilot:
        await settled(pilot)
        verdicts: list[float] = []
        say = Verdict.show

        def timed(self: Verdict, *args: object) -> None:
            say(self, *args)  # type: ignore[arg-type]
            verdicts.append(time.perf_counter())

        taken = []
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(Verdict, "show", timed)
            for _ in range(RUNS):
                await type_in(pilot, "=", then="space")
                verdicts.clear()
                begun = time.perf_counter()
                await pilot.app.screen.query_one(Input).action_submit()
                while not verdicts:
                    await asyncio.sleep(0.0005)
                taken.append(verdicts[0] - begun)
                await settled(pilot)
    print(f"\na round at 500 rounds, from Enter to its verdict: {1000 * min(taken):.0f} ms at "
          f"best, {1000 * statistics.median(taken):.0f} ms at the median")  # fmt: skip
    assert len(taken) == RUNS
