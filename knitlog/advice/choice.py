"""The decision: every first step priced, the best of each remedy kept."""

from dataclasses import dataclass, replace

import numpy as np

from knitlog.advice.belief import Belief, believe, settled_offset_sd
from knitlog.advice.fixes import FixWay, fix_ways
from knitlog.advice.pricing import NOTHING, FirstStep, Later, Pricing
from knitlog.advice.rest import FloatArray, Scene, rest_of_project
from knitlog.advice.situation import Situation
from knitlog.advice.truths import Truths, truths
from knitlog.advice.turns import told_by_others
from knitlog.advice.workings import Working, Workings, change_minutes, change_price, workings
from knitlog.drift.result import Draws
from knitlog.yarn.geometry import wrap

DRAWS = 160
"""Draws of the fit that stand for what is not known."""
_PROMISING = 3
"""Changes priced in full whatever they are, the cheapest at a first glance."""
SMALLEST_FIX = 1.0
"""Less than this is not worth a fix, stitches: the readings are no finer."""


@dataclass(frozen=True, slots=True)
class Decision:
    """All that was priced."""

    belief: Belief
    draws: Draws
    workings: Workings
    truths: Truths
    pricing: Pricing
    change_work: FloatArray
    """Work of going from one way of working to another, minutes, shape (C, C)."""
    fix_ways: tuple[FixWay, ...]
    target: float
    """Wanted drift, stitches/round."""
    repeats: float
    """Colour repeats a round."""
    carry_on_cost: float
    """Minutes to the end if the way of working never changes and offset is mended when due."""
    priced: tuple[tuple[FirstStep, Later], ...]
    """First steps priced in full, cheapest first; "nothing" is always among them."""

    @property
    def best(self) -> FirstStep:
        """Return the cheapest first step."""
        return self.priced[0][0]


def home_share(situation: Situation) -> float:
    """Return how far into the round the logged colour changes lie, on average, 0 to 1."""
    log = situation.fit.log
    first: dict[int, float] = {}
    for reading in sorted(log.readings, key=lambda r: r.round):
        first.setdefault(reading.change, reading.stitch)
    places = [log.homes.get(change, stitch) for change, stitch in first.items()]
    stitches = log.stints[0].stitches
    if log.flat or not places:
        return 0.5
    return float(np.mean([wrap(place, stitches) / stitches for place in places]))


def believed(situation: Situation, draws: Draws) -> Belief:
    """Return what is known now, an earlier use of the same needle counted in."""
    fit = situation.fit
    changes = len({reading.change for reading in fit.log.readings})
    belief = believe(
        draws,
        target_drift=fit.log.target_drift,
        stitches=situation.stitches,
        repeats=situation.repeats,
        colour_changes=changes,
    )
    if situation.needle_mm is None:
        return belief
    return told_by_others(fit, belief, situation.stitches, situation.needle_mm)


def decide(situation: Situation, *, seed: int = 0) -> Decision:
    """Price every first step open to the knitter."""
    draws = situation.fit.draws(DRAWS, seed)
    belief = believed(situation, draws)
    found = workings(situation, belief)
    target = situation.fit.log.target_drift
    true = truths(belief, found.open, target)
    over = situation.limits.tapestry_stitches(situation.gauge)
    ways = fix_ways(situation.stitches, over, situation.costs, situation.limits)
    share = home_share(situation)
    work, price = (
        np.array([[minutes(a, b, situation.costs) for b in found.open] for a in found.open])
        for minutes in (change_minutes, change_price)
    )
    to_unknown = np.array(
        [[b.unknown and b.needle_mm != a.needle_mm for b in found.open] for a in found.open]
    )
    scene = Scene(
        drift=true.drift,
        change_price=price,
        later_price=np.where(to_unknown, np.inf, price),
        home_share=share,
        tolerance=situation.tolerance,
        tension_sd=belief.tension_sd,
        # where the colours belong may itself be known no better than it was read
        offset_sd=max(settled_offset_sd(belief.tension_sd, belief.reading_sd), belief.offset_sd),
        ways=ways,
        round_out_minutes=situation.costs.round_out_of_tolerance_minutes,
        limits=situation.limits,
        offset_now=belief.offset,
    )
    pricing = Pricing(rest_of_project(scene, situation.rounds_left), true, situation.rounds_left)
    steps = first_steps(pricing, found.open)
    priced = sorted(((s, pricing.in_full(s)) for s in steps), key=lambda p: p[1].cost)
    return Decision(
        belief=belief,
        draws=draws,
        workings=found,
        truths=true,
        pricing=pricing,
        change_work=work,
        fix_ways=ways,
        target=target,
        repeats=situation.repeats,
        carry_on_cost=_carry_on_cost(scene, true, situation.rounds_left),
        priced=tuple(priced),
    )


def _carry_on_cost(scene: Scene, true: Truths, rounds_left: int) -> float:
    one = replace(
        scene,
        drift=scene.drift[:1],
        change_price=np.zeros((1, 1)),
        later_price=np.zeros((1, 1)),
    )
    only = replace(true, drift=true.drift[:1])
    alone = Pricing(rest_of_project(one, rounds_left), only, rounds_left)
    return float(true.weight @ alone.by_truth(NOTHING))


def first_steps(pricing: Pricing, ways: tuple[Working, ...]) -> list[FirstStep]:
    """Return the first steps worth pricing in full.

    "Nothing" comes first; then the best of each way to take offset out, alone; then the
    best change to each other needle and to two other counts, with or without an offset
    taken out along with it, and whatever else is promising.
    """
    taken_out, price = pricing.at_once()
    none = int(np.flatnonzero(taken_out == 0)[0])
    small = np.abs(taken_out) < SMALLEST_FIX
    alone: list[FirstStep] = []
    changes: dict[FirstStep, float] = {}
    for fix in pricing.rest.scene.ways:
        work = np.where(small, np.inf, fix.minutes(taken_out))
        best = int((price[0] + work).argmin())
        if np.isfinite(work[best]):
            alone.append(FirstStep(0, float(taken_out[best]), fix.remedy))
        for way in range(1, len(price)):
            best = int((price[way] + work).argmin())
            if np.isfinite(work[best]):
                step = FirstStep(way, float(taken_out[best]), fix.remedy)
                changes[step] = float(price[way, best] + work[best])
            changes[FirstStep(way)] = float(price[way, none])
    ranked = sorted(changes, key=lambda step: changes[step])
    kept = ranked[:_PROMISING]
    seen: dict[object, set[int]] = {}
    for step in ranked:
        needle = ways[step.way].needle_mm
        group = needle if needle != ways[0].needle_mm else None
        taken = seen.setdefault(group, set())
        if step.way not in taken and len(taken) < (2 if group is None else 1):
            taken.add(step.way)
            kept.append(step)
    return [NOTHING, *alone, *dict.fromkeys(kept)]
