"""The verdict's headline: a few words for what to do now.

The sentence comes from the workbench, the same for every screen and command;
only these few words, short enough for big letters, are chosen here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from knitlog.tui.fix_choices import choice_of
from knitlog.workbench import Tone

if TYPE_CHECKING:
    from knitlog.advice import Option
    from knitlog.workbench import Look

_BY_TONE = {
    Tone.WAITING: "knit on",
    Tone.IN_LINE: "in line",
    Tone.UNCLEAR: "not sure yet",
    Tone.WATCH: "keep watch",
    Tone.ACT: "time to fix",
    Tone.DONE: "finished",
}
_BY_REMEDY = {
    "carry on": "keep watch",
    "tapestry needle": "tapestry needle",
    "rip back": "rip back",
    "change needle": "change needle",
    "change stitch count": "change stitches",
    "knit more rounds first": "not sure yet",
}
_MOODS = {Tone.IN_LINE: "calm", Tone.UNCLEAR: "watch", Tone.WATCH: "watch", Tone.ACT: "act"}


def headlines(view: Look) -> tuple[str, ...]:
    """A few words for what to do now: the fullest first, for whichever there is room."""
    if view.tone is Tone.ACT and view.advice is not None:
        return _what_to_do(view.advice.recommended)
    if view.tone is Tone.WAITING and not view.state.entries:
        return ("begin",)
    return (_BY_TONE[view.tone],)


def _what_to_do(option: Option) -> tuple[str, ...]:
    words = [option.title]
    choice = choice_of(option)
    if choice is not None and choice.stitches is not None:
        words.append(f"to {choice.stitches} stitches")
    elif choice is not None and choice.needle_mm is not None:
        words.append(f"to {choice.needle_mm:g} mm needles")
    words.append(_BY_REMEDY.get(str(option.remedy), _BY_TONE[Tone.ACT]))
    return tuple(words)


def mood(view: Look) -> str:
    """Which colour goes with it: calm, watch, act or waiting."""
    return _MOODS.get(view.tone, "waiting")
