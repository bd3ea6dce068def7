"""The worlds the fit is tried in: hands and work, each log another knitter's.

All lay real yarn (:mod:`tests.simulator`).  On 128 stitches the drift as begun is normal with
sd 3, the tension noise log-normal about 0.7 stitches a round and the reading noise about 0.5,
both with a log sd of 0.35; each stitch slips on its own unless a world says otherwise.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from tests.simulator import Hand, Knitting, Work, hand_for, percent

DRIFT_SD, NOISE_LOG_SD = 3.0, 0.35
TENSION_NOISE, READING_NOISE = 0.7, 0.5

Deed = Callable[[Knitting, int, np.random.Generator], None]


def _nothing(knitting: Knitting, rounds: int, rng: np.random.Generator) -> None:
    pass


@dataclass(frozen=True, slots=True)
class World:
    """What is on the needles, how the hand differs from a steady one, what is done on the way."""

    work: Work = field(default_factory=Work)
    hand: dict[str, Any] = field(default_factory=dict)
    """Fields of :class:`Hand`."""
    by_round: bool = False
    """Whether it is the rounds that slip, not the stitches."""
    tightens: float = 0.0
    """Stitches a round by which the drift grows evenly over the log, either way."""
    deed: Deed = _nothing
    """Done after each round but the last."""
    creep_sd: float = 0.0
    """What the oracle is told of her creep, stitches a round on 128."""


def _count(knitting: Knitting, rounds: int, rng: np.random.Generator) -> None:
    if knitting.round == rounds // 2:
        knitting.change_stitches(128 + int(rng.choice((-7, -4, -2, 2, 4, 7))))


def _needle(knitting: Knitting, rounds: int, rng: np.random.Generator) -> None:
    if knitting.round == rounds // 2:
        knitting.change_needle(4.5 + float(rng.choice((-0.5, -0.25, 0.25, 0.5))))


def _needle_and_count(knitting: Knitting, rounds: int, rng: np.random.Generator) -> None:
    if knitting.round == rounds // 3:
        _needle(knitting, 2 * knitting.round, rng)
    if knitting.round == 2 * rounds // 3:
        knitting.change_stitches(128 + int(rng.choice((-7, -4, 4, 7))))


def _tension(knitting: Knitting, rounds: int, rng: np.random.Generator) -> None:
    if knitting.round in (rounds // 3, 2 * rounds // 3):
        knitting.ask_tension(float(rng.choice((-3.0, -2.0, -1.0, 1.0, 2.0, 3.0))))


def _fixes(knitting: Knitting, rounds: int, rng: np.random.Generator) -> None:
    if knitting.round in (rounds // 3, 2 * rounds // 3):
        knitting.ease(float(rng.choice((-4.0, -2.0, 2.0, 4.0))), 20)


_NEAR_THE_EDGE = Work(places=(16.0,))
_APPETITE = percent(3.0)

WORLDS: dict[str, World] = {
    "constant": World(),
    "tightens by 1.5": World(tightens=1.5),
    "creeps by 0.08": World(hand={"creep_percent": percent(0.08)}, creep_sd=0.08),
    "sittings 0.3, not noted": World(hand={"sitting_percent": percent(0.3)}),
    "sittings 0.5, noted": World(hand={"sitting_percent": percent(0.5), "notes_sittings": True}),
    "whole rounds slip": World(by_round=True),
    "AR(1) 0.4": World(by_round=True, hand={"memory": 0.4}),
    "repeat varies by 1 %": World(Work(repeat_variation=0.01)),
    "purl rows looser by 3": World(replace(_NEAR_THE_EDGE, flat=True), {"purl_percent": _APPETITE}),
    "pattern of 4, told": World(
        replace(_NEAR_THE_EDGE, pattern_rounds=4), {"pattern_percent": (_APPETITE, 0.0, 0.0, 0.0)}
    ),
    "pattern of 4, not told": World(
        _NEAR_THE_EDGE, {"pattern_percent": (_APPETITE, 0.0, 0.0, 0.0)}
    ),
    "pattern of 6, told": World(
        replace(_NEAR_THE_EDGE, pattern_rounds=6),
        {"pattern_percent": (_APPETITE, 0.0, 0.0, -_APPETITE, 0.0, 0.0)},
    ),
    "pattern of 4, told, plain": World(replace(_NEAR_THE_EDGE, pattern_rounds=4)),
    "count changed": World(deed=_count),
    "needle changed": World(deed=_needle),
    "needle, then count": World(deed=_needle_and_count),
    "tension asked": World(deed=_tension),
    "eased": World(deed=_fixes),
    "miscounts 5 %": World(hand={"miscount_rate": 0.05}),
    "a quarter missing": World(hand={"missing_rate": 0.25}),
    "whole stitches": World(hand={"rounding": 1.0}),
    "two marks": World(Work(places=(30.0, 94.0))),
    "two repeats": World(Work(repeats=2, repeat_length_mm=762.0)),
}


def some_hand(world: World, rounds: int, rng: np.random.Generator) -> Hand:
    """Return a hand of this world, with a drift and noises of her own."""
    tension = TENSION_NOISE * float(np.exp(rng.normal(0.0, NOISE_LOG_SD)))
    hand = hand_for(
        world.work,
        drift=float(rng.normal(0.0, DRIFT_SD)),
        tension_noise_sd=0.0 if world.by_round else tension,
        reading_sd=READING_NOISE * float(np.exp(rng.normal(0.0, NOISE_LOG_SD))),
        round_percent=percent(tension) if world.by_round else 0.0,
        answer=float(np.clip(rng.normal(0.6, 0.25), 0.1, 1.2)),
        needle_answer=float(rng.normal(1.0, 0.25)),
        tightening_percent=float(rng.choice((-1.0, 1.0)))
        * percent(world.tightens)
        / max(rounds - 1, 1),
    )
    return replace(hand, **world.hand)


def some_knitting(
    world: World, rounds: int, logs: int, seed: int
) -> Iterator[tuple[Knitting, np.random.Generator]]:
    """Yield ``logs`` knittings of ``rounds`` rounds, each of another knitter."""
    for i in range(logs):
        rng = np.random.default_rng((seed, i))
        knitting = Knitting(some_hand(world, rounds, rng), world.work, int(rng.integers(1 << 40)))
        for number in range(1, rounds + 1):
            knitting.knit_round(logged=True if number == rounds else None)
            if number < rounds:
                world.deed(knitting, rounds, rng)
        yield knitting, rng
