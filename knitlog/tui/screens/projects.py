"""The projects: open one, begin one, or play with a sample.

Why a welcome: the first time there is nothing to list, and a newcomer should
see at once which keys lead on: a project of her own, a plan of one, or a
sample that nothing can be spoilt in.
"""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widgets import DataTable, Footer, Static

from knitlog.analysis.samples import lay_out_samples
from knitlog.journal.errors import JournalError
from knitlog.journal.events import now
from knitlog.report.words import counted
from knitlog.tui.big_type import set_big
from knitlog.tui.screens.base import Chosen, KnitScreen, Masthead, common_keys

if TYPE_CHECKING:
    from pathlib import Path

    from knitlog.journal.library import Library, Shelf

_WELCOME = """\
Hand-painted yarn repeats its colours along the strand. Knit just so, they \
stack round upon round; a little too tight or too loose, and they slide.

knitlog keeps a journal of where the colour changed in each round. It tells you \
how far your stitches are off, and which fix is the least work.

  a   a project of your own: a few questions, each with a picture
  F5  plan before casting on: how many stitches, so that colours stack
  k   play with a sample: an invented winter's knitting, nothing to spoil
  ?   help, on every screen
"""


class ProjectsScreen(KnitScreen):
    """All projects, latest first."""

    WORDS = "Projects"
    ABOUT = (
        "Every project is one file in your knitlog folder. The last one knitted stands at the "
        "top; Enter opens it at the needles."
    )
    TYPED_KEYS = (("Enter", "Open the project under the bar."), ("↑ ↓", "Move the bar."))

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "new", "New project", tooltip="Begin a project."),
        Binding("k", "sample", "Samples", tooltip="Put the sample projects on the list."),
        Binding("q", "app.quit", "Quit", tooltip="Leave knitlog; everything is saved already."),
        *common_keys("f4", "f5"),
    ]

    DEFAULT_CSS = """
    ProjectsScreen {
        background: $ground;
        & #welcome { height: 1fr; padding: 1 2; display: none; }
        & #welcome #title { color: $key; text-style: bold; margin: 0 0 1 0; height: auto; }
        & #welcome #words { height: auto; }
        & DataTable { height: 1fr; background: $ground; display: none; margin: 1 1 0 1; }
        & DataTable:focus { background-tint: $ground 0%; }
        & DataTable > .datatable--header { background: $ground; color: $faint; text-style: none; }
        & .datatable--cursor { text-style: bold; }
        & #told { height: auto; padding: 0 2; color: $act; display: none; }
        &.-none #welcome { display: block; }
        &.-some DataTable { display: block; }
        &.-told #told { display: block; }
    }
    """

    def __init__(self, library: Library, told: str = "", left: Path | None = None) -> None:
        """List ``library``, the bar on the project she ``left``.

        ``told`` is what went wrong on the way here, if anything.
        """
        super().__init__()
        self._left = None if left is None else left.stem
        self._library = library
        self._told = told
        self._shelves: dict[str, Shelf] = {}

    def compose(self) -> ComposeResult:
        """The list, or the welcome; and what went wrong, if anything."""
        yield Masthead("knitlog", str(self._library.folder))
        with Vertical(id="welcome"):
            yield Static("\n".join(set_big("knitlog") or ()), id="title", markup=False)
            yield Static(_WELCOME, id="words", markup=False)
        table: DataTable[str] = DataTable(cursor_type="row", zebra_stripes=False)
        yield table
        yield Static(id="told", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Name the columns."""
        table = self.query_one(DataTable)
        for head, width in (("Project", 29), ("Round", 11), ("Last knitted", 14), ("", 14)):
            table.add_column(head, width=width)

    @property
    def chosen(self) -> Path | None:
        """The project under the bar, if it can be opened."""
        shelf = self._shelves.get(self._under_the_bar or "")
        return None if shelf is None or shelf.trouble else shelf.path

    @property
    def _under_the_bar(self) -> str | None:
        table = self.query_one(DataTable)
        if not table.row_count:
            return None
        return table.coordinate_to_cell_key(table.cursor_coordinate).row_key.value

    def on_screen_resume(self) -> None:
        """List the projects as they now are."""
        self._list()
        if self._told:
            self.tell(self._told)
            self._told = ""

    def tell(self, sentence: str) -> None:
        """Say what went wrong; nothing if empty."""
        self.query_one("#told", Static).update(f"! {sentence}" if sentence else "")
        self.set_class(bool(sentence), "-told")

    def _list(self) -> None:
        table = self.query_one(DataTable)
        try:
            shelves = self._library.projects()
        except JournalError as error:
            shelves = ()
            self.tell(str(error))
        bar_at = self._under_the_bar or self._left
        self._shelves = {shelf.slug: shelf for shelf in shelves}
        table.clear()
        for shelf in shelves:
            table.add_row(*_row(shelf), key=shelf.slug)
        if bar_at in self._shelves:
            table.move_cursor(row=table.get_row_index(bar_at))
        self.set_class(not shelves, "-none")
        self.set_class(bool(shelves), "-some")
        if shelves:
            table.focus()

    @on(DataTable.RowSelected)
    def _chosen(self, event: DataTable.RowSelected) -> None:
        shelf = self._shelves.get(event.row_key.value or "")
        if shelf is None:
            return
        self.tell(shelf.trouble or "")
        if shelf.trouble is None:
            self.post_message(Chosen(shelf.path))

    def action_new(self) -> None:
        """Ask the few questions of a new project."""
        from knitlog.tui.screens.new_project import NewProjectScreen

        self.app.push_screen(NewProjectScreen(self._library))

    def action_sample(self) -> None:
        """Put the samples on the list."""
        try:
            paths = lay_out_samples(self._library.folder)
        except JournalError as error:
            self.tell(str(error))
            return
        self.tell("" if paths else "The samples are not here: was knitlog installed whole?")
        self._list()


def _row(shelf: Shelf) -> tuple[Text, str, str, str]:
    """The cells of a project; its name as Text, so that brackets in it are no markup."""
    state = shelf.state
    if state is None:
        return Text(shelf.name), "", "", "cannot be read"
    planned = state.facts.planned_rounds
    rounds = f"{state.last_round}" + (f" of {planned}" if planned else "")
    standing = "finished" if state.finished else ""
    if state.read_only:
        standing = "read only"
    elif state.problems:
        standing = counted(len(state.problems), "bad line")
    return Text(state.name), rounds, _ago(state.last_at), standing


def _ago(then: datetime) -> str:
    days = (now().astimezone(then.tzinfo).date() - then.date()).days
    if days <= 0:
        return f"today {then:%H:%M}"
    if days == 1:
        return "yesterday"
    return f"{days} days ago" if days < 31 else f"{then:%d %b %Y}"
