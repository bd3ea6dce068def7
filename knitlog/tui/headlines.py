"""The verdict's headline: two or three words for what to do now.

The sentence comes from the workbench, the same for every screen and command;
only these few words, short enough for big letters, are chosen here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from knitlog.workbench import Tone

if TYPE_CHECKING:
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


def headline(view: Look) -> str:
    """Two or three words for what to do now."""
    if view.tone is Tone.ACT and view.advice is not None:
        remedy = str(view.advice.recommended.remedy)
        return _BY_REMEDY.get(remedy, _BY_TONE[Tone.ACT])
    if view.tone is Tone.WAITING and not view.state.entries:
        return "begin"
    return _BY_TONE[view.tone]


def mood(view: Look) -> str:
    """Which colour goes with it: calm, watch, act or waiting."""
    return _MOODS.get(view.tone, "waiting")
