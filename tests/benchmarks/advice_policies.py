"""The ways of deciding that the advice is scored against.

None of them imports what the advice decides by: the clairvoyant has tables of its own, on
a finer grid, worked out under the truth.
"""

from dataclasses import dataclass, field, replace

import numpy as np
from scipy.special import ndtr

from knitlog.advice import Costs, Limits, Remedy, Situation
from knitlog.advice.policy import recommend
from knitlog.drift import fit
from knitlog.drift.log import Stint
from knitlog.simulate.projects import Hands, Moment, Move, Project, ways_of
from knitlog.yarn.geometry import wrap_offset

COSTS, LIMITS = Costs(), Limits()


def cheapest_way(project: Project, stitches: int, taken_out: float) -> tuple[float, Remedy]:
    """Return minutes and name of the cheaper way to take so much out."""
    ways = ways_of(project, stitches, COSTS, LIMITS).values()
    return min((float(way.minutes(np.array(taken_out))), way.remedy) for way in ways)


class DoNothing:
    """Fuzzy is fine."""

    def decide(self, moment: Moment) -> Move:
        return Move()


@dataclass
class FiveStitchRule:
    """The common rule: look every four or five rounds; five or more off, change needle;
    less, re-knit twenty stitches or even out one to three inches (common practice).

    "Five or more off" is read two ways: against the round below (``per_round``), or against
    where the colours should be.  What a tapestry needle cannot bring back is left.
    """

    per_round: bool = False
    every: tuple[int, int] = (4, 5)
    _next: int = 0
    _looks: int = 0

    def decide(self, moment: Moment) -> Move:
        if moment.round < self._next:
            return Move()
        self._looks += 1
        self._next = moment.round + self.every[self._looks % len(self.every)]
        project, count = moment.project, moment.stitches
        readings = moment.log.readings
        home = readings[0].stitch * count / project.stitches
        offset = wrap_offset(readings[-1].stitch - home, count)
        slide = wrap_offset(readings[-1].stitch - readings[-2].stitch, count)
        off = slide if self.per_round else offset
        if abs(off) >= 5:
            larger = sorted(n for n in project.needles_owned_mm if n > moment.needle_mm)
            smaller = sorted(n for n in project.needles_owned_mm if n < moment.needle_mm)
            if off > 0 and larger:
                return Move(needle_mm=larger[0])
            if off < 0 and smaller:
                return Move(needle_mm=smaller[-1])
        if abs(offset) > project.tolerance:
            reach = ways_of(project, count, COSTS, LIMITS)[Remedy.TAPESTRY].largest
            if abs(offset) - project.tolerance > reach:
                return Move()
            taken_out = float(np.clip(offset, -reach, reach))
            return Move(cheapest_way(project, count, taken_out)[1], taken_out)
        return Move()


class Clairvoyant:
    """Knows the yarn per stitch on every needle and how fixes miss, and plays its best.

    The best is exact: backwards from the last round over a grid of offsets a quarter of a
    stitch apart, for every needle owned and the stitch counts that matter on it, those among
    them that lead back soonest from where the colours lie when it first looks.  It reads
    the colours like anyone (a filter with the true drift and noises) unless ``all_seeing``.
    """

    STEP, REACH = 0.25, 20.0

    def __init__(
        self,
        project: Project,
        hands: Hands,
        *,
        all_seeing: bool = False,
        tables: "Clairvoyant | None" = None,
    ) -> None:
        self.project, self.hands, self.all_seeing = project, hands, all_seeing
        self.mean, self.var, self.read = 0.0, 1e-9, 0
        self.tables = tables
        self.ready = False

    def prepare(self, offset: float) -> None:
        """Work out the tables, out to the ``offset`` of the first look."""
        self.ready = True
        if self.tables is not None and self.tables.ready:
            self.__dict__.update(
                {
                    k: self.tables.__dict__[k]
                    for k in ("o", "ways", "drift", "targets", "change", "slip", "after")
                }
            )
            return
        project, hands = self.project, self.hands
        h, reach = self.STEP, max(self.REACH, np.ceil(abs(offset)) + 6.0)
        self.o = np.arange(-reach, reach + h / 2, h)
        self.ways = self._ways(offset)
        self.drift = np.array([hands.turn(project, n) - count for n, count in self.ways])
        self.targets = np.flatnonzero(np.abs(self.o) <= project.tolerance + 1e-9)
        away = self.o[None, :] - self.o[:, None]
        moves = np.array([self._spread(away - d, hands.tension_noise_sd) for d in self.drift])
        size = np.abs(self.o[:, None] - self.o[None, self.targets])
        minutes = np.min(
            [w.minutes(size) for w in ways_of(project, project.stitches, COSTS, LIMITS).values()],
            axis=0,
        )
        classes = []
        for low, high in ((0, 2), (2, 4), (4, 7), (7, 11), (11, 99)):
            mine = (size > low) & (size <= high) & np.isfinite(minutes)
            if mine.any():
                miss = np.hypot(hands.miss_stitches, hands.miss_share * size[mine].mean())
                landing = self._spread(away, float(miss))[self.targets]
                classes.append((landing, np.where(mine, minutes, np.inf)))
        share = project.home / project.stitches
        pairs = [(a, b) for a in self.ways for b in self.ways]
        self.change = np.array(
            [
                COSTS.needle_change_minutes * (a[0] != b[0])
                + (
                    COSTS.count_change_minutes
                    + COSTS.count_change_minutes_per_stitch * abs(a[1] - b[1])
                )
                * (a[1] != b[1])
                for a, b in pairs
            ]
        ).reshape(len(self.ways), -1)
        self.slip = -(1 - share) * (self.drift[None, :] - self.drift[:, None])
        out = COSTS.round_out_of_tolerance_minutes * (np.abs(self.o) > project.tolerance + 1e-9)
        value = np.zeros((len(self.ways), len(self.o)))
        self.after = [value]
        for _ in range(project.rounds):
            after = np.matmul(moves, (value + out)[:, :, None])[:, :, 0]
            self.after.append(after)
            settled = after.copy()
            for landing, work in classes:
                landed = after @ landing.T
                settled = np.minimum(settled, (work[None] + landed[:, None, :]).min(axis=2))
            value = settled.copy()
            for a in range(len(self.ways)):
                for b in range(len(self.ways)):
                    if a != b:
                        there = np.interp(self.o + self.slip[a, b], self.o, settled[b])
                        np.minimum(value[a], there + self.change[a, b], out=value[a])

    def _ways(self, offset: float) -> list[tuple[float, int]]:
        project = self.project
        found = [(project.needle_mm, project.stitches)]
        for needle in project.needles_owned_mm:
            if not project.multiple:
                found.append((needle, project.stitches))
                continue
            k = np.arange(-400 // project.multiple, 400 // project.multiple + 1)
            counts = project.stitches + k * project.multiple
            near = np.argsort(np.abs(self.hands.turn(project, needle) - counts))
            most = {1: 7, 2: 5}.get(project.multiple, 3)
            found += [(needle, int(counts[i])) for i in near[:most] if counts[i] > 10]
            if needle == project.needle_mm:
                turn, parts = self.hands.turn(project, needle), (0.5, 0.75, 1.0, 1.25)
                found += [(needle, c) for c in leading_back(project, turn, offset, parts)]
        now = found[0]
        return [
            w
            for w in dict.fromkeys(found)
            if w == now or abs(size_change(project, *w)) <= project.max_size_change_percent
        ]

    def _spread(self, away: np.ndarray, sd: float) -> np.ndarray:
        h = self.STEP
        chance = ndtr((away + h / 2) / sd) - ndtr((away - h / 2) / sd)
        chance[:, 0] = ndtr((away[:, 0] + h / 2) / sd)
        chance[:, -1] = 1 - ndtr((away[:, -1] - h / 2) / sd)
        return chance

    def _offset(self, moment: Moment) -> float:
        """Return the offset as filtered with the truth known."""
        hands, project = self.hands, self.project
        share = project.home / project.stitches
        fixes = {f.after_round: f.taken_out for f in moment.log.fixes}

        def stint(number: int) -> Stint:
            return next(s for s in reversed(moment.log.stints) if s.first_round <= number)

        for reading in moment.log.readings[self.read :]:
            number, now = reading.round, stint(reading.round)
            if number > 1:
                before = stint(number - 1)
                taken = fixes.get(number - 1, 0.0)
                if taken:
                    self.mean -= taken
                    self.var += hands.miss_stitches**2 + (hands.miss_share * taken) ** 2
                old = hands.turn(project, before.needle_mm)
                left = 1 - (before.stitches * (1 - share) - self.mean) / old
                self.mean = hands.turn(project, now.needle_mm) * left - share * now.stitches
                self.var += hands.tension_noise_sd**2
            home = share * now.stitches
            seen = self.mean + wrap_offset(reading.stitch - home - self.mean, now.stitches)
            gain = self.var / (self.var + hands.reading_noise_sd**2)
            self.mean += gain * (seen - self.mean)
            self.var *= 1 - gain
        self.read = len(moment.log.readings)
        return self.mean

    def decide(self, moment: Moment) -> Move:
        here = moment.true_offset if self.all_seeing else self._offset(moment)
        if not self.ready:
            self.prepare(float(wrap_offset(here, moment.stitches)))
        a = self.ways.index((moment.needle_mm, moment.stitches))
        here = float(wrap_offset(here, moment.stitches + self.drift[a]))
        after = self.after[self.project.rounds - moment.round]
        best, choice = np.inf, Move()
        for b, (needle, count) in enumerate(self.ways):
            o = here + self.slip[a, b]
            change = Move(
                needle_mm=None if needle == moment.needle_mm else needle,
                stitches=None if count == moment.stitches else count,
            )
            cost = self.change[a, b] + float(np.interp(o, self.o, after[b]))
            if cost < best - 1e-9:
                best, choice = cost, change
            for target in self.o[self.targets][::2]:
                taken_out = float(o - target)
                if abs(taken_out) < 0.5:
                    continue
                minutes, way = cheapest_way(self.project, moment.stitches, taken_out)
                miss = np.hypot(self.hands.miss_stitches, self.hands.miss_share * taken_out)
                # three-point Gauss-Hermite over the miss
                lands = target + miss * np.array([-1.7320508, 0.0, 1.7320508])
                ahead = np.interp(lands, self.o, after[b]) @ np.array([1 / 6, 2 / 3, 1 / 6])
                cost = self.change[a, b] + minutes + float(ahead)
                if cost < best - 1e-9:
                    best, choice = cost, replace(change, way=way, taken_out=taken_out)
        return choice


def leading_back(
    project: Project, turn: float, offset: float, parts: tuple[float, ...]
) -> list[int]:
    """Return counts that lead colours far off back soon, where a turn makes ``turn`` stitches.

    They slide back by ``parts`` of what costs least at 2 minutes a round out and half a minute a
    stitch, worked in and out again: 2 o / d + d.
    """
    if not project.multiple or abs(offset) <= project.tolerance:
        return []
    slide = np.sign(offset) * np.sqrt(2.0 * abs(offset))
    steps = [round((turn + slide * p - project.stitches) / project.multiple) for p in parts]
    return [project.stitches + project.multiple * k for k in dict.fromkeys(steps)]


def size_change(project: Project, needle_mm: float, stitches: int) -> float:
    """Return the change of finished width, %."""
    y = project.yarn_thickness_mm
    return 100 * (stitches / project.stitches * (needle_mm + y) / (project.needle_mm + y) - 1)


def situation_of(moment: Moment) -> Situation:
    """Return what the advice is told at this moment: nothing but the log and the facts."""
    project = moment.project
    return Situation(
        fit=fit(moment.log),
        stitches=moment.stitches,
        repeat_length_mm=project.repeat_length_mm,
        needle_mm=moment.needle_mm,
        needles_owned_mm=project.needles_owned_mm,
        multiple=project.multiple,
        rounds_planned=project.rounds,
        tolerance=project.tolerance,
        gauge=project.gauge,
        max_size_change_percent=project.max_size_change_percent,
        yarn_thickness_mm=project.yarn_thickness_mm,
        costs=COSTS,
        limits=LIMITS,
    )


Deed = tuple[float | None, int, bool]
"""Needle and count gone over to, and whether offset is taken out."""


@dataclass(frozen=True)
class Said:
    """What was recommended at one look."""

    remedy: Remedy
    done: bool
    """Whether something was done about it."""
    deed: Deed
    """What is recommended now."""
    foretold: Deed | None
    """What was said to come in a few rounds, where nothing is to be done now."""


@dataclass
class Knitlog:
    """Does at every look what the advice recommends."""

    follows: bool = True
    """False for a knitter who looks at the advice and never takes it."""
    said: list[Said] = field(default_factory=list)

    def decide(self, moment: Moment) -> Move:
        previous = self.said[-1].remedy if self.said else None
        decision, chosen = recommend(situation_of(moment), previous=previous)
        way = decision.workings.open[chosen.step.way]
        move = Move(
            way=chosen.step.by,
            taken_out=chosen.step.taken_out,
            needle_mm=way.needle_mm if way.needle_mm != moment.needle_mm else None,
            stitches=way.stitches if way.stitches != moment.stitches else None,
        )
        foretold = None
        if chosen.planned is not None:
            then = decision.workings.open[chosen.planned.way]
            foretold = (then.needle_mm, then.stitches, chosen.planned.fix)
        deed = (way.needle_mm, way.stitches, chosen.step.taken_out != 0)
        self.said.append(Said(chosen.remedy, self.follows and move != Move(), deed, foretold))
        return move if self.follows else Move()

    def changed_by_a_reading(self) -> tuple[int, int, int]:
        """Return the looks at which one more reading, and nothing else, changed the remedy;
        those among them at which what is recommended now, to the stitch, had been said to come;
        and how many looks there were."""
        pairs = [
            (old, new)
            for old, new in zip(self.said[:-1], self.said[1:], strict=True)
            if not old.done
        ]
        changed = [(old, new) for old, new in pairs if old.remedy is not new.remedy]
        return len(changed), sum(old.foretold == new.deed for old, new in changed), len(pairs)


__all__ = ["Clairvoyant", "DoNothing", "FiveStitchRule", "Knitlog"]
