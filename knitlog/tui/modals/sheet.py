"""What all sheets share: a framed box over the screen, Escape to leave it, a help of its own."""

from __future__ import annotations

from typing import ClassVar, TypeVar

from rich.text import Text
from textual.await_complete import AwaitComplete
from textual.binding import Binding, BindingType
from textual.screen import ModalScreen
from textual.widget import Widget

from knitlog.tui.key_lines import KeyLine, all_bindings, key_lines

Value = TypeVar("Value")


class Sheet(ModalScreen[Value | None]):
    """A framed box that returns a value, or None when it is left with Escape."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Back", tooltip="Leave without saving anything."),
        Binding("question_mark,f1", "help", "Help", show=False),
    ]
    TITLE_WORDS: ClassVar[str] = ""
    """What it is called, where it is always called so."""
    ABOUT: ClassVar[str] = ""
    """What it is for, in a sentence or two."""
    HINT: ClassVar[str] = "Esc leaves"
    """Its keys, as they stand in the frame."""

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

    def __init__(self, heading: str = "", about: str = "", hint: str = "") -> None:
        """Name it, say what it is for and which keys it has; the class says what is left out."""
        super().__init__()
        self.heading = heading or self.TITLE_WORDS
        self.about = about or self.ABOUT
        self.hint = hint or self.HINT

    def entitle(self, box: Widget) -> None:
        """Write in the frame what it is called and its keys: no markup in a name."""
        box.border_title = Text(self.heading)
        box.border_subtitle = self.hint

    def dismiss(self, result: Value | None = None) -> AwaitComplete:
        """Give the value back, once: a second key may come before the sheet is gone."""
        if self.app.screen is not self:
            return AwaitComplete()
        return super().dismiss(result)

    def help_lines(self) -> list[KeyLine]:
        """What its help explains, beside its keys."""
        return []

    def action_help(self) -> None:
        """Say what it is for, what it asks and which keys it has."""
        from knitlog.tui.modals.reading import HelpSheet

        keys = [*self.help_lines(), *key_lines(all_bindings(self._bindings))]
        self.app.push_screen(HelpSheet(self.heading, self.about, keys))

    def action_leave(self) -> None:
        """Leave without a value."""
        self.dismiss(None)
