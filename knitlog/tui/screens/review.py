"""Looking back on the open project: drift by stint, fixes, time, yarn, what was not logged.

Why text in one column: it is read from top to bottom, by eye or by a screen reader, and the
same words stand in the page that one key writes, with pictures.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.cells import cell_len
from rich.table import Table
from rich.text import Text
from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Footer, Static
from textual.worker import get_current_worker

from knitlog.journal.errors import JournalError
from knitlog.tui.screens.base import COMMON_KEYS
from knitlog.tui.screens.following import FollowingScreen
from knitlog.tui.screens.reading import READING_KEYS, ReadingScreen
from knitlog.tui.widgets.masthead import Masthead

if TYPE_CHECKING:
    from collections.abc import Sequence

    from knitlog.journal.project import ProjectState
    from knitlog.report.review import Review
    from knitlog.tui.history import History
    from knitlog.tui.open_project import OpenProject


_BESIDE = 5
"""Columns of a screen that no table gets: its margins and the scroll bar."""


class ReviewScreen(ReadingScreen, FollowingScreen):
    """One project, looked back on."""

    WORDS = "Review"
    ABOUT = (
        "What became of the project: how the drift went from stint to stint, what each fix was "
        "meant to do and what it did, what changed and was never logged, where the time went, "
        "and the yarn used against plan. + is past its place, - is short of it."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("p", "page", "Page", tooltip="Write it as a page with pictures, for a browser."),
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
        & #said { height: auto; max-height: 3; padding: 0 1; color: $ink; display: none; }
        & #said.-shown { display: block; }
        & #said.-wrong { color: $act; text-style: bold; }
    }
    """

    def __init__(
        self, project: OpenProject, history: History, *, follow_every: float = 1.0
    ) -> None:
        """Look back on ``project``, from what ``history`` says of her hands."""
        super().__init__(project, follow_every=follow_every)
        self._history = history
        self._found: Review | None = None

    def compose(self) -> ComposeResult:
        """A masthead, the review, one line for what was done."""
        yield Masthead(f"{self.project.state.name}: review")
        with VerticalScroll(id="review"):
            yield Static("Looking back ...", id="waiting", markup=False)
        yield Static(id="said", markup=False)
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

    @work(thread=True, exclusive=True, group="look back")
    def _look_back(self) -> None:
        from knitlog.report.review import review

        worker = get_current_worker()
        state = self.project.state
        try:
            prior = self._history.prior(state)
        except JournalError:
            prior = None  # a folder that cannot be read has told so elsewhere
        found = review(state, prior=prior)
        if not worker.is_cancelled:
            self.app.call_from_thread(self._show, found)

    def _show(self, found: Review) -> None:
        if not self.query("#review"):
            return  # the screen is being left
        self._found = found
        place = self.query_one("#review", VerticalScroll)
        line = place.scroll_y
        place.remove_children()
        place.mount_all(review_widgets(found, self.app.size.width))
        self.call_after_refresh(place.scroll_to, y=line, animate=False)

    def action_page(self) -> None:
        """Write the page."""
        if self._found is None:
            return
        self.say("Drawing the page ...")
        self._write(self._found)

    @work(thread=True, exclusive=True, group="page")
    def _write(self, found: Review) -> None:
        from knitlog.journal.disk import create_file, make_folder
        from knitlog.report.fabric_file import free_path
        from knitlog.report.pages import review_page

        journal = self.project.path
        try:
            path = free_path(journal.parent / "pictures", f"{journal.stem}-review", ".html")
            make_folder(path.parent)
            create_file(path, review_page(found).encode())
        except ValueError as error:
            self.app.call_from_thread(self.say, str(error), wrong=True)
            return
        self.app.call_from_thread(self.say, f"Wrote {path}; open it in a browser, or print it.")

    def say(self, sentence: str, *, wrong: bool = False) -> None:
        """Say one sentence above the keys."""
        if not self.query("#said"):
            return
        line = self.query_one("#said", Static)
        line.set_class(True, "-shown")
        line.set_class(wrong, "-wrong")
        line.update(f"! {sentence}" if wrong else sentence)


def review_widgets(found: Review, width: int) -> list[Static]:
    """The review as pieces to be put one under the other on a screen of ``width`` columns."""
    from knitlog.report import review_text as words

    state = found.state
    pieces = [Static(words.headline(found), classes="strong", markup=False)]
    if found.worst is not None and abs(found.worst[1]) > state.facts.tolerance:
        far = f"Furthest out: {found.worst[1]:+.1f} stitches in round {found.worst[0]}."
        pieces.append(Static(far, markup=False))

    def part(title: str, *bodies: Table | Text) -> None:
        pieces.append(Static(title, classes="head", markup=False))
        pieces.extend(Static(body) for body in bodies)

    if found.stints:
        part("Drift", columns(words.stint_rows(found), width))
    if found.fixes:
        part("Fixes, stitches of offset", columns(words.fix_rows(found), width))
        pieces.append(Static(words.fix_sentence(found), markup=False))
    if found.fit is not None:
        gone = [words.break_sentence(b) for b in found.breaks] or ["Nothing that shows."]
        part("What was never logged but changed", Text("\n".join(gone)))
    if found.time is not None:
        part("Time", Text("\n".join(words.time_sentences(found.time))))
    if found.yarn is not None:
        part("Yarn", Text("\n".join(words.yarn_sentences(found.yarn))))
    if state.notes:
        told = [
            f"{f'Round {n.round}: ' if n.round is not None else ''}{' '.join(n.text.split())}"
            for n in state.notes
        ]
        part("Notes", Text("\n".join(told)))
    pieces += [Static(f"! {sentence}", markup=False) for sentence in found.look.problems]
    return pieces


def columns(rows: Sequence[Sequence[str]], width: int) -> Table:
    """Rows of words with a line of headings, as a table that gives way to a narrow screen.

    ``width``: columns of the screen.
    """
    widest = [max(cell_len(row[place]) for row in rows) for place in range(len(rows[0]))]
    between = 2 if sum(widest) + 2 * len(widest) <= width - _BESIDE else 1
    table = Table(box=None, padding=(0, between, 0, 0), header_style="bold")
    for place, name in enumerate(rows[0]):
        table.add_column(name, overflow="fold", no_wrap=place == 0)
    for row in rows[1:]:
        table.add_row(*(Text(cell) for cell in row))
    return table
