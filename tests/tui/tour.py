"""Every screen and sheet, each at one moment of the invented evening, and how she gets there.

One list for all that must hold everywhere: the pictures, the contrast, eyes that see colours
otherwise, few colours or none, other sizes.  A screen or sheet that is not on it fails a test.
"""

from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass
from typing import Any

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from knitlog.advice import Option
from knitlog.analysis.analysis import Analysis
from knitlog.analysis.fabrics import Future, ProjectFabric, Stage
from knitlog.analysis.next_round import Doubt
from knitlog.analysis.past import Learnt
from knitlog.analysis.project_review import FixReviewed, Review, YarnUsed
from knitlog.analysis.time_spent import time_spent
from knitlog.drift.fit_result import Estimate
from knitlog.hands.learn import learn
from knitlog.journal.events import Position
from knitlog.journal.library import Library
from knitlog.journal.project import ProjectState
from knitlog.plan.run_notation import parse_colour_run
from knitlog.plan.stitch_colours import knit_fabric
from knitlog.plan.yarn_path import carry_on
from knitlog.report.hands_words import KIND_HEAD
from knitlog.report.interval_drawing import Beside, IntervalDrawing
from knitlog.report.parts import Part
from knitlog.tui.app import KnitlogApp
from knitlog.tui.widgets.question import Question
from tests.plan.paths import knit_on

from . import story
from .conftest import settled, type_in

Way = Callable[[Pilot[None]], Awaitable[None]]
RUN = parse_colour_run("rust 50cm #b5452c, ash 45cm #a7a9ac, lake 57cm #3d4f7a")


def keys(*pressed: str) -> Way:
    """Press keys one by one, letting each settle."""

    async def go(pilot: Pilot[None]) -> None:
        for key in pressed:
            await pilot.press(key)
            await settled(pilot)

    return go


def then(*ways: Way) -> Way:
    """One after the other."""

    async def go(pilot: Pilot[None]) -> None:
        for way in ways:
            await way(pilot)

    return go


def filled(**texts: str) -> Way:
    """Answer questions of the form or sheet on top by their ids."""

    async def go(pilot: Pilot[None]) -> None:
        screen = pilot.app.screen
        for name, text in texts.items():
            screen.query_one(f"#{name}", Question).set_value(text)
        await pilot.pause()  # what was typed is heard: a plan now waits for her to stop
        await settled(pilot)

    return go


def typed(text: str) -> Way:
    """Type and press Enter."""

    async def go(pilot: Pilot[None]) -> None:
        await type_in(pilot, text)

    return go


PLANNED = filled(
    run="rust 50cm #b5452c, ash 45cm #a7a9ac, lake 57cm #3d4f7a",
    gauge="20 st/10cm",
    pulled="40 = 80cm, 80.4cm",
    needle="4.5mm",
    owned="5mm",
    multiple="4",
)


@dataclass(frozen=True)
class Stop:
    """One moment."""

    name: str
    go: Way
    begin: str = "needles"
    """Where she comes from: the needles, the list of projects, or an empty folder."""
    leave: int = 2
    """Screens left standing for the next stop: Textual's own, the place, and what she needs."""


STOPS = (
    Stop("the_first_evening", keys(), "nothing"),
    Stop("nothing_open_to_look_at", keys("f4"), "nothing"),
    Stop("her_projects", keys(), "projects"),
    Stop("a_new_project", keys("a", "down", "down"), "projects"),
    Stop("a_new_project_unnamed", keys("a", "ctrl+s"), "projects"),
    Stop("at_the_needles", keys()),
    Stop("why", keys("w")),
    Stop("help", keys("question_mark")),
    Stop("everything_by_name", keys("ctrl+p")),
    Stop("a_fix", keys("f")),
    Stop("a_change", keys("c")),
    Stop("a_note", keys("n")),
    Stop("facts", keys("i")),
    Stop("logbook", keys("l")),
    Stop("ripped_back", keys("x")),
    Stop("a_new_skein", keys("j")),
    Stop("off_the_needles", keys("e")),
    Stop("the_fabric", keys("f4"), leave=3),
    Stop("the_fabric_lettered", keys("g"), leave=3),
    Stop("the_colours", then(keys("y"), filled(run="rust 50cm, ash 45cm, lake 57cm")), leave=4),
    Stop("colours_step_by_step", then(keys("ctrl+t"), typed("rust"), typed("50cm"))),
    Stop("a_plan_begun", keys("f5"), leave=3),
    Stop("a_plan", then(PLANNED, keys("ctrl+l", "down")), leave=3),
    Stop("a_plan_taken", keys("ctrl+s"), leave=3),
    Stop("a_cast_on", then(keys("f6"), filled(off="-4")), leave=3),
    Stop("yarn_enough", then(keys("f7"), filled(left="38g", skein="400m/100g")), leave=3),
    Stop("a_join", then(keys("f8"), filled(old="52cm", new="10cm"))),
    Stop("review", keys("ctrl+r")),
    Stop("my_hands", keys("ctrl+o")),
    Stop("a_jump", typed("5")),
    Stop("a_wrong_entry", typed("999")),
    Stop("the_whole_at_a_glance", keys("z")),
)


def freeze(monkeypatch: pytest.MonkeyPatch) -> None:
    """Put made-up numbers wherever something is fitted, simulated or timed."""
    story.freeze(monkeypatch)
    monkeypatch.setattr("knitlog.analysis.next_round.doubt", _doubt)
    monkeypatch.setattr("knitlog.analysis.fabrics.project_fabric", _fabric)
    monkeypatch.setattr("knitlog.analysis.project_review.review", _review)
    monkeypatch.setattr("knitlog.analysis.past.Past.learnt", _hands)
    monkeypatch.setattr("knitlog.report.hands_words.hands_parts", _hands_parts)
    monkeypatch.setattr(Input, "cursor_blink", False)


def app_at(begin: str, library: Library) -> KnitlogApp:
    """The app where she begins."""
    if begin == "nothing":
        return KnitlogApp(Library(library.folder / "empty"), follow_every=3600)
    path = story.write(library)
    return KnitlogApp(library, path if begin == "needles" else None, follow_every=3600)


async def back(pilot: Pilot[None], stop: Stop) -> None:
    """Back to what the next stop begins from."""
    app = pilot.app
    while len(app.screen_stack) > stop.leave:
        app.pop_screen()
    if stop.leave == 2:
        for line in app.screen.query(Input):
            line.value = ""
    app.clear_notifications()
    await settled(pilot)


def _doubt(_: object, positions: Sequence[Position], __: int) -> Doubt | None:
    return None if positions[0].stitch > 10 else Doubt(5.0, -59.0, 64.0)


def _fabric(view: Analysis, *_: Any, **__: Any) -> ProjectFabric:
    """Twelve rounds that slid, and the ways to go on that the made-up advice weighs."""
    slid = carry_on(0.0, 2.0, 96, 12)

    def future(option: Option | None, then: int = 96, drift: float = 2.0) -> Future:
        later = carry_on(24.0, drift, then, 28)
        return Future(option, drift, knit_fabric(RUN, knit_on(slid, later)), 12, 24.0)

    options = () if view.advice is None else view.advice.options
    futures = [
        future(option, *((98, 0.0) if "stitches" in option.details else ()))
        if option.feasible
        else Future(option, 2.0, None, 12, 24.0)
        for option in options
    ]
    return ProjectFabric(
        futures=tuple(futures) or (future(None),),
        stage=Stage.UNDER_WAY,
        run=RUN,
        stands_in=False,
        knitted=12,
        home=24.0,
        aspect=0.76,
        gauge=None,
        advice=view.advice,
    )


def _review(state: ProjectState, **_: Any) -> Review:
    view = story.analyse(state)
    assert view.fit is not None
    return Review(
        state=state,
        look=view,
        stints=view.fit.stint_drifts,
        fixes=(
            FixReviewed(9, "tapestry needle", 9.0, Estimate(6.6, 0.5, 5.6, 7.6), 20.1, 13.5, 14.0),
        ),
        breaks=(),
        time=time_spent(state),
        share_in_tolerance=0.09,
        share_of_fabric=0.09,
        rounds_out=20,
        worst=(22, 27.0),
        yarn=YarnUsed(22, Estimate(34_100.0, 120.0, 33_900.0, 34_300.0), 33_500.0, 91_400.0),
        began=story.EVENING,
        ended=story.EVENING,
    )


def _hands(*_: Any) -> Learnt:
    return Learnt(learn(()), ())


def _hands_parts(*_: Any) -> tuple[Part, ...]:
    return (
        Part("What your finished projects say", _HANDS_SAY),
        Part("What to expect of the next project, beside any knitter", drawing=_HANDS_DRAWN),
        Part("Yarn per stitch", head=_KINDS[0], rows=_KINDS[1:]),
    )


_HANDS_SAY = (
    "From 8 finished projects.",
    "In plain wool a stitch of yours takes 4.25 stitch widths of yarn (between 4.02 and 4.46).",
    "A needle step changes your yarn per stitch by 85 % of what the loop round the needle says "
    "(4 changes): from 4.0 to 4.5 mm expect +7.0 % (+4.8 to +9.6 %).",
    "Fixes by tapestry needle (56 times) do 82 % of what you mean them to: you take out too "
    "little; one differs from the next by about 4 %.",
)
_HANDS_DRAWN = IntervalDrawing(
    "share; 1 is all of it",
    (
        Beside(
            "A needle step does",
            Estimate(1.0, 0.25, 0.51, 1.49),
            Estimate(0.85, 0.14, 0.59, 1.14),
        ),
    ),
    at=1.0,
)
_KINDS = (
    KIND_HEAD,
    ("3.5 mm", "cotton", "plain", "1", "16.63", "16.65 (15.25 to 18.20)"),
    ("4.5 mm", "alpaca and wool", "ribbing", "2", "18.20 to 18.90", "18.55 (17.10 to 20.05)"),
)

__all__ = ["STOPS", "Stop", "app_at", "back", "freeze"]
