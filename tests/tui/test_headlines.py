"""The headline says what to do; the choices of the fix sheet carry its numbers."""

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from knitlog.advice import Option
from knitlog.analysis.standing import Tone
from knitlog.tui.fix_choices import FixChoice, choice_of, fix_choices
from knitlog.tui.headlines import headlines, mood

from .conftest import EASED, advice_of, option

EASE = option("tapestry needle", details={**EASED, "taken_out_stitches": -6.5, "over_stitches": 20})
RIP = option(
    "rip back",
    details={**EASED, "fix_by": "rip back", "taken_out_stitches": 2.0, "over_stitches": 20},
)
NEEDLE = option("change needle", details={"needle_mm": 3.75})
BOTH = option(
    "change stitch count",
    details={**EASED, "stitches": 132, "taken_out_stitches": 7.0, "over_stitches": 21},
)
WAIT = option("knit more rounds first", details={"wait_rounds": 2, "decide_at_round": 10})
CARRY_ON = option("carry on")


def view(recommended: Option | None, tone: Tone, entries: bool = True) -> Any:
    advice = None
    if recommended is not None:
        advice = advice_of(recommended, EASE)
    state = SimpleNamespace(entries=(1,) if entries else ())
    fit = SimpleNamespace(offset_now=8.3)
    return SimpleNamespace(advice=advice, tone=tone, state=state, fit=fit)


@pytest.mark.parametrize(
    ("recommended", "tone", "expected", "colour"),
    [
        (BOTH, Tone.ACT, "go to 132 stitches", "act"),
        (NEEDLE, Tone.WATCH, "go to 3.75 mm needles", "act"),
        (EASE, Tone.WATCH, "even out 6.5", "act"),
        (RIP, Tone.IN_LINE, "rip back 20", "act"),
        (WAIT, Tone.ACT, "knit 2 more", "watch"),
        (CARRY_ON, Tone.ACT, "Carry on", "watch"),
        (CARRY_ON, Tone.IN_LINE, "in line", "calm"),
        (WAIT, Tone.UNCLEAR, "not sure yet", "watch"),
        (CARRY_ON, Tone.WATCH, "keep watch", "watch"),
        (None, Tone.ACT, "time to fix", "act"),
        (None, Tone.WAITING, "knit on", "waiting"),
        (None, Tone.DONE, "finished", "waiting"),
    ],
)
def test_the_headline_is_what_to_do_or_else_how_it_stands(recommended, tone, expected, colour):
    look = view(recommended, tone)
    assert expected in headlines(look)
    assert mood(look) == colour


def test_before_the_first_round_it_says_begin():
    assert headlines(view(None, Tone.WAITING, entries=False)) == ("begin",)


def test_the_fullest_words_come_first():
    words = headlines(view(EASE, Tone.ACT))
    whole = "Even out 6.5 stitches with a tapestry needle"
    assert words == (whole, "even out 6.5 stitches", "even out 6.5", "tapestry needle")


def test_a_choice_carries_the_numbers_of_the_advice():
    assert choice_of(BOTH) == FixChoice(
        "change stitch count", "tapestry needle", taken_out=7.0, over_stitches=21.0, stitches=132
    )
    assert choice_of(RIP) == FixChoice("rip back", "rip back", taken_out=2.0, over_stitches=20.0)
    assert choice_of(NEEDLE) == FixChoice("change needle", "tapestry needle", needle="3.75 mm")
    assert choice_of(CARRY_ON) is None
    assert choice_of(WAIT) is None


def test_the_recommended_choice_comes_first_and_one_by_hand_last():
    choices = fix_choices(view(NEEDLE, Tone.ACT))
    assert [choice.words for choice in choices] == [
        "Change to 3.75 mm needles",
        "Even out 6.5 stitches with a tapestry needle",
        "Something else: fill it in below",
    ]
    assert choices[-1].taken_out == 8.5  # the offset of 8.3, to half a stitch


def test_without_a_look_there_is_still_one_to_fill_in():
    assert len(fix_choices(None)) == 1


def test_what_cannot_be_done_here_is_not_offered():
    refused = replace(EASE, feasible=False)
    look = view(NEEDLE, Tone.ACT)
    look.advice = replace(look.advice, options=(NEEDLE, refused))
    assert [choice.words for choice in fix_choices(look)][:-1] == ["Change to 3.75 mm needles"]
