"""The note sheet: returns the text of a note.

Enter saves it, Escape leaves it.
"""

from __future__ import annotations

from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Input, Static

from knitlog.tui.modals.sheet import Sheet


class NoteSheet(Sheet[str]):
    """Asks for a note on a round, or on the whole project."""

    DEFAULT_CSS = """
    NoteSheet Input { border: none; height: 1; background: $cloth; padding: 0 1; margin: 1 0; }
    NoteSheet Input:focus:ansi { text-style: bold reverse; }
    NoteSheet Input:focus { border: none; background: $band; }
    """

    def __init__(self, round_number: int | None) -> None:
        super().__init__()
        self._round = round_number

    def compose(self) -> ComposeResult:
        """One line to write on."""
        with Vertical(classes="sheet") as sheet:
            where = "on the project" if self._round is None else f"on round {self._round}"
            sheet.border_title = f"A note {where}"
            sheet.border_subtitle = "Enter saves · Esc leaves"
            yield Static(
                "Anything worth remembering: a mood, a cable, a new ball.", classes="faint"
            )
            yield Input(max_length=4000)

    @on(Input.Submitted)
    def _save(self, event: Input.Submitted) -> None:
        text = event.value.strip()
        self.dismiss(text or None)
