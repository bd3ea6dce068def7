"""The advice card: what to do, step by step, and when to look again.

The reasons, the other remedies and the numbers are on ``w`` (why), so that the
card can be followed with the needles in hand.  Questions only the knitter can
answer (a likely miscount, a change nobody logged) stand on it too.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

if TYPE_CHECKING:
    from knitlog.advice import Advice
    from knitlog.workbench import Look


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
        & #option { text-style: bold; }
        & #why, & #others { color: $faint; }
        & #questions { color: $watch; }
        & .-apart { margin: 1 0 0 0; }
    }
    """

    def compose(self) -> ComposeResult:
        """The remedy, its steps, the reason, and what to ask."""
        yield Static(id="option", markup=False)
        yield Static(id="steps", markup=False)
        yield Static(id="why", markup=False)
        yield Static(id="questions", markup=False)
        yield Static(id="others", markup=False)

    def on_mount(self) -> None:
        """Name the card and its key."""
        self.border_title = "What to do"
        self.border_subtitle = "w why · f done it"

    def show(self, view: Look) -> None:
        """Show the advice of ``view``, and its questions and problems."""
        advice = view.advice
        self._put("option", "" if advice is None else advice.recommended.title)
        steps = () if advice is None else advice.steps
        self._put("steps", numbered(steps))
        if advice is None:
            self._put("why", _waiting(view))
        else:
            self._put("why", " ".join(filter(None, (advice.changed, advice.why))))
        asked = [
            f"? {question.sentence}" + (" d logs it again." if question.round else "")
            for question in view.questions
        ]
        asked += [f"! {problem}" for problem in view.problems]
        self._put("questions", "\n".join(asked))
        self._put("others", "" if advice is None else _others(advice))
        self.scroll_home(animate=False)

    def _put(self, part: str, content: str | Text) -> None:
        found = self.query_one(f"#{part}", Static)
        found.update(content)
        found.display = bool(content)
        found.set_class(part in ("questions", "others"), "-apart")


def numbered(steps: tuple[str, ...]) -> Text:
    """Steps with their numbers, a line each."""
    if len(steps) == 1:
        return Text(steps[0])
    return Text("\n").join(Text(f"{number} {step}") for number, step in enumerate(steps, start=1))


def _waiting(view: Look) -> str:
    if view.state.finished:
        return "The project is off the needles."
    if view.state.entries:
        return "" if view.problems else "Working it out."
    return (
        "When the colour changes in this round, count the stitches knitted so far in the "
        "round, type that number and press Enter."
    )


def _others(advice: Advice) -> str:
    lines = [
        f"{option.title}: {option.share_in_tolerance:.0%} in line, {option.minutes:.0f} min"
        for option in advice.options
        if option.feasible and option != advice.recommended
    ]
    return "\n".join(["Or:", *lines]) if lines else ""
