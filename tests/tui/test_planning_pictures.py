"""The Plan and Fabric screens as pictures, two moments of an invented winter.

Nothing is fitted, so a picture changes only when the screen does.  Look at a changed
picture before taking it: ``pytest tests/tui/test_planning_pictures.py --snapshot-update``.
"""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from knitlog.journal.facts import make_facts
from knitlog.journal.library import Library
from knitlog.plan.colour_run import parse_colour_run
from knitlog.plan.drift_path import carry_on
from knitlog.plan.fabric import knit_fabric
from knitlog.tui.app import KnitlogApp
from knitlog.tui.screens.plan import PlanScreen
from knitlog.workbench.fabrics import Course, ProjectFabric

from .conftest import settled

Snapshot = Callable[..., bool]

pytestmark = pytest.mark.usefixtures("still_cursor", "advised")

RUN = parse_colour_run("rust 50cm #b5452c, ash 45cm #a7a9ac, lake 57cm #3d4f7a")


def invented_fabric(*_: Any, **__: Any) -> ProjectFabric:
    """Twelve rounds that slid, and three ways to go on, all of it made up."""
    slid = carry_on(0.0, 2.0, 96, 12)
    ways = {
        "Carry on: +2.0 a round": (carry_on(24.0, 2.0, 96, 28), "Nothing is done about it."),
        "Tapestry needle: once": (carry_on(0.0, 0.0, 96, 28), "Evened out."),
        "98 stitches: +0.0 a round": (carry_on(24.0, 0.0, 98, 28), "98 stitches do not slide."),
    }
    courses = [
        Course(caption, caption, knit_fabric(RUN, slid.then(later)), 0.5, 0, reason)
        for caption, (later, reason) in ways.items()
    ]
    courses.insert(2, Course("change needle", "Another needle", None, None, 0, "None is owned."))
    return ProjectFabric(tuple(courses), RUN, "", 12, 24.0, 0.76, None)


def test_she_sees_the_fabric_under_each_remedy(
    snap_compare: Snapshot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLORTERM", "truecolor")
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setattr("knitlog.workbench.fabrics.project_fabric", invented_fabric)
    library = Library(tmp_path / "wool")
    journal = library.create("Hut hat", make_facts(stitches=96, planned_rounds=40))

    async def act(pilot: Pilot[None]) -> None:
        await settled(pilot)
        await pilot.press("f4")
        await settled(pilot)
        await settled(pilot)

    app = KnitlogApp(library, journal.path, follow_every=3600)
    assert snap_compare(app, run_before=act, terminal_size=(120, 40))


def test_she_plans_before_casting_on(
    snap_compare: Snapshot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLORTERM", "truecolor")
    monkeypatch.setenv("TERM", "xterm-256color")

    async def act(pilot: Pilot[None]) -> None:
        await settled(pilot)
        await pilot.press("f5")
        await settled(pilot)
        screen = pilot.app.screen
        assert isinstance(screen, PlanScreen)
        typed = {
            "run": "rust 50cm #b5452c, ash 45cm #a7a9ac, lake 57cm #3d4f7a",
            "gauge": "20 st/10cm",
            "pulled": "40 = 80cm, 80.4cm",
            "needle": "4.5mm",
            "owned": "5mm",
            "multiple": "4",
        }
        for name, text in typed.items():
            screen._question(name).set_value(text)
        screen._work_out()
        await pilot.press("ctrl+l", "down")
        await settled(pilot)
        await settled(pilot)

    monkeypatch.chdir(tmp_path)
    app = KnitlogApp(Library(Path("wool")))
    assert snap_compare(app, run_before=act, terminal_size=(80, 24))
