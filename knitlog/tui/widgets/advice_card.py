"""The advice card: what to do, in at most eight short lines.

What only the knitter can answer stands first, then the remedy and its steps, then why.  What
does not find room is marked and one key away, on ``w`` (why), so that the card can be followed
with the needles in hand.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll

from knitlog.drift.fit_result import Break
from knitlog.report.advice_words import tell
from knitlog.report.verdict_words import unexplained_words
from knitlog.tui.widgets.text_in_place import TextInPlace

if TYPE_CHECKING:
    from collections.abc import Iterator

    from knitlog.analysis.analysis import Analysis
    from knitlog.analysis.standing import Unexplained

MOST_LINES = 8
_KEYS = "w why · f done it"


class AdviceCard(VerticalScroll, can_focus=False):
    """What to do now."""

    DEFAULT_CSS = """
    AdviceCard {
        width: 40%; min-width: 33; max-width: 48; height: 1fr;
        border: round $line;
        border-title-color: $key;
        border-title-style: bold;
        border-subtitle-color: $key;
        padding: 0 1;
        scrollbar-size-vertical: 1;
        & #told { height: auto; }
    }
    """

    def __init__(self) -> None:
        super().__init__()
        self._parts: tuple[tuple[str, str], ...] = ()

    def compose(self) -> ComposeResult:
        """One text."""
        yield TextInPlace(id="told")

    def on_mount(self) -> None:
        """Name the card and its keys."""
        self.border_title = "What to do"
        self.border_subtitle = _KEYS

    def show(self, view: Analysis) -> None:
        """Show the advice of ``view``, and its questions and problems."""
        self._parts = tuple(_parts(view))
        self.border_subtitle = "" if view.state.finished else _KEYS
        self._draw()
        self.scroll_home(animate=False)

    def on_resize(self) -> None:
        """Break the lines anew."""
        self._draw()

    def notify_style_update(self) -> None:
        """Draw anew when the colours change."""
        super().notify_style_update()
        if self.is_mounted:
            self._draw()

    def _draw(self) -> None:
        colours = self.app.theme_variables
        width = max(self.scrollable_content_region.width - 2, 20)
        lines: list[Text] = []
        for look, words in self._parts:
            style = "bold" if look == "bold" else f"{colours[look]}"
            text = Text(words, "" if style.startswith("ansi") else style)
            lines += text.wrap(self.app.console, width)
        more = len(lines) > MOST_LINES
        if more:
            lines[MOST_LINES - 1 :] = [Text("... the rest: w", "italic")]
        # the room of a whole advice, always: nothing is laid out anew while one is worked out
        room = min(MOST_LINES, self.scrollable_content_region.height)
        lines += [Text()] * (room - len(lines))
        self.query_one("#told", TextInPlace).update(Text("\n").join(lines))


def _parts(view: Analysis) -> Iterator[tuple[str, str]]:
    """Each thing to be said, with how it is drawn, the most pressing first."""
    told = None if view.advice is None else tell(view.advice)
    if told is not None and told.question:
        first = None if view.advice is None else view.advice.question
        key = (
            " d logs the answer."
            if first is not None and first.round and first.kind != "repeat"
            else ""
        )
        yield "watch", f"? {told.question}{key}"
    for question in view.asides:
        asked = unexplained_words(question.about, flat=view.state.facts.flat)
        yield "watch", f"? {asked}{_key_for(question)}"
    for problem in view.problems:
        yield "watch", f"! {problem}"
    if told is None:
        yield "ink", _waiting(view)
        return
    yield "bold", told.title
    for step in numbered(told.steps).plain.splitlines():
        yield "ink", step
    yield "faint", " ".join(filter(None, (told.changed, told.why)))


def _key_for(question: Unexplained) -> str:
    if not question.round:
        return ""
    return " d logs the change." if isinstance(question.about, Break) else " d logs it again."


def numbered(steps: tuple[str, ...]) -> Text:
    """Steps with their numbers, a line each."""
    if len(steps) == 1:
        return Text(steps[0])
    return Text("\n").join(Text(f"{number} {step}") for number, step in enumerate(steps, start=1))


def _waiting(view: Analysis) -> str:
    if view.state.finished:
        return "The project is off the needles: Ctrl+R looks back on it."
    if view.state.entries:
        return "" if view.problems else "Working it out."
    return (
        "When the colour changes in this round, count the stitches knitted so far in the "
        "round, type that number and press Enter."
    )
