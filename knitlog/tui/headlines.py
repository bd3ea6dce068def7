"""The verdict's headline: a few words for what to do now.

The sentence comes from the analysis, the same for every screen and command;
only these few words, short enough for big letters, are chosen here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from knitlog.analysis.standing import Tone
from knitlog.report.advice_words import tell
from knitlog.report.words import plain
from knitlog.tui.fix_choices import RIP_BACK, choice_of

if TYPE_CHECKING:
    from knitlog.advice import Advice
    from knitlog.analysis.analysis import Analysis

_BY_TONE = {
    Tone.WAITING: "knit on",
    Tone.IN_LINE: "in line",
    Tone.UNCLEAR: "not sure yet",
    Tone.WATCH: "keep watch",
    Tone.ACT: "time to fix",
    Tone.DONE: "finished",
}
_BY_REMEDY = {
    "carry on": "carry on",
    "tapestry needle": "tapestry needle",
    "rip back": "rip back",
    "change needle": "change needle",
    "change tension": "mind the tension",
    "stack from here": "stack from here",
    "start again": "start again",
    "change stitch count": "change stitches",
    "knit more rounds first": "knit on first",
}
_WAIT_AND_SEE = ("carry on", "knit more rounds first")
_MOODS = {Tone.IN_LINE: "calm", Tone.UNCLEAR: "watch", Tone.WATCH: "watch", Tone.ACT: "act"}


def headlines(view: Analysis) -> tuple[str, ...]:
    """A few words for what to do now: the fullest first, for whichever there is room.

    What the advice says to do comes first; where it says to do nothing yet, how the
    colours stand.
    """
    advice = view.advice
    if advice is not None and advice.question is not None:
        return (tell(advice).question, "one question first")
    if advice is not None and (_something_to_do(view) or view.tone is Tone.ACT):
        return _what_to_do(advice)
    if view.tone is Tone.WAITING and not view.state.entries:
        return ("begin",)
    return (_BY_TONE[view.tone],)


def mood(view: Analysis) -> str:
    """Which colour goes with it: calm, watch, act or waiting."""
    if _something_to_do(view):
        return "act"
    mood = _MOODS.get(view.tone, "waiting")
    return "watch" if mood == "act" and view.advice is not None else mood


def _something_to_do(view: Analysis) -> bool:
    return view.advice is not None and str(view.advice.recommended.remedy) not in _WAIT_AND_SEE


def _what_to_do(advice: Advice) -> tuple[str, ...]:
    option, words = advice.recommended, [tell(advice).title]
    choice = choice_of(option, units=advice.situation.units)
    waiting, planned = option.details.get("wait_rounds"), option.details.get("planned_at_round")
    if option.remedy == "start again":
        pass
    elif waiting is not None:
        words.append(f"knit {waiting} more")
    elif planned is not None:
        words.append(f"knit to round {planned}")
    elif choice is None:
        pass
    elif choice.needle:
        words += [f"go to {choice.needle} needles", f"go to {choice.needle}"]
    elif choice.stitches is not None:
        words += [f"go to {choice.stitches} stitches", f"go to {choice.stitches}"]
    elif choice.tension_percent:
        hand = "looser" if choice.tension_percent > 0 else "tighter"
        words += [f"knit a shade {hand}", f"knit {hand}"]
    elif choice.how == RIP_BACK and choice.over_stitches is not None:
        words += [f"rip back {plain(choice.over_stitches)} stitches"]
        words += [f"rip back {plain(choice.over_stitches)}"]
    elif choice.taken_out is not None:
        words += [f"even out {plain(abs(choice.taken_out))} stitches"]
        words += [f"even out {plain(abs(choice.taken_out))}"]
    words.append(_BY_REMEDY.get(str(option.remedy), _BY_TONE[Tone.ACT]))
    return tuple(words)
