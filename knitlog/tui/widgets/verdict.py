"""The verdict: a headline in big letters, and under it the sentence that says it all.

Why both: the knitter looks up for two seconds and needs the one word; the
sentence gives the numbers, and is what a screen reader reads and what can be
copied.  The tone is told by the headline's words first, by its colour second.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content

from knitlog.tui.big_type import set_big
from knitlog.tui.widgets.text_in_place import TextInPlace

if TYPE_CHECKING:
    from textual import events

_MIN_SCREEN_HEIGHT = 22
_PADDING = 2
_MOODS = ("calm", "watch", "act")


class Verdict(Vertical):
    """Headline and sentence."""

    DEFAULT_CSS = """
    Verdict {
        height: auto;
        padding: 0 1;
        text-style: bold;
        & #headline { text-wrap: nowrap; }
        & #sentence { max-height: 4; }
    }
    """

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._headlines: tuple[str, ...] = ("",)
        self._tone = ""

    def compose(self) -> ComposeResult:
        """Headline over sentence."""
        # as high as it will be: the chart below it is then drawn once
        yield TextInPlace(self._headline(self.app.size.width), id="headline", markup=False)
        yield TextInPlace(id="sentence", markup=False)

    def show(self, headlines: tuple[str, ...], sentence: str, mood: str) -> None:
        """Say it: the first of ``headlines`` that fits in big letters, or the last in bold.

        ``mood`` is one of calm, watch, act, or anything else for neither.
        """
        self._headlines, self._tone = headlines, f"${mood}" if mood in _MOODS else ""
        self._set_headline()
        self.query_one("#sentence", TextInPlace).update(sentence)

    def on_resize(self, event: events.Resize) -> None:
        """Use big letters where there is room for them."""
        self._set_headline()

    def _set_headline(self) -> None:
        self.query_one("#headline", TextInPlace).update(self._headline(self.size.width))

    def _headline(self, width: int) -> Content:
        text = self._headlines[-1].upper()
        if self.app.size.height >= _MIN_SCREEN_HEIGHT:
            for words in self._headlines:
                big = set_big(words)
                if big is not None and len(big[0]) <= width - _PADDING:
                    text = "\n".join(big)
                    break
        return Content.styled(text, self._tone)
