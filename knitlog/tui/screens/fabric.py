"""The fabric: what it looks like so far, and what it will look like under each remedy.

Why side by side: a share of rounds in place is a number; stripes that break or hold are
seen.  The futures are the advice's own options.  All fabrics scroll and zoom together, and
have the same unevenness of the hand to come, so that only the remedy differs.  The line
below tells one round in words.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.widgets import Footer, Static

from knitlog.analysis import analysis
from knitlog.journal import actions
from knitlog.journal.colour_runs import ColourRunBook, parts_of
from knitlog.journal.errors import JournalError
from knitlog.tui.modals.colour_sheet import ColourRunSheet
from knitlog.tui.run_bar import run_key
from knitlog.tui.screens.base import COMMON_KEYS, Masthead
from knitlog.tui.screens.following import FollowingScreen
from knitlog.tui.widgets.fabric_row import FabricRow, Frame
from knitlog.tui.widgets.fabric_view import FabricView
from knitlog.typed.text import as_sentence

if TYPE_CHECKING:
    from knitlog.analysis.analysis import Analysis
    from knitlog.analysis.fabrics import Future, ProjectFabric
    from knitlog.analysis.past import Past
    from knitlog.journal.project import ProjectState
    from knitlog.tui.open_project import OpenProject
    from knitlog.yarn.colours import ColourRun

_MOST_FUTURES = 9
"""One for each key."""
_FRAME_COLUMNS = 30
"""Columns a fabric should have at first."""


@dataclass(frozen=True, slots=True)
class _FabricLook:
    """A look at the project, and its fabric."""

    view: Analysis
    fabric: ProjectFabric


class FabricScreen(FollowingScreen):
    """One project's fabric under the remedies she picks."""

    WORDS = "The fabric"
    ABOUT = (
        "The colour of every stitch, drawn as knitting charts are: round 1 at the bottom, stitch 1 "
        "at the right. Up to the mark ┤ it is knitted; above it stands what will come under "
        "each remedy of the advice, the recommended one (►) beside carrying on at first: the "
        "numbers show others. ▲ is where the colour change belongs. The line below the fabric "
        "tells the round marked ◄ in words. The rounds to come are one way they may turn out."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding(
            "1", "pick(0)", "Futures", key_display="1-9", tooltip="Show or hide that future (1-9)."
        ),
        *(
            Binding(str(n), f"pick({n - 1})", "", show=False, tooltip=f"Show or hide future {n}.")
            for n in range(2, _MOST_FUTURES + 1)
        ),
        Binding("w", "why", "Why", tooltip="What to do and why, every remedy side by side."),
        Binding("plus,equals_sign", "zoom(1)", "Zoom", key_display="+ -", tooltip="Larger."),
        Binding("minus", "zoom(-1)", "Smaller", show=False, tooltip="Smaller."),
        Binding("0", "fit", "Fit", tooltip="All rounds in sight; again: the whole round too."),
        Binding("g", "letters", "Letters", show=False, tooltip="Letters on the colours, or none."),
        Binding("h", "even", "Even", show=False, tooltip="Rounds to come: even, or as your hand."),
        Binding("y", "colours", "Colours", tooltip="Describe the yarn's colours."),
        Binding("p", "picture('.png')", "PNG", tooltip="Save a picture as PNG."),
        Binding("v", "picture('.svg')", "SVG", show=False, tooltip="Save a picture as SVG."),
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
        & #futures { height: auto; max-height: 3; padding: 0 1; color: $ink; }
        & #words { height: auto; max-height: 2; padding: 0 1; color: $ink; text-style: bold; }
        & #key { height: auto; max-height: 3; padding: 0 1; color: $ink; }
    }
    """

    def __init__(
        self, project: OpenProject, book: ColourRunBook, *, follow_every: float = 1.0
    ) -> None:
        """Show ``project``; ``book`` has the colour runs she has kept."""
        super().__init__(project, follow_every=follow_every)
        self._book = book
        self._found: ProjectFabric | None = None
        self._view: Analysis | None = None
        self._uneven = True
        self._zoomed = False
        self._cursor = 1
        self._picked: set[int] | None = None

    def compose(self) -> ComposeResult:
        """The futures to choose from, a frame for each, one round in words, the colours."""
        yield Masthead(f"{self.project.state.name}: the fabric")
        yield Static(id="futures", markup=False)
        yield FabricRow(_MOST_FUTURES)
        yield Static(id="words", markup=False)
        yield Static(id="key", markup=False)
        yield self.said_line()
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Work the fabrics out."""
        self._knit()

    @property
    def futures(self) -> tuple[Future, ...]:
        """Every way to go on that is known; empty until it is worked out."""
        return () if self._found is None else self._found.futures[:_MOST_FUTURES]

    @property
    def picked(self) -> tuple[Future, ...]:
        """The futures on the screen."""
        return tuple(f for n, f in enumerate(self.futures) if n in (self._picked or ()))

    @property
    def views(self) -> list[FabricView]:
        """The frames on the screen, left to right."""
        return self._row.views

    @property
    def _row(self) -> FabricRow:
        return self.query_one(FabricRow)

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

    @work(exclusive=True, group="knit")
    async def _knit(self) -> None:
        state, past, uneven = self.project.state, getattr(self.app, "past", None), self._uneven
        try:
            look = await self.worked_out(partial(_knitted, state, past, uneven))
            if self._found is None:
                self._show(look)  # what is knitted need not wait for the advice
            self._show(await self.worked_out(partial(_advised, look.view, uneven)))
        except ValueError as error:
            self.say(as_sentence(error), wrong=True)

    def _show(self, look: _FabricLook) -> None:
        first_time, found = self._found is None, look.fabric
        known = len(self.futures)
        self._found, self._view = found, look.view
        if self._picked is None or known < 2:
            self._picked = self._first_pick()
        self._picked = {n for n in self._picked if n < len(self.futures)} or {0}
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
        self._fit_first()
        self._read()

    def _first_pick(self) -> set[int]:
        """The recommended future beside carrying on; others while there is room for them."""
        can = [n for n, future in enumerate(self.futures) if future.fabric is not None]
        room = max(self.app.size.width // _FRAME_COLUMNS, 1)
        plain = [n for n in can if _remedy(self.futures[n]) == "carry on"]
        first: dict[str, int] = {}
        for n in can:
            first.setdefault(_remedy(self.futures[n]), n)
        wanted = dict.fromkeys([*can[:1], *plain[:1], *first.values()])
        return set(list(wanted)[:room])

    def _lay_out(self) -> None:
        found = self._found
        if found is None or self._picked is None:
            return
        from knitlog.report.fabric_words import future_caption, future_reason

        state = self.project.state
        frames = {
            number: Frame(
                future.fabric,
                f"{number + 1} {future_caption(future, found, state)}",
                future_reason(future, found, state),
                future.knitted,
                future.place,
            )
            for number, future in enumerate(self.futures)
            if number in self._picked
        }
        self._row.show(frames, found.aspect, found.home, self.app.size.width - 2)
        self.query_one("#futures", Static).update(self._choice(found))
        self.query_one("#key", Static).update(self._key(found))

    def _choice(self, found: ProjectFabric) -> Text:
        """The futures with their keys, those on the screen standing out."""
        from knitlog.report.fabric_words import future_short

        choice, room = Text(), self.app.size.width - 2
        if len(self.futures) < 2:
            return choice
        line = 0
        for number, future in enumerate(self.futures):
            mark = "►" if number == 0 else " "
            words = f"{number + 1}{mark}{future_short(future, found)}"
            words = words if future.fabric is not None else f"({words})"
            # a label is never parted: she looks for its number at its beginning
            if line and line + len(words) > room:
                choice.append("\n")
                line = 0
            choice.append(words, "bold reverse" if number in (self._picked or ()) else "")
            choice.append("  ")
            line += len(words) + 2
        return choice

    def _key(self, found: ProjectFabric) -> Text:
        from knitlog.report.fabric_words import stand_in_words

        key = run_key(self.app, found.run)
        each = self._row.rounds_in_half_cell
        if each > 1:
            turn = "rows" if self.project.state.facts.flat else "rounds"
            key.append(f"  (half a cell: the commonest of {each} {turn}; + to see each)")
        if asked := stand_in_words(found):
            key.append(f"\n{asked} y describes them.")
        return key

    def _tell_key(self) -> None:
        if self._found is not None:
            self.query_one("#key", Static).update(self._key(self._found))

    def _fit_first(self) -> None:
        """Fit the fabric to the screen, unless she has chosen a size herself."""
        if not self._zoomed:
            self._row.fit_first()
            self._tell_key()

    def on_resize(self) -> None:
        """Lay the captions out anew; each frame then tells its own new size."""
        self._lay_out()

    @on(FabricView.Resized)
    def _resized(self) -> None:
        if self._found is not None and not self._zoomed:
            self._fit_first()
            self._read()

    def _read(self) -> None:
        """Tell the round under the cursor in words."""
        from knitlog.report.fabric_text import round_words
        from knitlog.report.fabric_words import future_short

        shown = [(future, future.fabric) for future in self.picked if future.fabric is not None]
        if not shown or self._found is None:
            self.query_one("#words", Static).update("")
            return
        most = max(fabric.rounds for _, fabric in shown)
        self._cursor = min(max(self._cursor, 1), most)
        self._row.set_cursor(self._cursor)
        future, fabric = shown[0]
        words = round_words(fabric, self._cursor)
        if self._cursor > self._found.knitted and len(self.futures) > 1:
            words = f"{words.rstrip('.')} ({future_short(future, self._found)})."
        self.query_one("#words", Static).update(words)

    # Keys

    def action_pick(self, number: int) -> None:
        """Show a future, or hide it; one always stays."""
        if self._found is None or self._picked is None:
            return
        from knitlog.report.fabric_words import future_reason

        if number >= len(self.futures):
            self.say(
                f"There are {len(self.futures)} futures here."
                if len(self.futures) > 1
                else future_reason(self.futures[0], self._found, self.project.state)
            )
            return
        self._picked = self._picked ^ {number} or {number}
        zoom = self._row.zoom
        self._lay_out()
        reason = future_reason(self.futures[number], self._found, self.project.state)
        self.say(reason if number in self._picked else "")
        self.call_after_refresh(self._settle, zoom)

    def action_why(self) -> None:
        """What to do and why, every remedy side by side."""
        if self._view is None or self._view.advice is None:
            self.say("There is nothing to advise on yet.")
            return
        from knitlog.tui.modals.reading import WhySheet

        self.app.push_screen(WhySheet(self._view))

    def _settle(self, zoom: float) -> None:
        self._row.set_zoom(zoom)
        self._read()
        self._tell_key()

    def action_zoom(self, steps: int) -> None:
        """Larger or smaller."""
        self._zoomed = True
        self._row.zoom_by(steps)
        self._tell_key()

    def action_fit(self) -> None:
        """All rounds in sight; pressed again, the whole round too."""
        self._row.fit()
        self._tell_key()

    def action_letters(self) -> None:
        """Letters on the colours, or none."""
        if not self._row.toggle_letters():
            self.say("This terminal shows no colours, so the letters stay.")

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
        self._cursor += pages * self._row.rounds_in_sight
        self._read()

    def action_go(self, newest: bool) -> None:
        """To the last round knitted, or to round 1."""
        knitted = 0 if self._found is None else self._found.knitted
        self._cursor = max(knitted, 1) if newest else 1
        self._read()

    def action_across(self, steps: int) -> None:
        """To later stitches, or earlier ones."""
        self._row.scroll_across(steps)

    def action_picture(self, suffix: str) -> None:
        """Save what is on the screen as a picture."""
        from knitlog.report.fabric_file import save_beside
        from knitlog.report.fabric_words import future_caption

        found, state = self._found, self.project.state
        panels = [
            (future_caption(future, found, state), future.fabric)
            for future in self.picked
            if found is not None and future.fabric is not None
        ]
        if found is None or not panels:
            self.say("There is no fabric to save.", wrong=True)
            return
        self.make_file(partial(save_beside, self.project.path, panels, found.gauge, suffix))

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
        self.leave()

    # The mouse

    @on(FabricView.Pointed)
    def _pointed(self, event: FabricView.Pointed) -> None:
        self._cursor = event.round
        self._read()


def _knitted(state: ProjectState, past: Past | None, uneven: bool) -> _FabricLook:
    from knitlog.analysis.fabrics import project_fabric

    view = analysis.analyse(state, past=past, with_advice=False)
    return _FabricLook(view, project_fabric(view, uneven=uneven))


def _advised(view: Analysis, uneven: bool) -> _FabricLook:
    from knitlog.analysis.fabrics import project_fabric

    view = analysis.advised(view)
    return _FabricLook(view, project_fabric(view, uneven=uneven))


def _remedy(future: Future) -> str:
    """The remedy of a future; nothing is done where there is no advice."""
    return "carry on" if future.option is None else str(future.option.remedy)
