"""How near anyone who must try the needles could come to the clairvoyant.

    python tests/benchmarks/advice_learner.py --projects 16 --cells 4,4 8,4

The learner is told more than any knitter knows: her own yarn per stitch, her noises, and
what a needle does the moment it is on.  What a needle not yet on will do she knows only as
the trial deals it out (:class:`knitlog.simulate.projects.Spread`), and plays her best over
that, up to two needles ahead.  Where even she costs more than 1.10 of the clairvoyant,
no advice that must learn from readings can be expected to come nearer than she does.
"""

import argparse
import os
import sys
from dataclasses import dataclass, field, replace
from itertools import groupby
from math import log

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from advice_policies import COSTS, LIMITS, Clairvoyant, cheapest_way, leading_back, size_change
from advice_score import seed_of
from scipy.special import ndtr, ndtri

from knitlog.simulate.projects import Hands, Moment, Move, Project, Spread, invent, play, ways_of
from knitlog.yarn.geometry import wrap_offset

Way = tuple[float, int]
"""Needle, mm, and stitch count."""
Turns = dict[float, float]
"""Stitches that one turn of the colours makes, by needle tried."""

STEP, REACH, LONGEST = 0.5, 22.0, 40
FIXES = np.array([1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0])
FIRST, SECOND = 9, 5
"""Equally likely answers weighed for the first needle tried, and for one after it."""


def answers(points: int) -> np.ndarray:
    """Return equally likely standard normal values, of spread 1."""
    z = ndtri((np.arange(points) + 0.5) / points)
    return z / np.sqrt(np.mean(z**2))


def blur(sd: float, grid: np.ndarray) -> np.ndarray:
    """Return the matrix that averages a row over a normal spread; edges keep what leaves."""
    away = grid[:, None] - grid[None, :]
    chance = ndtr((away + STEP / 2) / sd) - ndtr((away - STEP / 2) / sd)
    chance[0] = ndtr((away[0] + STEP / 2) / sd)
    chance[-1] = 1 - ndtr((away[-1] - STEP / 2) / sd)
    return chance / chance.sum(axis=0)


def minutes(old: Way, new: Way) -> float:
    """Return the work of going from one way of working to another."""
    work = COSTS.needle_change_minutes * (old[0] != new[0])
    if old[1] != new[1]:
        work += COSTS.count_change_minutes
        work += COSTS.count_change_minutes_per_stitch * abs(old[1] - new[1])
    return work


class Tables:
    """Least cost, backwards from the last round, for several states of knowledge at once.

    ``ways[s]`` lists the ways of working open in state s, ``turns[s]`` what is known there;
    ``beyond(r)`` is the cost of trying one more needle, shape (C, S, U).
    """

    def __init__(self, project, hands, grid, rounds, ways, turns, beyond=None) -> None:
        most = max(len(w) for w in ways)
        ways = [w + [w[0]] * (most - len(w)) for w in ways]
        drift = np.array(
            [[t[w[c][0]] - w[c][1] for w, t in zip(ways, turns, strict=True)] for c in range(most)]
        )
        change = np.array(
            [[[minutes(w[a], w[b]) for w in ways] for b in range(most)] for a in range(most)]
        )
        # in u = o + (1 - h) d a change moves nothing
        shift = (1 - project.home / project.stitches) * drift
        out = COSTS.round_out_of_tolerance_minutes * (
            np.abs(grid - shift[..., None]) > project.tolerance
        ).astype(float)
        out[..., [0, -1]] = COSTS.round_out_of_tolerance_minutes
        at = np.clip(np.arange(len(grid)) + drift[..., None] / STEP, 0, len(grid) - 1)
        low = np.minimum(at.astype(int), len(grid) - 2)
        part = at - low
        noise = blur(hands.tension_noise_sd, grid)
        miss = [
            blur(float(np.hypot(hands.miss_stitches, hands.miss_share * x)), grid) for x in FIXES
        ]
        open_ways = ways_of(project, project.stitches, COSTS, LIMITS).values()
        work = np.min([way.minutes(FIXES) for way in open_ways], axis=0)
        self.after, self.settled = [], []
        ahead = np.zeros((*drift.shape, len(grid)))
        for r in range(min(rounds, LONGEST)):
            noisy = (ahead + out) @ noise
            here = np.take_along_axis(noisy, low, -1) * (1 - part)
            here += np.take_along_axis(noisy, low + 1, -1) * part
            best = here.copy()
            for x, mins, spread in zip(FIXES, work, miss, strict=True):
                if np.isfinite(mins):
                    k, landed = round(x / STEP), here @ spread + mins
                    np.minimum(best[..., k:], landed[..., :-k], out=best[..., k:])
                    np.minimum(best[..., :-k], landed[..., k:], out=best[..., :-k])
            ahead = (change[..., None] + best[None]).min(axis=1)
            if beyond is not None:
                ahead = np.minimum(ahead, beyond(r))
            self.after.append(here)
            self.settled.append(best)

    def after_with(self, rounds: int) -> np.ndarray:
        """Return the cost with ``rounds`` to knit, all decided, shape (C, S, U)."""
        if rounds <= len(self.after):
            return self.after[rounds - 1]
        gain = self.after[-1] - self.after[-2]
        return self.after[-1] + (rounds - len(self.after)) * gain


@dataclass(frozen=True)
class Trial:
    """A needle to be tried at a count, and which states it may lead to."""

    way: Way
    index: int
    states: list[int]


@dataclass
class Learner:
    """Finds out at once what a needle does, but only by putting it on."""

    project: Project
    hands: Hands
    spread: Spread = field(default_factory=Spread)

    def __post_init__(self) -> None:
        needle = self.project.needle_mm
        self.turns: Turns = {needle: self.hands.turn(self.project, needle)}
        self.eyes = Clairvoyant.__new__(Clairvoyant)
        self.eyes.project, self.eyes.hands, self.eyes.all_seeing = self.project, self.hands, False
        self.eyes.mean, self.eyes.var, self.eyes.read = 0.0, 1e-9, 0
        self.base: list[Way] = []
        self.grid = np.arange(-REACH, REACH + STEP / 2, STEP)

    def step(self, needle: float) -> float:
        y = self.project.yarn_thickness_mm
        return log((needle + y) / (self.project.needle_mm + y))

    def expected(self, turns: Turns, needle: float) -> tuple[float, float]:
        """Return mean and spread of log M on a needle not yet tried."""
        first = log(self.turns[self.project.needle_mm])
        mean, var = 1.0, self.spread.answer_sd**2
        for tried, turn in turns.items():
            if tried != self.project.needle_mm:
                s = self.step(tried)
                gain = var * s / (var * s * s + self.spread.needle_log_sd**2)
                mean += gain * (first - log(turn) - mean * s)
                var *= 1 - gain * s
        s = self.step(needle)
        return first - mean * s, float(np.sqrt(var * s * s + self.spread.needle_log_sd**2))

    def near(self, needle: float, turn: float, most: int) -> list[Way]:
        """Return the counts allowed that are nearest to ``turn``."""
        project, multiple = self.project, self.project.multiple
        counts = [project.stitches]
        if multiple:
            nearest = project.stitches + multiple * round((turn - project.stitches) / multiple)
            counts = [nearest + multiple * k for k in range(-4, 5)]
        counts.sort(key=lambda count: abs(count - turn))
        allowed = project.max_size_change_percent
        return [(needle, c) for c in counts if abs(size_change(project, needle, c)) <= allowed][
            :most
        ]

    def plan(self, now: Way, rounds: int, offset: float) -> None:
        """Work out all tables from what is known now."""
        reach = max(REACH, np.ceil(abs(offset)) + 6.0)
        self.grid = np.arange(-reach, reach + STEP / 2, STEP)
        project, known = self.project, self.turns
        most = {1: 5, 2: 4}.get(project.multiple, 3)
        base = [now]
        for needle, turn in known.items():
            base += self.near(needle, turn, most if needle == now[0] else min(most, 3))
        back = [(now[0], c) for c in leading_back(project, known[now[0]], offset, (0.6, 1.0))]
        allowed = project.max_size_change_percent
        base += [way for way in back if abs(size_change(project, *way)) <= allowed]
        base = list(dict.fromkeys(base))
        states: list[tuple[float, Turns]] = []
        entries: dict[float, list[Way]] = {}
        for needle in project.needles_owned_mm:
            if needle in known:
                continue
            mean, sd = self.expected(known, needle)
            found = self.near(needle, float(np.exp(mean)), 3)
            as_now = (needle, now[1])
            if (
                project.multiple
                and abs(size_change(project, *as_now)) <= project.max_size_change_percent
            ):
                found = list(dict.fromkeys([*found, as_now]))
            if found:
                entries[needle] = found
                states += [
                    (needle, {**known, needle: float(np.exp(mean + sd * z))})
                    for z in answers(FIRST)
                ]
        self.base, self.trials, self.one, beyond = base, [], None, None
        if states:
            ways = [
                list(dict.fromkeys([*entries[n], *base, *self.near(n, t[n], 2)])) for n, t in states
            ]
            turns = [t for _, t in states]
            self.one = Tables(
                project,
                self.hands,
                self.grid,
                rounds,
                ways,
                turns,
                self.second(now, rounds, states, ways),
            )
            for needle, found in entries.items():
                mine = [i for i, (n, _) in enumerate(states) if n == needle]
                self.trials += [Trial(way, i, mine) for i, way in enumerate(found)]
            one = self.one

            def beyond(r: int) -> np.ndarray:
                return np.min(
                    [
                        np.array([minutes(w, t.way) for w in base])[:, None, None]
                        + one.settled[r][t.index, t.states].mean(axis=0)
                        for t in self.trials
                    ],
                    axis=0,
                )

        self.none = Tables(project, self.hands, self.grid, rounds, [base], [known], beyond)

    def second(self, now, rounds, states, ways):
        """Return the cost of trying a second needle, for :class:`Tables`; None if there is none."""
        leaves = []
        for i, (_, turns) in enumerate(states):
            for other in self.project.needles_owned_mm:
                if other in turns:
                    continue
                mean, sd = self.expected(turns, other)
                entry = self.near(other, float(np.exp(mean)), 2)
                for z in answers(SECOND) if entry else ():
                    then = {**turns, other: float(np.exp(mean + sd * z))}
                    more = [way for n, t in then.items() for way in self.near(n, t, 2)]
                    leaves.append(
                        (i, other, entry, list(dict.fromkeys([*entry, *more, now])), then)
                    )
        if not leaves:
            return None
        tables = Tables(
            self.project,
            self.hands,
            self.grid,
            rounds,
            [leaf[3] for leaf in leaves],
            [leaf[4] for leaf in leaves],
        )
        groups = [
            (i, entry, [n for n, _ in members])
            for (i, _, entry), members in groupby(
                enumerate(leaves), key=lambda item: (item[1][0], item[1][1], item[1][2])
            )
        ]
        most = max(len(w) for w in ways)

        def beyond(r: int) -> np.ndarray:
            cost = np.full((most, len(states), len(self.grid)), np.inf)
            for i, entry, members in groups:
                for index, way in enumerate(entry):
                    work = [
                        minutes(ways[i][c if c < len(ways[i]) else 0], way) for c in range(most)
                    ]
                    there = tables.settled[r][index, members].mean(axis=0)
                    cost[:, i] = np.minimum(cost[:, i], np.array(work)[:, None] + there)
            return cost

        return beyond

    def decide(self, moment: Moment) -> Move:
        project, hands = self.project, self.hands
        now, rounds = (moment.needle_mm, moment.stitches), project.rounds - moment.round
        turn = hands.turn(project, now[0])
        here = float(wrap_offset(self.eyes._offset(moment), turn))
        if now[0] not in self.turns or now not in self.base:
            self.turns[now[0]] = turn
            self.plan(now, rounds, here)
        u = here + (1 - project.home / project.stitches) * (turn - now[1])
        after = self.none.after_with(rounds)
        choices = [(way, after[i, 0]) for i, way in enumerate(self.base)]
        if self.one is not None:
            after = self.one.after_with(rounds)
            choices += [(t.way, after[t.index, t.states].mean(axis=0)) for t in self.trials]
        best, choice = np.inf, Move()
        for way, row in choices:
            change = Move(
                needle_mm=None if way[0] == now[0] else way[0],
                stitches=None if way[1] == now[1] else way[1],
            )
            cost = minutes(now, way) + float(np.interp(u, self.grid, row))
            if cost < best - 1e-9:
                best, choice = cost, change
            for x in (*-FIXES[::-1], *FIXES):
                work, by = cheapest_way(project, now[1], float(x))
                miss = np.hypot(hands.miss_stitches, hands.miss_share * x)
                # three-point Gauss-Hermite over the miss
                lands = u - x + miss * np.array([-1.7320508, 0.0, 1.7320508])
                ahead = float(np.interp(lands, self.grid, row) @ np.array([1 / 6, 2 / 3, 1 / 6]))
                cost = minutes(now, way) + work + ahead
                if cost < best - 1e-9:
                    best, choice = cost, replace(change, way=by, taken_out=float(x))
        return choice


def main() -> None:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--projects", type=int, default=16, help="projects a cell")
    parser.add_argument("--cells", nargs="+", default=["4,4"], metavar="MULTIPLE,NEEDLES")
    given = parser.parse_args()
    for cell in given.cells:
        multiple, needles = (int(part) for part in cell.split(","))
        pairs = []
        for number in range(given.projects):
            seed = seed_of(multiple, needles, number)
            project, hands = invent(seed, multiple, needles)
            policies = (Learner(project, hands), Clairvoyant(project, hands))
            pairs.append([play(project, hands, policy, seed).cost for policy in policies])
        cost = np.array(pairs)
        ratio = cost[:, 0].mean() / cost[:, 1].mean()
        # standard error of a ratio of means (Cochran, Sampling Techniques, 6.4)
        away = cost[:, 0] - ratio * cost[:, 1]
        error = np.std(away, ddof=1) / len(cost) ** 0.5 / cost[:, 1].mean()
        sys.stdout.write(
            f"multiple {multiple}, needles {needles}, {len(cost)} projects: learner "
            f"{cost[:, 0].mean():.1f}, clairvoyant {cost[:, 1].mean():.1f}, "
            f"ratio {ratio:.2f} +- {error:.2f}\n"
        )
        sys.stdout.flush()


if __name__ == "__main__":
    main()
