"""My hands: what all finished projects say of the knitter, and the switch to do without.

Why a chart of characters: it is read over a terminal, by a screen reader line by line, and
without colour; her bar and any knitter's differ by their marks.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Footer, Static
from textual.worker import get_current_worker

from knitlog.journal.errors import JournalError
from knitlog.tui.screens.base import COMMON_KEYS
from knitlog.tui.screens.reading import READING_KEYS, ReadingScreen
from knitlog.tui.screens.review import columns
from knitlog.tui.widgets.masthead import Masthead

if TYPE_CHECKING:
    from knitlog.tui.history import History
    from knitlog.workbench.hands import Learnt

_MARGIN = 8
_WIDEST = 70


class MyHandsScreen(ReadingScreen):
    """Her hands, in words, a table and a chart."""

    WORDS = "My hands"
    ABOUT = (
        "What your finished projects say of you: the yarn a stitch takes by needle, fibre and "
        "pattern, what a needle step does, how even your rounds are, how well your fixes land. "
        "A new project starts from it; a new yarn borrows and does not copy. With w you do "
        "without it, and with it again."
    )

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("w", "without", "With or without", tooltip="Do without your history, or with it."),
        *READING_KEYS,
        *COMMON_KEYS,
    ]

    DEFAULT_CSS = """
    MyHandsScreen {
        background: $ground;
        & #hands { height: 1fr; padding: 0 1 0 2; scrollbar-size-vertical: 1; }
        & #hands Static { height: auto; color: $ink; }
        & #hands .head { text-style: bold; color: $key; margin: 1 0 0 0; }
        & #switch { height: 1; padding: 0 2; color: $ink; text-style: bold; }
    }
    """

    def __init__(self, history: History) -> None:
        """Show what ``history`` says."""
        super().__init__()
        self._history = history

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

    @work(thread=True, exclusive=True, group="hands")
    def _read(self) -> None:
        worker = get_current_worker()
        self._history.forget()  # a project may have been finished since
        try:
            learnt = self._history.hands()
        except JournalError as error:
            self.app.call_from_thread(self._tell, [Static(f"! {error}", markup=False)])
            return
        if not worker.is_cancelled:
            self.app.call_from_thread(self._show, learnt)

    def _show(self, learnt: Learnt) -> None:
        from knitlog.hands import kinds_knitted, sentences
        from knitlog.report.hands_text import chart_lines, kind_rows

        hands = learnt.hands
        pieces = [Static("What your finished projects say", classes="head", markup=False)]
        pieces += [Static(sentence, markup=False) for sentence in sentences(hands)]
        if hands.known:
            width = min(max(self.app.size.width - _MARGIN, 20), _WIDEST)
            chart = "\n".join(chart_lines(hands, width))
            pieces += [
                Static("What to expect of the next project", classes="head", markup=False),
                Static(Text(chart, no_wrap=True)),
                Static("Yarn per stitch", classes="head", markup=False),
                Static(columns(kind_rows(kinds_knitted(hands)), self.app.size.width)),
            ]
        pieces += [Static(f"! {sentence}", markup=False) for sentence in learnt.problems]
        self._tell(pieces)

    def _tell(self, pieces: list[Static]) -> None:
        if not self.query("#hands"):
            return  # the screen is being left
        place = self.query_one("#hands", VerticalScroll)
        place.remove_children()
        place.mount_all(pieces)

    def _switch(self) -> str:
        if self._history.without:
            return "New fits do without your history (w: with it again)."
        return "New fits start from your history (w: do without)."

    def action_without(self) -> None:
        """Do without her history, or with it again."""
        self._history.without = not self._history.without
        self.query_one("#switch", Static).update(self._switch())
