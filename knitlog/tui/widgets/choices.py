"""A list to choose from that takes any key at any time, and the palette of everything by name.

Why: the library's list looks up the line of an option when Page up or Page down is pressed, and
has none before it is laid out; and its palette, asked to close twice, would close what lies
below.
"""

from __future__ import annotations

from contextlib import suppress

from textual.await_complete import AwaitComplete
from textual.command import CommandPalette
from textual.widgets import OptionList


class Choices(OptionList):
    """An option list that is safe to page through."""

    DEFAULT_CSS = """
    Choices, Choices:focus {
        height: auto; border: none; background: $ground; padding: 0;
        & > .option-list--option-highlighted { text-style: bold; }
    }
    """

    def _move_page(self, direction: int) -> None:
        with suppress(LookupError):
            super()._move_page(direction)  # type: ignore[arg-type]


class CommandsByName(CommandPalette):
    """Everything that can be done here, by name: no sign painted, what lies below still legible."""

    DEFAULT_CSS = """
    CommandsByName { background: transparent; & SearchIcon { display: none; } }
    """

    def _action_command_list(self, action: str) -> None:
        with suppress(LookupError):
            super()._action_command_list(action)

    def dismiss(self, result: None = None) -> AwaitComplete:
        """Close, once."""
        if self.app.screen is not self:
            return AwaitComplete()
        return super().dismiss(result)
