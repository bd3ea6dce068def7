"""The line at the top: which project, and the facts the round is knitted by."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.widgets import Static


class Masthead(Horizontal):
    """Title at the left, facts at the right; the facts give way first."""

    DEFAULT_CSS = """
    Masthead {
        height: 1;
        background: $cloth;
        padding: 0 1;
        & Static { height: 1; text-wrap: nowrap; text-overflow: ellipsis; }
        & #title { width: auto; max-width: 60%; text-style: bold; }
        & #facts { width: 1fr; padding: 0 0 0 1; text-align: right; color: $faint; }
    }
    """

    def __init__(self, title: str = "", facts: str = "") -> None:
        super().__init__()
        self._title, self._facts = title, facts

    def compose(self) -> ComposeResult:
        """Title and facts, one line."""
        yield Static(self._title, id="title", markup=False)
        yield Static(self._facts, id="facts", markup=False)

    def show(self, title: str, facts: str) -> None:
        """Name the project and its facts."""
        self.query_one("#title", Static).update(title)
        self.query_one("#facts", Static).update(facts)
