"""Whole projects that a way of deciding can be scored on.

:mod:`knitlog.simulate.knitter` writes logs; here somebody also acts on them.  A knitter
that never lived knits round by round, logs where the colour fell, asks a policy what to
do, does it - imperfectly - and knits on.  What it cost is counted in minutes: the work,
and what each round out of tolerance is worth to her.  The same seed gives the same
tension, readings and slips of the hand whatever the policy does, so that policies are
compared on the same knitting.

The geometry is the plain one: k repeats of yarn make M = k L / s stitches, so on N
stitches the drift is d = M - N.  A change of needle changes M, a change of count N.  The
round in which a change is made is worked partly the old way: the colour change logged at
a share h of the round feels h of it.
"""

from dataclasses import dataclass, field
from math import exp
from math import log as ln
from typing import Protocol

import numpy as np
import numpy.typing as npt

from knitlog.advice import Costs, Limits, Remedy
from knitlog.advice.fixes import FixWay, fix_ways
from knitlog.drift.log import DriftLog, Fix, Reading, Stint
from knitlog.yarn.gauge import Gauge
from knitlog.yarn.geometry import wrap_offset

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Project:
    """What is to be knitted, and what may be done about it."""

    stitches: int = 128
    rounds: int = 60
    tolerance: float = 3.0
    """Stitches either way."""
    multiple: int = 1
    """Stitch pattern multiple; 0 where the count cannot change."""
    needle_mm: float = 4.5
    needles_owned_mm: tuple[float, ...] = (4.5,)
    yarn_thickness_mm: float = 2.2
    gauge: Gauge = field(default_factory=lambda: Gauge(2.0))
    repeat_length_mm: float = 1524.0
    home: float = 40.0
    """Where the logged colour change should fall, stitches."""
    max_size_change_percent: float = 10.0


@dataclass(frozen=True, slots=True)
class Hands:
    """Whose hands these are; nobody tells the advice."""

    drift: float = 0.0
    """Drift as begun, stitches/round."""
    tension_noise_sd: float = 0.7
    """Spread of one round's own tension error, stitches."""
    reading_noise_sd: float = 0.5
    """Spread of a reading, stitches."""
    needle_answers: tuple[tuple[float, float], ...] = ()
    """(needle mm, change of log yarn per stitch from the needle as begun)."""
    miss_stitches: float = 0.3
    """How far a fix misses however small, stitches."""
    miss_share: float = 0.15
    """How far it misses as a share of it."""

    def turn(self, project: Project, needle_mm: float) -> float:
        """Return M on ``needle_mm``: stitches that k repeats of the yarn make there."""
        answer = dict(self.needle_answers).get(needle_mm, 0.0)
        return (project.stitches + self.drift) * exp(-answer)


@dataclass(frozen=True, slots=True)
class Move:
    """What the knitter does after a round; nothing by default."""

    way: Remedy | None = None
    """Tapestry needle or rip back, where offset is taken out."""
    taken_out: float = 0.0
    """Stitches of offset meant to be taken out; positive pulls a late colour change back."""
    needle_mm: float | None = None
    """Needle to change to."""
    stitches: int | None = None
    """Stitch count to change to."""


@dataclass(frozen=True, slots=True)
class Moment:
    """A project between two rounds."""

    project: Project
    log: DriftLog
    """All that a knitter would know."""
    round: int
    """Last round knitted."""
    stitches: int
    needle_mm: float
    true_offset: float
    """Known to nobody but a clairvoyant."""
    looks: int
    """Looks taken so far, this one included."""


class Policy(Protocol):
    """A way of deciding."""

    def decide(self, moment: Moment) -> Move:
        """Return what to do now."""
        ...


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a project came to from the first look on."""

    minutes: float
    """Work."""
    rounds_out: int
    """Rounds out of tolerance."""
    rounds: int
    """Rounds counted."""
    fixes: int
    changes: int
    cost: float
    """Minutes of work, and of rounds out of tolerance at their price."""
    moves: tuple[tuple[int, Move], ...] = field(default=(), compare=False)
    """(round, move) of everything done."""


def play(
    project: Project,
    hands: Hands,
    policy: Policy,
    seed: int,
    *,
    first_look: int = 5,
    costs: Costs | None = None,
    limits: Limits | None = None,
) -> Outcome:
    """Knit ``project`` with ``hands``, deciding by ``policy`` after every round.

    Nothing is decided before ``first_look``, and only later rounds are counted.
    Raises ``ValueError`` when the policy does what cannot be done.
    """
    costs, limits = costs or Costs(), limits or Limits()
    # drawn for every round whether used or not, so that policies meet the same luck
    luck = np.random.default_rng(seed).standard_normal((project.rounds + 1, 3))
    count, needle = project.stitches, project.needle_mm
    share = project.home / project.stitches
    readings: list[Reading] = []
    stints = [Stint(1, count, needle)]
    fixes: list[Fix] = []
    moves: list[tuple[int, Move]] = []
    minutes, out, changes, looks = 0.0, 0, 0, 0
    offset, old_turn, old_count = 0.0, hands.turn(project, needle), count
    for number in range(1, project.rounds + 1):
        turn = hands.turn(project, needle)
        if number > 1:
            # what is left of the turn once the old round is full, at the new yarn per stitch
            left = 1 - (old_count - share * old_count - offset) / old_turn
            offset = turn * left - share * count + hands.tension_noise_sd * luck[number, 0]
        old_turn, old_count = turn, count
        read = share * count + offset + hands.reading_noise_sd * luck[number, 1]
        readings.append(Reading(number, float(read % count)))
        if number > first_look:
            out += abs(wrap_offset(offset, turn)) > project.tolerance
        if number < first_look or number == project.rounds:
            continue
        looks += 1
        log = DriftLog(
            readings=tuple(readings),
            stints=tuple(stints),
            fixes=tuple(fixes),
            repeat_length_mm=project.repeat_length_mm,
            yarn_thickness_mm=project.yarn_thickness_mm,
            homes={1: project.home},
        )
        move = policy.decide(Moment(project, log, number, count, needle, offset, looks))
        if move == Move():
            continue
        moves.append((number, move))
        minutes += move_minutes(move, project, count, needle, costs, limits)
        if move.taken_out:
            miss = np.hypot(hands.miss_stitches, hands.miss_share * move.taken_out)
            offset -= move.taken_out + miss * luck[number, 2]
            fixes.append(Fix(number, move.taken_out, str(move.way)))
        if (move.needle_mm or needle, move.stitches or count) != (needle, count):
            needle, count = move.needle_mm or needle, move.stitches or count
            stints.append(Stint(number + 1, count, needle))
            changes += 1
    counted = project.rounds - first_look
    return Outcome(
        minutes=minutes,
        rounds_out=out,
        rounds=counted,
        fixes=len(fixes),
        changes=changes,
        cost=minutes + costs.round_out_of_tolerance_minutes * out,
        moves=tuple(moves),
    )


def ways_of(project: Project, stitches: int, costs: Costs, limits: Limits) -> dict[Remedy, FixWay]:
    """Return the ways to take offset out in ``project``."""
    over = limits.tapestry_stitches(project.gauge)
    return {way.remedy: way for way in fix_ways(stitches, over, costs, limits)}


def move_minutes(
    move: Move, project: Project, stitches: int, needle_mm: float, costs: Costs, limits: Limits
) -> float:
    """Return the work of ``move``, minutes; ``ValueError`` where it cannot be done."""
    minutes = 0.0
    if move.taken_out:
        if move.way is None:
            raise ValueError("An offset is taken out one way or the other: say which.")
        way = ways_of(project, stitches, costs, limits)[move.way]
        work = float(way.minutes(np.array(move.taken_out)))
        if not np.isfinite(work):
            raise ValueError(f"{move.taken_out:g} stitches is more than a {move.way} can do.")
        minutes += work
    if move.needle_mm is not None and move.needle_mm != needle_mm:
        if move.needle_mm not in project.needles_owned_mm:
            raise ValueError(f"A needle of {move.needle_mm:g} mm is not among those owned.")
        minutes += costs.needle_change_minutes
    if move.stitches is not None and move.stitches != stitches:
        step = move.stitches - stitches
        if project.multiple == 0 or step % project.multiple:
            raise ValueError(f"{move.stitches} stitches do not fit the stitch pattern.")
        minutes += costs.count_change_minutes + costs.count_change_minutes_per_stitch * abs(step)
    return minutes


@dataclass(frozen=True, slots=True)
class Spread:
    """The spread of projects and hands a policy is scored over."""

    stitches: tuple[int, int] = (60, 240)
    tolerances: tuple[int, int] = (2, 5)
    rounds: tuple[int, int] = (30, 120)
    drift_share: float = 3 / 128
    """Spread of the drift as begun, as a share of the stitch count."""
    tension_noise: float = 0.7
    """Median, stitches on 128; grows with the root of the count."""
    reading_noise: float = 0.5
    """Median, stitches."""
    noise_log_sd: float = 0.3
    answer_sd: float = 0.3
    """Spread of a knitter's answer to a needle step, as a share of it."""
    needle_log_sd: float = 0.006
    """What one needle does beside its size (its surface, its tip), of log yarn per stitch."""


NEEDLE_SETS: dict[int, tuple[float, ...]] = {
    1: (4.5,),
    2: (4.5, 5.0),
    4: (3.75, 4.0, 4.5, 5.0),
}
"""Needles owned, by how many; the first project needle is 4.5 mm."""


def invent(
    seed: int, multiple: int, needles: int, spread: Spread | None = None
) -> tuple[Project, Hands]:
    """Return a project and the hands that knit it, from one seed.

    The same seed gives the same knitter whatever the multiple and the needles owned, so
    far as they allow.
    """
    spread = spread or Spread()
    rng = np.random.default_rng(seed)
    low, high = spread.stitches
    stitches = int(rng.integers(low, high + 1))
    stitches -= stitches % 8
    owned = NEEDLE_SETS[needles]
    finer = rng.random() < 0.5
    if needles == 2 and finer:
        owned = (4.0, 4.5)
    thickness = float(rng.uniform(1.7, 3.1))
    tension = spread.tension_noise * (stitches / 128) ** 0.5
    drift = float(rng.normal(0.0, spread.drift_share * stitches))
    tolerance = float(rng.integers(spread.tolerances[0], spread.tolerances[1] + 1))
    rounds = int(rng.integers(spread.rounds[0], spread.rounds[1] + 1))
    tension_sd = tension * float(np.exp(rng.normal(0.0, spread.noise_log_sd)))
    reading_sd = spread.reading_noise * float(np.exp(rng.normal(0.0, spread.noise_log_sd)))
    answer = float(rng.normal(1.0, spread.answer_sd))
    home = float(rng.integers(stitches // 8, stitches - stitches // 8))
    answers = []
    for needle in NEEDLE_SETS[4]:
        own = float(rng.normal(0.0, spread.needle_log_sd))
        if needle != 4.5:
            step = ln((needle + thickness) / (4.5 + thickness))
            answers.append((needle, answer * step + own))
    per_cm = float(rng.uniform(1.8, 2.6))
    project = Project(
        stitches=stitches,
        rounds=rounds,
        tolerance=tolerance,
        multiple=multiple,
        needle_mm=4.5,
        needles_owned_mm=owned,
        yarn_thickness_mm=thickness,
        gauge=Gauge(per_cm),
        # s near four stitch widths (Munden, wet relaxed 4.1)
        repeat_length_mm=(stitches + drift) * 4.1 * 10 / per_cm,
        home=home,
    )
    return project, Hands(
        drift=drift,
        tension_noise_sd=tension_sd,
        reading_noise_sd=reading_sd,
        needle_answers=tuple(answers),
    )
