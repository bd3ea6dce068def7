"""What all sheets share: a framed box over the screen, Escape to leave it."""

from __future__ import annotations

from typing import ClassVar, TypeVar

from textual.binding import Binding, BindingType
from textual.screen import ModalScreen

Value = TypeVar("Value")


class Sheet(ModalScreen[Value | None]):
    """A framed box that returns a value, or None when it is left with Escape."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Back", tooltip="Leave without saving anything."),
    ]

    DEFAULT_CSS = """
    Sheet {
        align: center bottom;
        background: transparent;
        & .sheet {
            width: 100%;
            max-width: 80;
            height: auto;
            max-height: 100%;
            border: round $key;
            border-title-color: $key;
            border-title-style: bold;
            border-subtitle-color: $key;
            background: $ground;
            padding: 0 1;
        }
        & .sheet Static { height: auto; color: $ink; }
        & .sheet .faint { color: $faint; }
        & .sheet .strong { text-style: bold; }
        & .sheet Question { margin: 1 0 0 0; }
    }
    """

    def action_leave(self) -> None:
        """Leave without a value."""
        self.dismiss(None)
