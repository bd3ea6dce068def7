"""The yes-or-no sheet: returns True for yes, None for no.

``y`` is yes; ``n`` and Escape are no.  Enter is neither: a knitter who types a
number and Enter out of habit must not say yes by accident.
"""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.widgets import Button, Static

from knitlog.tui.modals.sheet import Sheet


class ConfirmSheet(Sheet[bool]):
    """Asks one question that is answered with a key."""

    AUTO_FOCUS = ""
    HINT = "y or n · Esc leaves"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("y", "yes", "Yes"),
        Binding("n", "leave", "No"),
    ]

    DEFAULT_CSS = """
    ConfirmSheet {
        & #question { text-style: bold; margin: 1 0; }
        & Horizontal { height: auto; }
        & Button, & Button:focus, & Button:hover {
            width: auto; min-width: 0; padding: 0 1; margin: 0 2 1 0;
            background: $cloth; color: $key; text-style: bold; background-tint: $cloth 0%;
        }
    }
    """

    def __init__(self, title: str, question: str, *, yes: str, no: str) -> None:
        super().__init__(title)
        self._question, self._yes, self._no = question, yes, no

    def compose(self) -> ComposeResult:
        """The question and its two answers."""
        with Vertical(classes="sheet") as sheet:
            self.entitle(sheet)
            yield Static(self._question, id="question", markup=False)
            with Horizontal():
                yield Button(f"y {self._yes}", id="yes", compact=True)
                yield Button(f"n {self._no}", id="no", compact=True)

    def action_yes(self) -> None:
        """Say yes."""
        self.dismiss(True)

    def on_button_pressed(self, event: Button.Pressed) -> None:
        """Answer by mouse."""
        self.dismiss(True if event.button.id == "yes" else None)
