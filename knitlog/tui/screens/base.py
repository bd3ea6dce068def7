"""What every screen shares: help made from its own keys, and where the other screens are."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, TypeVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.message import Message
from textual.screen import Screen

from knitlog.tui.background import in_thread
from knitlog.tui.key_lines import KeyLine, all_bindings, key_lines
from knitlog.tui.widgets.text_in_place import TextInPlace

if TYPE_CHECKING:
    from knitlog.journal.store import JournalFile

Answer = TypeVar("Answer")


def common_keys(*shown: str) -> tuple[Binding, ...]:
    """Keys of every screen, which names its own first; those ``shown`` are in the footer."""
    keys = (
        ("f2", "app.projects", "Projects", "All projects."),
        ("f3", "app.needles", "At the needles", "The project last open."),
        ("f4", "app.fabric", "Fabric", "The fabric, so far and to come."),
        ("f5", "app.plan", "Plan", "Plan a project before casting on."),
        ("question_mark", "help", "Help", "This help."),
        ("f1", "help", "Help", "This help."),
    )
    seen = (*shown, "question_mark")
    return tuple(Binding(*key[:3], show=key[0] in seen, tooltip=key[3]) for key in keys)


COMMON_KEYS = common_keys()

WIDE = 100
"""Columns from which on a screen counts as wide."""


@dataclass
class Begun(Message):
    """A project has been begun: it is to be opened at the needles."""

    journal: JournalFile


@dataclass
class Chosen(Message):
    """A project has been chosen: it is to be opened at the needles."""

    path: Path


class KnitScreen(Screen[None]):
    """A screen with a title, a help, and a way to every other screen."""

    WORDS: ClassVar[str] = ""
    """What the screen is called."""
    ABOUT: ClassVar[str] = ""
    """What it is for, in a few sentences: the head of its help."""
    TYPED_KEYS: ClassVar[tuple[KeyLine, ...]] = ()
    """What is typed rather than bound, for its help."""
    HAS_CHART: ClassVar[bool] = False

    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (WIDE, "-wide")]  # noqa: RUF012 - the framework's

    def expect_width(self, width: int) -> None:
        """Begin with the class of a screen so many columns wide: it need not be styled twice."""
        self.add_class("-wide" if width >= WIDE else "-narrow", update=False)

    def call_after_refresh(self, callback: Callable[..., Any], *args: Any, **named: Any) -> bool:
        """Call when the picture is drawn, unless the screen has been left by then."""

        def call() -> Any:
            return callback(*args, **named) if self in self.app.screen_stack else None

        return super().call_after_refresh(call)

    async def worked_out(self, ask: Callable[[], Answer], *, in_turn: bool = True) -> Answer:
        """Ask in a thread, in a worker of this screen, which ends if the screen has been left.

        Raises:
            Exception: whatever ``ask`` raised.

        """
        try:
            return await in_thread(ask, in_turn=in_turn)
        finally:
            if self not in self.app.screen_stack:
                raise asyncio.CancelledError

    def leave(self) -> None:
        """Go back a step, once: a second key may come before the screen is gone."""
        if self.app.screen is self:
            self.app.pop_screen()

    def action_help(self) -> None:
        """Show what the screen is for and its keys."""
        from knitlog.tui.modals.reading import HelpSheet

        own = all_bindings(self._bindings)
        keys = [*self.TYPED_KEYS, *key_lines([*own, *all_bindings(self.app._bindings)])]
        keys = [(key, self.in_her_words(words)) for key, words in keys]
        about = self.in_her_words(self.ABOUT)
        self.app.push_screen(HelpSheet(self.WORDS, about, keys, chart=self.HAS_CHART))

    def in_her_words(self, words: str) -> str:
        """Words as this project calls things."""
        return words


READING_KEYS: tuple[BindingType, ...] = (
    Binding("up", "move(-1)", "Up", show=False, tooltip="Scroll up."),
    Binding("down", "move(1)", "Down", show=False, tooltip="Scroll down."),
    Binding("pageup", "turn(-1)", "Page up", show=False, tooltip="A screenful up."),
    Binding("pagedown", "turn(1)", "Page down", show=False, tooltip="A screenful down."),
    Binding("escape", "leave", "Back", tooltip="Back to where you were."),
)
"""Keys of every screen that is read; each names its own first, then these."""


class ReadingScreen(KnitScreen):
    """A screen with one :class:`VerticalScroll` to be read."""

    lettered: bool = False
    """Whether she wants the pictures in letters."""

    def action_move(self, way: int) -> None:
        """Scroll a line."""
        self.query_one(VerticalScroll).scroll_relative(y=2 * way, animate=False)

    def action_turn(self, way: int) -> None:
        """Scroll a screenful."""
        place = self.query_one(VerticalScroll)
        place.scroll_relative(y=way * max(place.size.height - 2, 1), animate=False)

    def action_letters(self) -> None:
        """Pictures in letters, or as sharp as the terminal can."""
        from knitlog.tui.widgets.drawn import DrawnPart

        self.lettered = not self.lettered
        for drawn in self.query(DrawnPart):
            drawn.letter(self.lettered)

    def action_leave(self) -> None:
        """Go back."""
        self.leave()


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
        yield TextInPlace(self._title, id="title", markup=False)
        yield TextInPlace(self._facts, id="facts", markup=False)

    def show(self, title: str, facts: str) -> None:
        """Name the project and its facts."""
        self.query_one("#title", TextInPlace).update(title)
        self.query_one("#facts", TextInPlace).update(facts)
