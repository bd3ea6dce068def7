"""How to work a remedy, step by step, as one knitter tells another.

Increases and decreases are spread round one round the common way: the round is cut into
as many parts as there are stitches to add or take away.  What a fix does to a stitch is
sum and division: x stitches of yarn over m stitches is x/m of a stitch each.
"""

from dataclasses import dataclass

from knitlog.advice.fixes import FixWay
from knitlog.advice.limits import USUAL_STITCHES_PER_CM
from knitlog.advice.remedy import Remedy
from knitlog.advice.situation import Number, Situation
from knitlog.advice.workings import Working
from knitlog.yarn.needles import needle_label

_HALF = 0.5


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
    """Return how to spread ``change`` stitches (+ added, - taken away) over a round.

    An increase is made between stitches; a decrease knits two together.

    >>> spacing(128, 3)
    Spacing(times=3, plain=42, left=2)
    >>> spacing(128, -3)
    Spacing(times=3, plain=40, left=2)
    """
    times = abs(change)
    part = stitches // times
    plain = part if change > 0 else max(part - 2, 0)
    used = plain if change > 0 else plain + 2
    return Spacing(times, plain, stitches - times * used)


def one_round(situation: Situation) -> str:
    """Return what the knitter calls one turn of the work."""
    return "row" if situation.fit.log.flat else "round"


def counted(number: float, word: str) -> str:
    """Return a count with its noun: "1 stitch", "2.5 stitches"."""
    text = f"{number:g}"
    if number == 1:
        return f"{text} {word}"
    return f"{text} {word}{'es' if word.endswith('ch') else 's'}"


def length(mm: float) -> str:
    """Return a length as read off a tape measure."""
    return f"{mm:.0f} mm" if mm < 100 else f"{mm / 10:.0f} cm"


def yarn_per_stitch_mm(situation: Situation) -> float | None:
    """Return yarn per stitch, mm: as fitted, or None where the repeat's length is not known."""
    fitted = situation.fit.yarn_per_stitch_mm
    return None if fitted is None else fitted.mean


def fix_details(situation: Situation, way: FixWay, taken_out: float) -> dict[str, Number]:
    """Return the numbers of taking offset out."""
    over = min(way.stitches_handled(taken_out), situation.stitches)
    per_cm = situation.gauge.stitches_per_cm if situation.gauge else USUAL_STITCHES_PER_CM
    # each of m stitches gives or takes x/m of its yarn
    share = 100 * abs(taken_out) / over
    details: dict[str, Number] = {
        "fix_by": str(way.remedy),
        "taken_out_stitches": taken_out,
        "over_stitches": over,
        "over_mm": round(10 * over / per_cm, 1),
        "share_of_stitch_percent": round(share, 1),
        "tension": "looser" if taken_out > 0 else "tighter",
        "fix_minutes": round(way.start_minutes + way.minutes_per_stitch * over, 1),
    }
    per_stitch = yarn_per_stitch_mm(situation)
    if per_stitch is not None:
        details["yarn_mm"] = round(abs(taken_out) * per_stitch, 1)
    return details


def fix_steps(situation: Situation, details: dict[str, Number]) -> list[str]:
    """Return how to take offset out, from :func:`fix_details`."""
    taken, over = float(details["taken_out_stitches"]), int(details["over_stitches"])
    stretch = length(float(details["over_mm"]))
    yarn = f", {length(float(details['yarn_mm']))} of yarn" if "yarn_mm" in details else ""
    amount = f"{counted(abs(taken), 'stitch')} worth{yarn}"
    share = f"{float(details['share_of_stitch_percent']):.0f} %"
    if details["fix_by"] == Remedy.RIP_BACK:
        return [
            f"Rip back {counted(over, 'stitch')} and knit them again {share} "
            f"{details['tension']}, to {'use up' if taken > 0 else 'save'} {amount}."
        ]
    if taken > 0:
        return [
            f"With a tapestry needle, work {amount} from the working yarn back into the last "
            f"{counted(over, 'stitch')} ({stretch}), evenly: each grows by {share}."
        ]
    return [
        f"With a tapestry needle, draw {amount} out of the last {counted(over, 'stitch')} "
        f"({stretch}) towards the working yarn, evenly: each shrinks by {share}."
    ]


def change_details(situation: Situation, then: Working) -> dict[str, Number]:
    """Return the numbers of going over to another way of working."""
    target = situation.fit.log.target_drift
    # the totals are what the next rounds will show, the target's own drift included
    drift, spread = then.drift(target) + target, then.turn.sd
    details: dict[str, Number] = {
        "predicted_drift": round(drift, 2),
        "predicted_drift_low95": round(drift - 1.96 * spread, 2),
        "predicted_drift_high95": round(drift + 1.96 * spread, 2),
    }
    if then.needle_mm is not None and then.needle_mm != situation.needle_mm:
        details["needle_mm"] = then.needle_mm
        details["needle_label"] = needle_label(then.needle_mm)
    added = then.stitches - situation.stitches
    if added:
        details["stitches"] = then.stitches
        details["stitches_added"] = added
        details["every_stitches"] = situation.stitches // abs(added)
        per_cm = situation.gauge.stitches_per_cm if situation.gauge else None
        if per_cm:
            details["width_added_mm"] = round(10 * added / per_cm, 1)
    return details


def change_steps(situation: Situation, then: Working) -> list[str]:
    """Return how to go over to another way of working."""
    steps = []
    turn = one_round(situation)
    if then.needle_mm is not None and then.needle_mm != situation.needle_mm:
        steps.append(
            f"Knit the next {turn} onto {needle_label(then.needle_mm)}, and go on with it."
        )
    added = then.stitches - situation.stitches
    if added:
        steps.append(_count_step(situation, added))
        steps.append(_pattern_step(situation, then))
    return steps


def _count_step(situation: Situation, added: int) -> str:
    place = spacing(situation.stitches, added)
    each = "make one" if added > 0 else "knit two together"
    verb = "add" if added > 0 else "take away"
    turn = one_round(situation)
    head = f"In the next {turn} {verb} {counted(abs(added), 'stitch')}, spread evenly"
    knit = f"knit {place.plain}, " if place.plain else ""
    times = "once" if place.times == 1 else f"{place.times} times"
    tail = f", then knit the last {place.left}" if place.left else ""
    return f"{head}: {knit}{each}, {times}{tail}."


def _pattern_step(situation: Situation, then: Working) -> str:
    added = then.stitches - situation.stitches
    multiple = situation.multiple
    if multiple > 1:
        groups = abs(added) // multiple
        word = "repeat" if groups == 1 else "repeats"
        pattern = (
            f"The stitch pattern gains {groups} {word} of {multiple}"
            if added > 0
            else f"The stitch pattern loses {groups} {word} of {multiple}"
        )
        pattern += ": set it up anew in the round after"
    else:
        pattern = f"Plain knitting takes {then.stitches} stitches as well as any"
    width = 100 * added / situation.stitches
    inches = ""
    if situation.gauge is not None:
        inches = f", about {length(abs(10 * added / situation.gauge.stitches_per_cm))}"
    return (
        f"{pattern}; the work grows {abs(width):.1f} % {'wider' if added > 0 else 'narrower'}"
        f"{inches}. Keep the {'increases' if added > 0 else 'decreases'} a few stitches "
        "away from the colour change, so that it stays easy to read."
    )
