"""What each first step costs in the end, all that is not known weighed.

A first step is a way of working and an offset to take out.  Its price is its own work
and the expected cost of what follows.  What follows is not free to know the truth: some
rounds are knitted, their readings say so much and no more, and the next decision is taken
on that.  Pricing a decision by the decisions its information will allow is pre-posterior
analysis (Raiffa & Schlaifer, Applied Statistical Decision Theory, 1961); for the first
step "nothing" it gives the worth of knitting n more rounds before deciding.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from knitlog.advice.fixes import FixWay
from knitlog.advice.remedy import Remedy
from knitlog.advice.rest import NOTICED, FloatArray, IntArray, Rest, TableArray, fix_minutes
from knitlog.advice.shares import chance_outside
from knitlog.advice.truths import Truths

MORE_ROUNDS = (1, 2, 3, 5)
"""Rounds knitted before the next decision, the best of which is taken."""
_STEPS = np.linspace(-14.0, 14.0, 57)
"""Offsets taken out at once, stitches."""
_LATER_STEPS = np.array([-10.0, -8, -6, -5, -4, -3, -2, 0, 2, 3, 4, 5, 6, 8, 10])
_OUTCOMES = np.linspace(-2.4, 2.4, 9)
"""Where the colours may be found later, in spreads from where they are expected."""
# three-point Gauss-Hermite rule for a standard normal (Abramowitz & Stegun 25.4.46)
_Z = np.array([-1.7320508075688772, 0.0, 1.7320508075688772])
_P = np.array([1 / 6, 2 / 3, 1 / 6])


@dataclass(frozen=True, slots=True)
class FirstStep:
    """A way of working and an offset to take out, now."""

    way: int
    """Index into the ways of working; 0 is the present one."""
    taken_out: float = 0.0
    """Stitches; 0 for none."""
    by: Remedy | None = None
    """How they are taken out."""


NOTHING = FirstStep(0)


@dataclass(frozen=True, slots=True)
class Later:
    """What will be decided after some more rounds, by where the colours are then."""

    rounds: int
    cost: float
    """Expected minutes from now on."""
    offsets: FloatArray
    """Where the colours may be, stitches, shape (O,)."""
    chance: FloatArray
    """Shape (O,)."""
    way: IntArray
    """Way of working decided then, shape (O,)."""
    taken_out: FloatArray
    """Offset taken out then, stitches, shape (O,)."""

    def decided(self) -> dict[tuple[int, bool], float]:
        """Return the chance of each decision: way of working, and whether offset is taken out."""
        found: dict[tuple[int, bool], float] = {}
        for way, taken_out, chance in zip(self.way, self.taken_out, self.chance, strict=True):
            decision = (int(way), bool(taken_out))
            found[decision] = found.get(decision, 0.0) + float(chance)
        return found


class Pricing:
    """Prices first steps on one set of tables."""

    def __init__(self, rest: Rest, truths: Truths, rounds_left: int) -> None:
        self.rest = rest
        self.truths = truths
        self.rounds_left = rounds_left
        self.after = rest.after_with(rounds_left)
        # where each truth stands now on the tables: u = o + (1 - h) d
        self.u_now = truths.offset + rest.shift[0]
        self._later_tables: dict[int, TableArray] = {}
        self._later: dict[tuple[FirstStep, int], Later] = {}

    def at_once(self) -> tuple[FloatArray, FloatArray]:
        """Price every first step as if the truth came out in the next round.

        Returns the offsets taken out, shape (X,), and the prices without the work of taking
        them out, minutes, shape (C, X).
        """
        scene = self.rest.scene
        miss = np.where(_STEPS == 0, 0.0, scene.limits.miss_all(_STEPS))
        spread = np.hypot(self.truths.offset_sd, miss)
        # (S, X, Z)
        u = self.u_now[:, None, None] - _STEPS[None, :, None] + spread[None, :, None] * _Z
        low, part = self.rest.place(u)
        truth = np.arange(len(self.u_now))[:, None, None]
        table = self.after
        # (C, S, X, Z) -> (C, X)
        read = table[:, truth, low] * (1 - part) + table[:, truth, low + 1] * part
        cost = np.einsum("s,z,csxz->cx", self.truths.weight, _P, read)
        return _STEPS, scene.change_price[0][:, None] + cost

    def by_truth(self, step: FirstStep) -> FloatArray:
        """Return the price of one first step under each truth, minutes, shape (S,)."""
        scene = self.rest.scene
        miss = scene.limits.miss(step.taken_out) if step.taken_out else 0.0
        u = self.u_now[:, None] - step.taken_out + np.hypot(self.truths.offset_sd, miss) * _Z
        low, part = self.rest.place(u)
        truth = np.arange(len(self.u_now))[:, None]
        table = self.after[step.way]
        read = table[truth, low] * (1 - part) + table[truth, low + 1] * part
        cost: FloatArray = self.price_now(step) + read @ _P
        return cost

    def price_now(self, step: FirstStep) -> float:
        """Return the price of the step itself, minutes: its work, and a line across the fabric."""
        return float(self.rest.scene.change_price[0, step.way]) + self.fix_work(step)

    def fix_work(self, step: FirstStep) -> float:
        """Return the work of taking the step's offset out, minutes; 0 where it takes none."""
        if not step.taken_out:
            return 0.0
        way = next(way for way in self.rest.scene.ways if way.remedy is step.by)
        return float(way.minutes(np.array(step.taken_out)))

    def later(self, step: FirstStep, rounds: int) -> Later:
        """Price ``step`` now, then ``rounds`` rounds, then the best that is known to do."""
        if (step, rounds) not in self._later:
            self._later[step, rounds] = self._priced(step, rounds)
        return self._later[step, rounds]

    def _priced(self, step: FirstStep, rounds: int) -> Later:
        scene, truths, rest = self.rest.scene, self.truths, self.rest
        drift = scene.drift[step.way]
        start = self.u_now - rest.shift[step.way] - step.taken_out
        miss = scene.limits.miss(step.taken_out) if step.taken_out else 0.0
        known = truths.offset_sd**2 + miss**2
        ahead = np.arange(1, rounds + 1)[:, None]
        mean = start + ahead * drift
        spread = np.sqrt(known + ahead * scene.tension_sd**2)
        out = chance_outside(mean, scene.tolerance, spread)
        waiting = scene.round_out_minutes * float((out @ truths.weight).sum())
        # what may be read then, and how likely each truth is after it
        centre = float(truths.weight @ mean[-1])
        width = float(np.sqrt(truths.weight @ (mean[-1] - centre) ** 2 + spread[-1, 0] ** 2))
        found = centre + width * _OUTCOMES
        blur = np.hypot(spread[-1, 0], scene.offset_sd)
        likely = np.exp(-0.5 * ((found[:, None] - mean[-1]) / blur) ** 2) + 1e-12
        # every truth shows itself somewhere on the grid, with its whole weight
        likely *= truths.weight / likely.sum(axis=0)
        chance = likely.sum(axis=1)
        likely /= chance[:, None]
        # the best decision for each finding: (C, O, X)
        u = found[:, None, None] + rest.shift[step.way][None, :, None] - _LATER_STEPS
        low, part = rest.place(u)
        truth = np.arange(len(drift))[None, :, None]
        table = self._after_then(rounds)
        read = table[:, truth, low] * (1 - part) + table[:, truth, low + 1] * part
        cost = np.einsum("os,cosx->cox", likely, read)
        cost += scene.change_price[step.way][:, None, None]
        cost += _later_work(scene.ways)
        best = cost.transpose(1, 0, 2).reshape(len(found), -1)
        pick = best.argmin(axis=1)
        total = self.price_now(step) + waiting + float(chance @ best[np.arange(len(found)), pick])
        return Later(
            rounds=rounds,
            cost=total,
            offsets=found,
            chance=chance,
            way=pick // len(_LATER_STEPS),
            taken_out=_LATER_STEPS[pick % len(_LATER_STEPS)],
        )

    def in_full(self, step: FirstStep) -> Later:
        """Price ``step`` with the next decision after whichever number of rounds is best."""
        rounds = [n for n in MORE_ROUNDS if n <= self.rounds_left] or [1]
        return min((self.later(step, n) for n in rounds), key=lambda found: found.cost)

    def change_due(self) -> npt.NDArray[np.bool_]:
        """Return under which truths another way of working is due now, shape (S,)."""
        if self.rounds_left <= 0:
            return np.zeros(len(self.u_now), dtype=bool)
        truth = np.arange(len(self.u_now))
        low, _ = self.rest.place(self.u_now)
        table = min(self.rounds_left, len(self.rest.after)) - 1
        value, settled = self.rest.value[table, 0], self.rest.settled[table, 0]
        due: npt.NDArray[np.bool_] = value[truth, low] < settled[truth, low] - NOTICED
        return due

    def _after_then(self, rounds: int) -> TableArray:
        if rounds not in self._later_tables:
            self._later_tables[rounds] = self.rest.after_with(self.rounds_left - rounds)
        return self._later_tables[rounds]


def _later_work(ways: tuple[FixWay, ...]) -> FloatArray:
    return np.where(_LATER_STEPS == 0, 0.0, fix_minutes(ways, _LATER_STEPS))
