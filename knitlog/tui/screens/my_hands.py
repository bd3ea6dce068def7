"""My hands: what all finished projects say of the knitter, and the switch to do without.

Her bar and any knitter's differ by their marks, so that they are told apart without colour.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Footer, Static

from knitlog.journal.errors import JournalError
from knitlog.tui.screens.base import COMMON_KEYS, READING_KEYS, Masthead, ReadingScreen
from knitlog.tui.widgets.answer_parts import part_widgets

if TYPE_CHECKING:
    from textual.widget import Widget

    from knitlog.analysis.past import Learnt, Past


class MyHandsScreen(ReadingScreen):
    """Her hands, in words, a table and a chart."""

    WORDS = "My hands"
    ABOUT = (
        "What your finished projects say of you: the yarn a stitch takes by needle, fibre and "
        "pattern, what a needle step does, how even your rounds are, how well your fixes land. "
        "A new project starts from it; a new yarn borrows and does not copy. With m you do "
        "without it, and with it again."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("m", "without", "With or without", tooltip="Do without your history, or with it."),
        Binding("g", "letters", "Letters", show=False, tooltip="Pictures in letters, or sharp."),
        *READING_KEYS,
        *COMMON_KEYS,
    ]

    DEFAULT_CSS = """
    MyHandsScreen {
        background: $ground;
        & #hands { height: 1fr; padding: 0 1 0 2; scrollbar-size-vertical: 1; }
        & #hands Static { height: auto; color: $ink; }
        & #hands .apart { margin: 1 0 0 0; }
        & #hands .head { text-style: bold; color: $key; margin: 1 0 0 0; }
        & #switch { height: 1; padding: 0 2; color: $ink; text-style: bold; }
    }
    """

    def __init__(self, past: Past) -> None:
        """Show what ``past`` says."""
        super().__init__()
        self._past = past

    def compose(self) -> ComposeResult:
        """A masthead, the words, the switch."""
        yield Masthead("My hands")
        with VerticalScroll(id="hands"):
            yield Static("Reading the finished projects ...", markup=False)
        yield Static(self._switch(), id="switch", markup=False)
        yield Footer(show_command_palette=False)

    def on_mount(self) -> None:
        """Read them."""
        self._read()

    @work(exclusive=True, group="hands")
    async def _read(self) -> None:
        try:
            self._show(await self.worked_out(partial(_learnt, self._past)))
        except JournalError as error:
            self._tell([Static(f"! {error}", markup=False)])

    def _show(self, learnt: Learnt) -> None:
        from knitlog.report.hands_words import hands_parts, left_out_sentences

        parts = hands_parts(learnt.hands, left_out_sentences(learnt))
        self._tell(list(part_widgets(parts, self.app.size.width, lettered=self.lettered)))

    def _tell(self, pieces: list[Widget]) -> None:
        place = self.query_one("#hands", VerticalScroll)
        place.remove_children()
        place.mount_all(pieces)

    def _switch(self) -> str:
        if self._past.without:
            return "New fits do without your history (m: with it again)."
        return "New fits start from your history (m: do without)."

    def action_without(self) -> None:
        """Do without her history, or with it again."""
        self._past.without = not self._past.without
        self.query_one("#switch", Static).update(self._switch())


def _learnt(past: Past) -> Learnt:
    past.forget()  # a project may have been finished since
    return past.learnt()
