"""How to work a remedy, step by step, as one knitter tells another.

Increases and decreases are spread round one round the common way: the round is cut into
as many parts as there are stitches to add or take away.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from knitlog.advice.remedy import Manner, Remedy
from knitlog.report.words import counted, plain
from knitlog.yarn.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from knitlog.advice import Advice, Option, Situation
    from knitlog.typed.measures import Units

_SHADE_PERCENT = 1.5
"""Up to here an asked tension is called a shade."""


@dataclass(frozen=True, slots=True)
class Spacing:
    """Where to work increases or decreases, evenly round one round."""

    times: int
    """How many."""
    plain: int
    """Stitches knitted plainly before each."""
    left: int
    """Stitches knitted plainly after the last."""


def spacing(stitches: int, change: int) -> Spacing:
    """Spread ``change`` stitches (+ added, - taken away) over a round.

    An increase is made between stitches; a decrease knits two together.

    >>> spacing(128, 3)
    Spacing(times=3, plain=42, left=2)
    >>> spacing(128, -3)
    Spacing(times=3, plain=40, left=2)
    """
    times = abs(change)
    part = stitches // times
    plainly = part if change > 0 else max(part - 2, 0)
    used = plainly if change > 0 else plainly + 2
    return Spacing(times, plainly, stitches - times * used)


def round_word(situation: Situation) -> str:
    """What she calls one turn of the work."""
    return "row" if situation.fit.log.flat else "round"


def stitches_words(number: float) -> str:
    """A number of stitches: "1 stitch", "2.5 stitches"."""
    return f"{plain(number)} stitch{'' if number == 1 else 'es'}"


def length(mm: float, units: Units) -> str:
    """A length as read off her tape measure: quarter inches, millimetres, centimetres."""
    if units.lengths == "imperial":
        return f"{max(round(4 * mm / MM_PER_INCH), 1) / 4:g} in"
    return f"{mm:.0f} mm" if mm < 100 else f"{mm / 10:.0f} cm"


def shade(percent: float, asked: float = 0.0) -> str:
    """What is asked of the hand, against what was asked before: "a shade looser".

    >>> shade(1.0), shade(-2.5), shade(1.0, 3.0), shade(2.0, 2.0), shade(0.0, 2.0)
    ('a shade looser', 'a little tighter', 'less loose than now', 'as loose as now', 'as usual')
    """
    if percent == 0:
        return "as usual"
    way = "looser" if percent > 0 else "tighter"
    if asked * percent > 0:
        positive = way.removesuffix("r").removesuffix("e") if way == "looser" else "tight"
        positive = "loose" if way == "looser" else positive
        if percent == asked:
            return f"as {positive} as now"
        return f"{way} still" if abs(percent) > abs(asked) else f"less {positive} than now"
    return f"{'a shade' if abs(percent) <= _SHADE_PERCENT else 'a little'} {way}"


def steps(advice: Advice, option: Option) -> tuple[str, ...]:
    """How to do one option, in order; empty where it cannot be done."""
    if not option.feasible:
        return ()
    situation, details = advice.situation, _any(option.details)
    said = []
    if option.remedy is Remedy.KNIT_MORE_FIRST:
        said.append(
            f"Knit on as you do and log where the colours fall, to {round_word(situation)} "
            f"{details['decide_at_round']}."
        )
        return tuple(said)
    if option.remedy is Remedy.START_AGAIN:
        return tuple(_start_again(situation, details))
    if "taken_out_stitches" in details:
        said += _fix(details, situation.units)
    said += _change(situation, details)
    said += _place(situation, details)
    said += _hand(advice, option)
    if option.remedy is Remedy.CARRY_ON:
        said.insert(0, "Knit on as you do.")
    return tuple(said)


def _any(details: Mapping[str, Any]) -> Mapping[str, Any]:
    """Details whose kinds are known by their names."""
    return details


def _start_again(situation: Situation, details: Mapping[str, Any]) -> Iterator[str]:
    needle = ""
    if "needle_mm" in details:
        needle = f" on {situation.units.needle(details['needle_mm'])}"
    yield (
        f"Rip out the {counted(details['rounds_again'], round_word(situation))} and cast on "
        f"{stitches_words(details['stitches'])}{needle}; keep the log of these, as a new project "
        "begins with what it learned."
    )


def _fix(details: Mapping[str, Any], units: Units) -> Iterator[str]:
    taken, over = details["taken_out_stitches"], details["over_stitches"]
    yarn = f", {length(details['yarn_mm'], units)} of yarn" if "yarn_mm" in details else ""
    amount = f"{stitches_words(abs(taken))} worth{yarn}"
    stretch = f"the last {stitches_words(over)} ({length(details['over_mm'], units)})"
    share = details["share_of_stitch_percent"]
    if details["fix_by"] == Remedy.RIP_BACK:
        yield (
            f"Rip back {stitches_words(over)} and knit them again {share:.0f} % "
            f"{details['tension']}, to {'use up' if taken > 0 else 'save'} {amount}."
        )
        return
    if taken > 0:
        done = f"work {amount} from the working yarn back into {stretch}"
    else:
        done = f"draw {amount} out of {stretch} towards the working yarn"
    yield (
        f"With a tapestry needle, {done}, evenly: each {'grows' if taken > 0 else 'shrinks'} by "
        f"{_part_of_a_stitch(share)}, which hardly shows; a third would."
    )


def _part_of_a_stitch(percent: float) -> str:
    return {20: "a fifth", 10: "a tenth", 25: "a quarter"}.get(round(percent), f"{percent:.0f} %")


def _change(situation: Situation, details: Mapping[str, Any]) -> Iterator[str]:
    turn = round_word(situation)
    if "needle_mm" in details:
        needle = situation.units.needle(details["needle_mm"])
        yield f"Knit the next {turn} onto {needle}, and go on with it."
    added = details.get("stitches_added")
    if added:
        yield _count(situation, added)
        yield _pattern(situation, details["stitches"], added)


def _count(situation: Situation, added: int) -> str:
    place, turn = spacing(situation.stitches, added), round_word(situation)
    each = "make one" if added > 0 else "knit two together"
    verb = "add" if added > 0 else "take away"
    knit = f"knit {place.plain}, " if place.plain else ""
    times = "once" if place.times == 1 else f"{place.times} times"
    tail = f", then knit the last {place.left}" if place.left else ""
    return (
        f"In the next {turn} {verb} {stitches_words(abs(added))}, spread evenly: "
        f"{knit}{each}, {times}{tail}."
    )


def _pattern(situation: Situation, stitches: int, added: int) -> str:
    multiple = situation.multiple
    if multiple > 1:
        groups = counted(abs(added) // multiple, "repeat")
        pattern = (
            f"The stitch pattern {'gains' if added > 0 else 'loses'} {groups} of {multiple}: "
            f"set it up anew in the {round_word(situation)} after"
        )
    else:
        pattern = f"Plain knitting takes {stitches} stitches as well as any"
    by = ""
    if situation.gauge is not None:
        mm = abs(10 * added / situation.gauge.stitches_per_cm)
        by = f", about {length(mm, situation.units)}"
    width = abs(100 * added / situation.stitches)
    return (
        f"{pattern}; the work grows {plain(width)} % {'wider' if added > 0 else 'narrower'}"
        f"{by}. Keep the {'increases' if added > 0 else 'decreases'} a few stitches "
        "away from the colour change, so that it stays easy to read."
    )


def _place(situation: Situation, details: Mapping[str, Any]) -> Iterator[str]:
    if details.get("new_home"):
        yield (
            f"Call it their place where the colour change falls in the next "
            f"{round_word(situation)}, about stitch {plain(details['new_home_stitch'])}, and log "
            "that the place is taken anew."
        )


def _hand(advice: Advice, option: Option) -> Iterator[str]:
    """What is asked of the hand, by a mark she can see."""
    situation, details = advice.situation, _any(option.details)
    turn, asked = round_word(situation), situation.fit.tension_asked_percent
    percent = details.get("tension_percent")
    if option.remedy is Remedy.CHANGE_TENSION and percent == 0:
        yield f"Knit at your usual tension again from the next {turn} on."
        return
    if percent:
        much = f"about {plain(abs(percent))} in a hundred {'more' if percent > 0 else 'less'} yarn"
        yield f"From the next {turn} on knit {shade(percent, asked)}: {much} than usual."
        if not details.get("new_home"):
            yield (
                f"You cannot feel that, but you can see it: let the next colour change fall at "
                f"stitch {plain(details['aim_stitch'])}. Each {turn} has its own mark."
            )
    elif asked and percent == 0:
        yield f"Knit at your usual tension again from the next {turn} on."
    elif details["manner"] == Manner.MIND_TENSION and option.remedy is Remedy.CARRY_ON:
        yield "Should they stray, a shade looser or tighter is the first means."
    counts = option.plan is not None and option.plan.then_count
    if counts and option.remedy is not Remedy.CARRY_ON:
        yield f"If a slide is left after some three {turn}s, the stitch count takes it up."
    if details["manner"] == Manner.EVEN_OUT:
        most = stitches_words(situation.tolerance)
        yield f"Whenever they stray more than {most}, ease them back."
