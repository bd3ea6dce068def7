"""Projects to be advised on: invented work, a hand that lays real yarn, and what it all costs."""

from dataclasses import dataclass, field, replace
from math import log as ln

import numpy as np

from knitlog.advice import Costs, Limits, Situation
from knitlog.advice.fixes import FixWay, fix_ways
from knitlog.advice.remedy import Remedy
from knitlog.drift import Reading, fit
from knitlog.yarn.gauge import Gauge
from tests.simulator import Hand, Knitting, Work, hand_for, percent

COSTS, LIMITS = Costs(), Limits()
NEEDLE_SETS = {1: (4.5,), 2: (4.5, 5.0), 4: (4.0, 4.5, 5.0, 5.5)}
HANDS = ("steady", "creeping", "sittings", "purls", "miscounts")


@dataclass(frozen=True)
class Project:
    """A project as it is set up."""

    work: Work
    hand: Hand
    multiple: int
    """0 where the count cannot change."""
    needles_owned_mm: tuple[float, ...]
    gauge: Gauge


def invent(seed: int, multiple: int, needles: int) -> Project:
    """Return a project and the hand that knits it; the hand is the same in every cell."""
    rng = np.random.default_rng(seed)
    stitches = 8 * int(rng.integers(9, 24))
    drift = float(rng.normal(0.0, 0.035 * stitches))
    kind = HANDS[seed % len(HANDS)]
    own = tuple((mm, float(rng.normal(0.0, 0.6))) for mm in NEEDLE_SETS[4] if mm != 4.5)
    noise = 0.7 * float(np.exp(rng.normal(0.0, 0.3))) * (stitches / 128) ** 0.5
    work = Work(
        stitches=stitches,
        needle_mm=4.5,
        yarn_thickness_mm=float(rng.uniform(1.7, 3.1)),
        rounds=int(rng.integers(60, 101)),
        places=(float(rng.integers(stitches // 8, stitches - stitches // 8)),),
        tolerance=float(rng.integers(2, 5)),
        pattern_rounds=2 if kind == "purls" else None,
    )
    hand = hand_for(
        work,
        drift,
        noise,
        reading_sd=0.5 * float(np.exp(rng.normal(0.0, 0.3))),
        answer=float(rng.uniform(0.1, 1.2)),
        needle_answer=float(rng.normal(1.0, 0.2)),
        needle_percent=own,
        rounding=0.5,
        miscount_rate=0.03 if kind == "miscounts" else 0.005,
        creep_percent=percent(0.08) if kind == "creeping" else 0.0,
        sitting_percent=percent(0.3) if kind == "sittings" else 0.0,
        pattern_percent=(0.0, percent(2.0)) if kind == "purls" else (),
    )
    owned = NEEDLE_SETS[needles]
    if needles == 2 and rng.random() < 0.5:
        owned = (4.0, 4.5)
    return Project(work, hand, multiple, owned, Gauge(float(rng.uniform(1.8, 2.6))))


@dataclass
class Play:
    """A project being knitted, and its bill."""

    project: Project
    seed: int
    knitting: Knitting = field(init=False)
    minutes: float = 0.0
    out: list[bool] = field(default_factory=list)
    counts_changed: int = 0
    needles_changed: int = 0
    _anew: bool = False

    def __post_init__(self) -> None:
        self.knitting = Knitting(self.project.hand, self.project.work, self.seed)

    @property
    def cost(self) -> float:
        """Return the bill so far, minutes."""
        return self.minutes + COSTS.round_out_of_tolerance_minutes * sum(self.out)

    @property
    def done(self) -> bool:
        return self.knitting.round >= self.project.work.rounds

    def knit(self) -> tuple[Reading, ...]:
        """Knit a round, take the place anew where that was decided, and count it."""
        read = self.knitting.knit_round()
        if self._anew:
            self.knitting.new_home()
            self.minutes += COSTS.new_place_minutes
            self._anew = False
        self.out.append(not self.knitting.in_place)
        if self.knitting.asked:
            self.minutes += COSTS.attention_minutes
        return read

    def stack_from_here(self) -> None:
        self._anew = True

    def ask(self, asked_percent: float) -> None:
        self.knitting.ask_tension(asked_percent)

    def change_count(self, stitches: int) -> None:
        added = abs(stitches - self.knitting.stitches)
        self.minutes += COSTS.count_change_minutes + COSTS.count_line_minutes
        self.minutes += COSTS.count_change_minutes_per_stitch * added
        if self.project.multiple > 1:
            self.minutes += COSTS.pattern_anew_minutes
        self.counts_changed += 1
        self.knitting.change_stitches(stitches)

    def change_needle(self, needle_mm: float) -> None:
        self.minutes += COSTS.needle_change_minutes + COSTS.gauge_line_minutes
        self.needles_changed += 1
        self.knitting.change_needle(needle_mm)

    def mend(self, remedy: Remedy, taken_out: float) -> None:
        way = self.ways[remedy]
        over = min(way.stitches_handled(taken_out), self.knitting.stitches)
        self.minutes += way.start_minutes + way.minutes_per_stitch * over
        do = self.knitting.ease if remedy is Remedy.TAPESTRY else self.knitting.reknit
        do(taken_out, over)

    def start_again(self, stitches: int, needle_mm: float) -> None:
        rounds = self.knitting.round + 1
        self.minutes += COSTS.rip_start_minutes
        self.minutes += COSTS.round_again_minutes_per_stitch * rounds * stitches
        self.out.clear()
        self.knitting.ask_tension(0.0)
        self.knitting.start_again(stitches, needle_mm)

    @property
    def ways(self) -> dict[Remedy, FixWay]:
        over = LIMITS.tapestry_stitches(self.project.gauge)
        ways = fix_ways(self.knitting.stitches, over, COSTS, LIMITS)
        return {way.remedy: way for way in ways}

    def situation(self) -> Situation:
        """Return what the advice is asked, by the log and nothing else."""
        work, knitting = self.project.work, self.knitting
        return Situation(
            fit=fit(knitting.to_drift_log()),
            stitches=knitting.stitches,
            repeats=work.repeats,
            repeat_length_mm=work.repeat_length_mm,
            needle_mm=knitting.needle_mm,
            needles_owned_mm=self.project.needles_owned_mm,
            multiple=self.project.multiple,
            rounds_planned=work.rounds,
            tolerance=work.tolerance,
            gauge=self.project.gauge,
            yarn_thickness_mm=work.yarn_thickness_mm,
        )


def turn_on(play: Play, needle_mm: float) -> float:
    """Return M on a needle, nothing asked, from the truth: stitches that one turn makes."""
    knitting, hand, y = play.knitting, play.project.hand, play.project.work.yarn_thickness_mm
    now = knitting.drift + knitting.stitches
    turn = now * (1 + knitting.given / 100)
    step = ln((needle_mm + y) / (knitting.needle_mm + y)) * hand.needle_answer
    own = dict(hand.needle_percent)
    beside = (1 + own.get(needle_mm, 0.0) / 100) / (1 + own.get(knitting.needle_mm, 0.0) / 100)
    return float(turn / (np.exp(step) * beside))


def alike(project: Project, **hand: float) -> Project:
    """Return the same project in another hand."""
    return replace(project, hand=replace(project.hand, **hand))
