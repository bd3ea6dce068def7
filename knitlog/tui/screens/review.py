"""Looking back on the open project: drift by stint, fixes, time, yarn, what was not logged.

Why one column: it is read from top to bottom, the pictures first, by eye or in letters by a
screen reader, and the same parts stand in the page that one key writes.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Footer, Static

from knitlog.tui.screens.base import COMMON_KEYS, READING_KEYS, Masthead, ReadingScreen
from knitlog.tui.screens.following import FollowingScreen
from knitlog.tui.widgets.answer_parts import part_widgets

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from textual.widget import Widget

    from knitlog.analysis.past import Past
    from knitlog.analysis.project_review import Review
    from knitlog.journal.project import ProjectState
    from knitlog.report.parts import Part
    from knitlog.tui.open_project import OpenProject


class ReviewScreen(ReadingScreen, FollowingScreen):
    """One project, looked back on."""

    WORDS = "Review"
    ABOUT = (
        "What became of the project: where the colours fell and how they slid, round by round, "
        "the fabric beside the one planned, the drift from stint to stint, what each fix was "
        "meant to do and what it did, what changed and was never logged, where the time went, "
        "and the yarn used against plan. + is past its place, - is short of it."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("p", "page", "Page", tooltip="Write it as a page with pictures, for a browser."),
        Binding("g", "letters", "Letters", show=False, tooltip="Pictures in letters, or sharp."),
        Binding("o", "app.my_hands", "My hands", tooltip="What all finished projects say."),
        *READING_KEYS,
        *COMMON_KEYS,
    ]

    DEFAULT_CSS = """
    ReviewScreen {
        background: $ground;
        & #review { height: 1fr; padding: 0 1 0 2; scrollbar-size-vertical: 1; }
        & #review Static { height: auto; color: $ink; }
        & #review .head { text-style: bold; color: $key; margin: 1 0 0 0; }
        & #review .strong { text-style: bold; margin: 1 0 0 0; }
    }
    """

    def __init__(self, project: OpenProject, past: Past, *, follow_every: float = 1.0) -> None:
        """Look back on ``project``, from what ``past`` says of her hands."""
        super().__init__(project, follow_every=follow_every)
        self._past = past
        self._found: Review | None = None

    def compose(self) -> ComposeResult:
        """A masthead, the review, one line for what was done."""
        yield Masthead(f"{self.project.state.name}: review")
        with VerticalScroll(id="review"):
            yield Static("Looking back ...", id="waiting", markup=False)
        yield self.said_line()
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Work it out."""
        self._look_back()

    def show_state(self, state: ProjectState) -> None:
        """Look back anew; the review shown so far stays until then."""
        self.query_one(Masthead).show(f"{state.name}: review", "")
        self._look_back()

    @property
    def found(self) -> Review | None:
        """The review; None until it is worked out."""
        return self._found

    @work(exclusive=True, group="look back")
    async def _look_back(self) -> None:
        self._show(*await self.worked_out(partial(_reviewed, self.project.state, self._past)))

    def _show(self, found: Review, parts: Sequence[Part]) -> None:
        self._found = found
        place = self.query_one("#review", VerticalScroll)
        line = place.scroll_y
        place.remove_children()
        place.mount_all(self._widgets(found, parts))
        self.call_after_refresh(place.scroll_to, y=line, animate=False)

    def _widgets(self, found: Review, parts: Sequence[Part]) -> list[Widget]:
        """The review as pieces, one under the other."""
        from knitlog.report.review_words import headline

        strong = Static(headline(found), classes="strong", markup=False)
        return [strong, *part_widgets(parts, self.app.size.width, lettered=self.lettered)]

    def action_page(self) -> None:
        """Write the page."""
        if self._found is None:
            return
        self.say("Drawing the page ...")
        make = partial(_written, self._found, self.project.path)
        self.make_file(make, "; open it in a browser, or print it")


def _reviewed(state: ProjectState, past: Past) -> tuple[Review, list[Part]]:
    from knitlog.analysis.project_review import review
    from knitlog.report.review_words import body_parts

    found = review(state, past=past)
    return found, list(body_parts(found))


def _written(found: Review, journal: Path) -> Path:
    """Write the page beside the journal, and return where."""
    from knitlog.journal.disk import create_file, make_folder
    from knitlog.report.fabric_file import free_path
    from knitlog.report.pages import review_page

    path = free_path(journal.parent / "pictures", f"{journal.stem}-review", ".html")
    make_folder(path.parent)
    create_file(path, review_page(found).encode())
    return path
