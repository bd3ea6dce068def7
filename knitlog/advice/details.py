"""The numbers of an option: what to do, over how much, and what it should make of the slide."""

from math import hypot

import numpy as np

from knitlog.advice.belief import Belief
from knitlog.advice.fixes import FixWay
from knitlog.advice.limits import USUAL_STITCHES_PER_CM
from knitlog.advice.plans import Plan
from knitlog.advice.remedy import Manner, Remedy
from knitlog.advice.result import Number
from knitlog.advice.situation import Situation
from knitlog.advice.ways import Way
from knitlog.yarn.geometry import from_knitting_order, wrap
from knitlog.yarn.needle_sizes import needle_label


def details_of(
    situation: Situation,
    belief: Belief,
    plan: Plan,
    fixes: tuple[FixWay, FixWay],
    asked: float,
    expected: float,
) -> dict[str, Number]:
    """Return the numbers of one plan, units in their names.

    ``asked``: the tension asked in the coming round, %; ``expected``: where its change should
    then fall, stitches in knitting order, counted on over the end of the round.
    """
    details: dict[str, Number] = {"manner": str(plan.manner)}
    if plan.wait:
        details["wait_rounds"] = plan.wait
        details["decide_at_round"] = situation.fit.last_round + plan.wait
        return details
    if plan.way is not None:
        details.update(_change(situation, plan.way))
    details.update(_drift_after(situation, belief, plan, asked))
    if plan.taken_out:
        way = next(way for way in fixes if way.remedy is plan.remedy)
        details.update(fix_details(situation, way, plan.taken_out))
    if plan.remedy is Remedy.START_AGAIN:
        details["stitches"] = plan.way.stitches if plan.way else situation.stitches
        needle = plan.way.needle_mm if plan.way else situation.needle_mm
        if needle is not None:
            details["needle_mm"] = needle
        details["rounds_again"] = situation.fit.last_round
        return details
    minded = plan.manner is Manner.MIND_TENSION and asked
    if plan.remedy is Remedy.CHANGE_TENSION or minded or asked != belief.asked:
        details["tension_percent"] = asked
    if plan.new_home:
        details["new_home"] = True
        details["new_home_stitch"] = _seen(situation, plan, expected)
    if plan.manner is Manner.MIND_TENSION and (asked or belief.asked):
        details["aim_stitch"] = _seen(situation, plan, expected)
    return details


def _seen(situation: Situation, plan: Plan, at: float) -> float:
    """Return a place in the coming round as she counts it: nobody aims at half a stitch."""
    stitches = plan.way.stitches if plan.way else situation.stitches
    seen = wrap(float(np.round(at)), stitches)
    coming = situation.fit.last_round + 1
    return from_knitting_order(coming, seen, stitches) if situation.fit.log.flat else seen


def fix_details(situation: Situation, way: FixWay, taken_out: float) -> dict[str, Number]:
    """Return the numbers of taking offset out."""
    over = min(way.stitches_handled(taken_out), situation.stitches)
    per_cm = situation.gauge.stitches_per_cm if situation.gauge else USUAL_STITCHES_PER_CM
    # each of m stitches gives or takes x/m of its yarn
    details: dict[str, Number] = {
        "fix_by": str(way.remedy),
        "taken_out_stitches": taken_out,
        "over_stitches": over,
        "over_mm": round(10 * over / per_cm, 1),
        "share_of_stitch_percent": round(100 * abs(taken_out) / over, 1),
        "tension": "looser" if taken_out > 0 else "tighter",
        "fix_minutes": round(way.start_minutes + way.minutes_per_stitch * over, 1),
    }
    yarn = situation.fit.yarn_per_stitch_mm
    if yarn is not None:
        details["yarn_mm"] = round(abs(taken_out) * yarn.mean, 1)
    return details


def _change(situation: Situation, way: Way) -> dict[str, Number]:
    """Return the numbers of another needle or count."""
    details: dict[str, Number] = {}
    if way.needle_mm is not None and way.needle_mm != situation.needle_mm:
        details["needle_mm"] = way.needle_mm
        details["needle_label"] = needle_label(way.needle_mm)
    added = way.stitches - situation.stitches
    if added:
        details["stitches"] = way.stitches
        details["stitches_added"] = added
        details["every_stitches"] = situation.stitches // abs(added)
        if situation.gauge:
            details["width_added_mm"] = round(10 * added / situation.gauge.stitches_per_cm, 1)
    return details


def _drift_after(
    situation: Situation, belief: Belief, plan: Plan, asked: float
) -> dict[str, Number]:
    """Return the drift the coming rounds should show, the target's own included."""
    turn = plan.way.turn if plan.way else belief.now
    stitches = plan.way.stitches if plan.way else situation.stitches
    if plan.remedy is Remedy.CARRY_ON:
        now = situation.fit.drift
        return {
            "predicted_drift": now.mean,
            "predicted_drift_low95": now.low95,
            "predicted_drift_high95": now.high95,
        }
    answered = float(belief.response.mean()) * asked / 100
    drift = turn.mean / (1 + answered) - stitches
    spread = hypot(turn.sd, turn.mean * float(belief.response.std()) * asked / 100)
    return {
        "predicted_drift": round(drift, 2),
        "predicted_drift_low95": round(drift - 1.96 * spread, 2),
        "predicted_drift_high95": round(drift + 1.96 * spread, 2),
    }
