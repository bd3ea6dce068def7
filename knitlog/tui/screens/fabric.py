"""The fabric: what it looks like so far, and what it will look like under each remedy.

Why side by side: a share of rounds in line is a number; stripes that break or hold are
seen.  All fabrics scroll and zoom together, and have the same unevenness of the hand to
come, so that only the remedy differs.  The line below tells one round in words.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.widgets import Footer, Static
from textual.worker import get_current_worker

from knitlog import workbench
from knitlog.journal import actions
from knitlog.journal.colour_runs import ColourRunBook, parts_of
from knitlog.journal.errors import JournalError
from knitlog.tui.modals.colour_run import ColourRunSheet
from knitlog.tui.plan_answers import sentence
from knitlog.tui.run_bar import run_key
from knitlog.tui.screens.base import COMMON_KEYS
from knitlog.tui.screens.following import FollowingScreen
from knitlog.tui.widgets.fabric_view import FabricView, next_zoom
from knitlog.tui.widgets.masthead import Masthead

if TYPE_CHECKING:
    from knitlog.journal.project import ProjectState
    from knitlog.tui.open_project import OpenProject
    from knitlog.workbench.fabrics import Course, ProjectFabric
    from knitlog.yarn.colours import ColourRun

_MOST_COURSES = 4
_WIDE = 100
_COLUMNS = 8
_LARGEST_FIRST = 4.0


class FabricScreen(FollowingScreen):
    """One project's fabric under the remedies she picks."""

    WORDS = "The fabric"
    ABOUT = (
        "The colour of every stitch, drawn as knitting charts are: round 1 at the bottom, stitch 1 "
        "at the right. Up to the mark ┤ it is knitted; above it stands what will come if you "
        "carry on, or under a remedy. ▲ is where the colour change belongs. The line below the "
        "fabric tells the round marked ◄ in words."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("1", "pick(0)", "Remedies", key_display="1-4", tooltip="Show or hide: carry on."),
        Binding("2", "pick(1)", "", show=False, tooltip="Show or hide: tapestry needle."),
        Binding("3", "pick(2)", "", show=False, tooltip="Show or hide: another needle."),
        Binding("4", "pick(3)", "", show=False, tooltip="Show or hide: another stitch count."),
        Binding("plus,equals_sign", "zoom(1)", "Zoom", key_display="+ -", tooltip="Larger."),
        Binding("minus", "zoom(-1)", "Smaller", show=False, tooltip="Smaller."),
        Binding("0", "fit", "Fit", tooltip="All rounds in sight; again: the whole round too."),
        Binding("l", "letters", "Letters", tooltip="Letters on the colours, or none."),
        Binding("e", "even", "Even", show=False, tooltip="Rounds to come: even, or as your hand."),
        Binding("c", "colours", "Colours", tooltip="Describe the yarn's colours."),
        Binding("p", "picture('.png')", "PNG", tooltip="Save a picture as PNG."),
        Binding("s", "picture('.svg')", "SVG", show=False, tooltip="Save a picture as SVG."),
        Binding("up", "read(1)", "Newer", show=False, tooltip="The round above, in words."),
        Binding("down", "read(-1)", "Older", show=False, tooltip="The round below, in words."),
        Binding("pageup", "page(1)", "Newer", show=False, tooltip="A screenful newer."),
        Binding("pagedown", "page(-1)", "Older", show=False, tooltip="A screenful older."),
        Binding("home", "go(False)", "First", show=False, tooltip="To round 1."),
        Binding("end", "go(True)", "Now", show=False, tooltip="To the last round knitted."),
        Binding("left", "across(1)", "Left", show=False, tooltip="To later stitches."),
        Binding("right", "across(-1)", "Right", show=False, tooltip="To earlier stitches."),
        Binding("escape", "leave", "Back", show=False, tooltip="Back to where you were."),
        *COMMON_KEYS,
    ]

    DEFAULT_CSS = """
    FabricScreen {
        background: $ground;
        & #views { height: 1fr; padding: 0 1; }
        & FabricView { display: none; }
        & FabricView.-picked { display: block; }
        & #words { height: auto; max-height: 2; padding: 0 1; color: $ink; text-style: bold; }
        & #key { height: auto; max-height: 3; padding: 0 1; color: $ink; }
        & #said { height: auto; max-height: 3; padding: 0 1; color: $faint; display: none; }
        & #said.-shown { display: block; }
        & #said.-wrong { color: $act; text-style: bold; }
    }
    """

    def __init__(
        self, project: OpenProject, book: ColourRunBook, *, follow_every: float = 1.0
    ) -> None:
        """Show ``project``; ``book`` has the colour runs she has kept."""
        super().__init__(project, follow_every=follow_every)
        self._book = book
        self._found: ProjectFabric | None = None
        self._uneven = True
        self._whole_round = False
        self._zoomed = False
        self._cursor = 1
        self._picked: set[int] | None = None

    def compose(self) -> ComposeResult:
        """A frame a remedy, one round in words, the key to the colours."""
        yield Masthead(f"{self.project.state.name}: the fabric")
        with Horizontal(id="views"):
            for number in range(_MOST_COURSES):
                yield FabricView(numbered=False, id=f"course-{number}")
        yield Static(id="words", markup=False)
        yield Static(id="key", markup=False)
        yield Static(id="said", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Work the fabrics out."""
        self._knit()

    @property
    def courses(self) -> tuple[Course, ...]:
        """Every way to go on that is known; empty until it is worked out."""
        return () if self._found is None else self._found.courses

    @property
    def picked(self) -> tuple[Course, ...]:
        """The courses on the screen."""
        return tuple(c for n, c in enumerate(self.courses) if n in (self._picked or ()))

    @property
    def views(self) -> list[FabricView]:
        """The frames on the screen, left to right."""
        return [view for view in self.query(FabricView) if view.has_class("-picked")]

    @property
    def cursor(self) -> int:
        """The round that is told in words."""
        return self._cursor

    # What is shown

    def show_state(self, state: ProjectState) -> None:
        """Work the fabrics out anew; the round under the cursor stays, unless it was the last."""
        if self._found is not None and self._cursor == max(self._found.knitted, 1):
            self._cursor = max(state.last_round, 1)
        self._knit()

    @work(thread=True, exclusive=True, group="knit")
    def _knit(self) -> None:
        from knitlog.workbench.fabrics import project_fabric

        worker = get_current_worker()
        try:
            view = workbench.look(self.project.state, with_advice=False)
            found = project_fabric(view, uneven=self._uneven)
        except ValueError as error:
            if not worker.is_cancelled:
                self.app.call_from_thread(self.say, sentence(error), wrong=True)
            return
        if not worker.is_cancelled:
            self.app.call_from_thread(self._show, found)

    def _show(self, found: ProjectFabric) -> None:
        first_time = self._found is None
        self._found = found
        if first_time or self._picked is None:
            self._picked = self._first_pick(found)
        self._picked = {n for n in self._picked if n < len(found.courses)} or {0}
        state = self.project.state
        planned = "" if state.facts.planned_rounds is None else f" of {state.facts.planned_rounds}"
        self.query_one(Masthead).show(
            f"{state.name}: the fabric",
            f"{'row' if state.facts.flat else 'round'} {found.knitted}{planned}"
            + ("" if self._uneven else " · evenly from here"),
        )
        self._lay_out()
        if first_time:
            self._cursor = max(found.knitted, 1)
            self.call_after_refresh(self._fit_first)
        self.query_one("#key", Static).update(self._key(found))
        self.call_after_refresh(self._read)

    def _first_pick(self, found: ProjectFabric) -> set[int]:
        """On a wide screen all that can be done; on a narrow one the ends of the list."""
        possible = [n for n, course in enumerate(found.courses) if course.fabric is not None]
        if self.app.size.width >= _WIDE or len(possible) < 3:
            return set(possible)
        return {possible[0], possible[-1]}

    def _lay_out(self) -> None:
        found = self._found
        if found is None or self._picked is None:
            return
        last = max(self._picked)
        for number, view in enumerate(self.query(FabricView)):
            view.set_class(number in self._picked, "-picked")
            if number in self._picked:
                course = found.courses[number]
                view.number_rounds(number == last)
                view.show(
                    course.fabric,
                    f"{number + 1} {course.caption}",
                    aspect=found.aspect,
                    knitted=found.knitted,
                    home=found.home,
                    words=course.reason,
                )

    def _key(self, found: ProjectFabric) -> Text:
        key = run_key(self.app, found.run)
        if found.stand_in:
            key.append(f"\n{found.stand_in} c describes them.")
        return key

    def _fit_first(self) -> None:
        self.action_fit()
        for view in self.views:
            if view.zoom > _LARGEST_FIRST:
                view.set_zoom(_LARGEST_FIRST)
        self._whole_round = False
        self._centre()

    def on_resize(self) -> None:
        """Fit the fabric to the screen again, unless she has chosen a size herself."""
        if self._found is not None and not self._zoomed:
            self.call_after_refresh(self._fit_first)

    def _centre(self) -> None:
        if self._found is not None:
            for view in self.views:
                view.centre_on(self._found.home)

    def _read(self) -> None:
        """Tell the round under the cursor in words."""
        from knitlog.report.fabric_text import round_words

        shown = [course for course in self.picked if course.fabric is not None]
        if not shown:
            self.query_one("#words", Static).update("")
            return
        most = max(course.fabric.rounds for course in shown if course.fabric is not None)
        self._cursor = min(max(self._cursor, 1), most)
        for view in self.views:
            view.set_cursor(self._cursor)
        fabric = shown[0].fabric
        words = "" if fabric is None else round_words(fabric, self._cursor)
        to_come = self._found is not None and self._cursor > self._found.knitted
        if to_come and len(self.courses) > 1:
            words = f"{words.rstrip('.')} ({shown[0].name})."
        self.query_one("#words", Static).update(words)

    def say(self, sentence: str, *, wrong: bool = False) -> None:
        """Say one sentence above the keys."""
        said = self.query_one("#said", Static)
        said.update(f"! {sentence}" if wrong else sentence)
        said.set_class(bool(sentence), "-shown")
        said.set_class(wrong, "-wrong")

    # Keys

    def action_pick(self, number: int) -> None:
        """Show a remedy, or hide it; one always stays."""
        if self._found is None or self._picked is None:
            return
        if number >= len(self._found.courses):
            self.say("There is no such remedy here yet: log two rounds or more.")
            return
        self._picked = self._picked ^ {number} or {number}
        zoom = self.views[0].zoom if self.views else 1.0
        course = self._found.courses[number]
        self._lay_out()
        self.say(course.reason if number in self._picked else "")
        self.call_after_refresh(self._settle, zoom)

    def _settle(self, zoom: float) -> None:
        for view in self.views:
            view.set_zoom(zoom)
        self._centre()
        self._read()

    def action_zoom(self, steps: int) -> None:
        """Larger or smaller."""
        self._zoomed = True
        for view in self.views:
            view.set_zoom(next_zoom(view.zoom, steps))

    def action_fit(self) -> None:
        """All rounds in sight; pressed again, the whole round too."""
        views = [view for view in self.views if view.fabric is not None]
        if not views:
            return
        zoom = min(view.zoom_for(whole_round=self._whole_round) for view in views)
        for view in views:
            view.set_zoom(zoom)
        self._whole_round = not self._whole_round
        self._centre()

    def action_letters(self) -> None:
        """Letters on the colours, or none."""
        views = list(self.query(FabricView))
        if not views[0].has_colour:
            self.say("This terminal shows no colours, so the letters stay.")
            return
        lettered = not views[0].lettered
        for view in views:
            view.set_lettered(lettered)

    def action_even(self) -> None:
        """Rounds to come: evenly, or with the unevenness of her hand."""
        self._uneven = not self._uneven
        self.say(
            "The rounds to come vary as your hand does."
            if self._uneven
            else "The rounds to come are drawn without your hand's unevenness."
        )
        self._knit()

    def action_read(self, rounds: int) -> None:
        """Another round in words."""
        self._cursor += rounds
        self._read()

    def action_page(self, pages: int) -> None:
        """A screenful of rounds up or down."""
        if self.views:
            view = self.views[0]
            self._cursor += pages * view.rounds_in_sight
            self._read()

    def action_go(self, newest: bool) -> None:
        """To the last round knitted, or to round 1."""
        knitted = 0 if self._found is None else self._found.knitted
        self._cursor = max(knitted, 1) if newest else 1
        self._read()

    def action_across(self, steps: int) -> None:
        """To later stitches, or earlier ones."""
        for view in self.views:
            view.scroll_fabric(columns=steps * _COLUMNS)

    def action_picture(self, suffix: str) -> None:
        """Save what is on the screen as a picture."""
        self._save_picture(suffix)

    @work(thread=True, exclusive=True, group="picture")
    def _save_picture(self, suffix: str) -> None:
        from knitlog.report.fabric_file import save_beside

        panels = [(c.caption, c.fabric) for c in self.picked if c.fabric is not None]
        if self._found is None or not panels:
            self.app.call_from_thread(self.say, "There is no fabric to save.", wrong=True)
            return
        try:
            path = save_beside(self.project.path, panels, self._found.gauge, suffix)
        except ValueError as error:
            self.app.call_from_thread(self.say, sentence(error), wrong=True)
            return
        self.app.call_from_thread(self.say, f"Saved the picture as {path}")

    def action_colours(self) -> None:
        """Describe the yarn's colours."""
        state = self.project.state
        self.app.push_screen(
            ColourRunSheet(
                self._book, state.facts.colour_run, repeat_mm=state.facts.repeat_length_mm
            ),
            self._described,
        )

    def _described(self, run: ColourRun | None) -> None:
        if run is None:
            return
        deed = partial(
            actions.change_facts, colours=parts_of(run), colours_turn_back=run.palindrome
        )
        try:
            self.project.do(deed)
        except JournalError as error:
            self.say(str(error), wrong=True)
            return
        self.showing(self.project.state)
        self.say("Saved: the yarn's colours.")
        self._knit()

    def action_leave(self) -> None:
        """Back to where she was."""
        self.app.pop_screen()

    # The mouse

    @on(FabricView.Pointed)
    def _pointed(self, event: FabricView.Pointed) -> None:
        self._cursor = event.round
        self._read()

    @on(FabricView.Wheeled)
    def _wheeled(self, event: FabricView.Wheeled) -> None:
        for view in self.views:
            view.scroll_fabric(lines=event.lines)
