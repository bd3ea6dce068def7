"""The rounds that remain, knitted a few hundred times over for every remedy.

Each of the fit's draws is one way her hands and this yarn may be; every remedy meets the
same draws and the same luck (common random numbers), so that what differs between them is
the remedy.  In each knitting the fixes miss by as much as hands do, readings are off by as
much as they are, the drift is learnt no faster than readings teach it, and later steps are
decided on what is then believed, by the tables of :mod:`knitlog.advice.rest`.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from knitlog.advice.belief import settled_offset_sd
from knitlog.advice.choice import Decision
from knitlog.advice.pricing import FirstStep
from knitlog.advice.rest import FIX_SIZES, NOTICED, FloatArray, IntArray, Rest, fix_minutes

BoolArray = npt.NDArray[np.bool_]

FARTHEST = 40
"""Rounds knitted out; beyond them the last twenty go on as they went."""
_TAIL = 20
_SIZES = np.concatenate([-FIX_SIZES[::-1], FIX_SIZES])


@dataclass(frozen=True, slots=True)
class Course:
    """A remedy followed to the end."""

    first: FirstStep
    wait: int = 0
    """Rounds in which nothing else is done afterwards."""
    may_change: bool = True
    """Whether the way of working may change later on."""


@dataclass(frozen=True, slots=True)
class Outlook:
    """What a course comes to, on average over the draws."""

    share_in_tolerance: float
    """Of the rounds that remain."""
    fixes: float
    """Fixes and changes, the first step's included."""
    minutes: float
    """Work."""
    quiet_rounds: int
    """Rounds until, in one knitting of five, something is due again."""


def outlook(
    decision: Decision, courses: tuple[Course, ...], rounds_left: int, seed: int
) -> tuple[Outlook, ...]:
    """Knit the rest of the project under each course."""
    knitting = _Knitting(decision, courses, min(rounds_left, FARTHEST), seed)
    for k in range(knitting.rounds):
        knitting.one_round(k, rounds_left - k)
    return knitting.told(rounds_left)


class _Knitting:
    """All courses (A) under all draws (n) at once, a round at a time."""

    def __init__(
        self, decision: Decision, courses: tuple[Course, ...], rounds: int, seed: int
    ) -> None:
        self.decision, self.courses, self.rounds = decision, courses, rounds
        pricing, belief, draws = decision.pricing, decision.belief, decision.draws
        self.rest: Rest = pricing.rest
        self.scene = self.rest.scene
        n, a = len(draws.drift), len(courses)
        rng = np.random.default_rng(seed)
        # the draws' own shape, moved and scaled to the belief
        z = (draws.drift - draws.drift.mean()) / max(float(draws.drift.std()), 1e-9)
        along = float(np.cov(draws.offset, z)[0, 1])
        rest_of_offset = draws.offset - draws.offset.mean() - along * z
        offset = belief.offset + belief.covariance / belief.drift_sd * z + rest_of_offset
        x = rng.standard_normal(n)
        turns = [way.turn for way in decision.workings.open]
        ways = decision.workings.open
        self.mean = np.array([way.drift(decision.target) for way in ways])
        self.now = np.array([t.now for t in turns])
        self.answer = np.array([t.answer for t in turns])
        self.drift = self.mean[:, None] + np.outer(self.now, z) + np.outer(self.answer, x)
        self.z, self.x = z, x
        self.period = np.array([max(t.mean, 1.0) / decision.repeats for t in turns])
        self.w, self.m = draws.tension_noise_sd, draws.reading_noise_sd
        self.memory = np.clip(draws.tension_memory, 0.0, 0.95)
        luck = rng.standard_normal((4, rounds + 1, n))
        self.tension, self.reading, self.slip, self.learning = luck
        self.error = np.tile(draws.tension_error, (a, 1))
        self.offset = np.tile(offset, (a, 1))
        self.believed = np.full((a, n), belief.offset)
        self.believed_z = np.zeros((a, n))
        self.known_x = np.zeros((a, n), dtype=bool)
        self.way = np.zeros((a, n), dtype=np.int64)
        self.first_due = np.full((a, n), rounds)
        self.out = np.zeros((rounds, a))
        self.work = np.zeros((rounds, a))
        self.done = np.zeros((rounds, a))
        self.may_change = np.array([[c.may_change] for c in courses])
        self.wait = np.array([[c.wait] for c in courses])
        reading = max(belief.reading_sd, 1e-6)
        # the steady gain of the local level: what a reading moves the believed offset by
        settled = settled_offset_sd(belief.tension_sd, reading)
        self.gain = min(settled**2 / reading**2, 1.0)
        # what k rounds leave unknown of z: they see the drift to w^2/k + m^2/k^2
        k = np.arange(1, rounds + 1)
        seen = belief.tension_sd**2 / k + (reading / k) ** 2
        self.unknown = np.concatenate([[1.0], 1 / (1 + belief.drift_var / seen)])
        self.weight_apart = 0.1 * belief.drift_var

    def one_round(self, k: int, rounds_left: int) -> None:
        """Decide, then knit one round."""
        truth = self._truth()
        if k == 0:
            for a, course in enumerate(self.courses):
                row = np.zeros(self.way.shape, dtype=bool)
                row[a] = True
                if course.first.way:
                    self._change(row, np.full(self.way.shape, course.first.way), truth, k)
                if course.first.taken_out:
                    taken = np.full(self.way.shape, course.first.taken_out)
                    self._fix(row, taken, k, self.decision.pricing.fix_work(course.first))
        else:
            self._decide(k, rounds_left, truth)
        self._knit(k)

    def _truth(self) -> IntArray:
        """Return which of the truths is nearest to what is believed, shape (A, n)."""
        truths = self.decision.truths
        x = np.where(self.known_x, self.x, 0.0)
        drift = self.scene.drift[self.way] - self._believed_drift()[..., None]
        # the drift of the way of working in use counts most, then what is known apart
        apart = (truths.now - self.believed_z[..., None]) ** 2 + (truths.answer - x[..., None]) ** 2
        nearest: IntArray = (drift**2 + self.weight_apart * apart).argmin(axis=-1)
        return nearest

    def _decide(self, k: int, rounds_left: int, truth: IntArray) -> None:
        table = min(rounds_left, len(self.rest.after)) - 1
        settled, value, after = (
            self.rest.settled[table],
            self.rest.value[table],
            self.rest.after[table],
        )
        may = np.broadcast_to(k >= self.wait, self.way.shape)
        at = self._u(truth)
        now = settled[self.way, truth, at]
        change = may & self.may_change & (value[self.way, truth, at] < now - NOTICED)
        if change.any():
            s, u = truth[change], at[change]
            cost = self.scene.later_price[self.way[change]].T + settled[:, s, u]
            new = self.way.copy()
            new[change] = cost.argmin(axis=0)
            self._change(change, new, truth, k)
        fix = may & (settled[self.way, truth, at] < after[self.way, truth, at] - NOTICED)
        if fix.any():
            c, s, u = self.way[fix], truth[fix], at[fix]
            to = np.clip(
                u[None] - np.rint(_SIZES / self.rest.step).astype(np.int64)[:, None],
                0,
                after.shape[-1] - 1,
            )
            cost = after[c, s, to] + fix_minutes(self.scene.ways, _SIZES)[:, None]
            pick = cost.argmin(axis=0)
            taken = np.zeros(self.way.shape)
            taken[fix] = _SIZES[pick]
            self._fix(fix, taken, k, fix_minutes(self.scene.ways, taken[fix]))

    def _u(self, truth: IntArray) -> IntArray:
        u = self.believed + self.rest.shift[self.way, truth]
        at: IntArray = np.clip(
            np.rint((u - self.rest.u[0]) / self.rest.step), 0, len(self.rest.u) - 1
        ).astype(np.int64)
        return at

    def _change(self, who: BoolArray, new: IntArray, truth: IntArray, k: int) -> None:
        old = np.where(who, self.way, 0)
        new = np.where(who, new, 0)
        draw = np.broadcast_to(np.arange(self.way.shape[1]), self.way.shape)
        rest = 1 - self.scene.home_share
        # the first round is worked partly the old way
        moved = rest * (self.drift[new, draw] - self.drift[old, draw])
        self.offset -= np.where(who, moved, 0.0)
        self.believed -= np.where(
            who, self.rest.shift[new, truth] - self.rest.shift[old, truth], 0.0
        )
        self._count(who, np.where(who, self.decision.change_work[old, new], 0.0), k)
        self.way = np.where(who, new, self.way)

    def _fix(self, who: BoolArray, taken: FloatArray, k: int, minutes: FloatArray | float) -> None:
        miss = self.scene.limits.miss_all(taken) * self.slip[k]
        self.offset -= np.where(who, taken + miss, 0.0)
        self.believed -= np.where(who, taken, 0.0)
        work = np.zeros(self.way.shape)
        work[who] = minutes
        self._count(who, work, k)

    def _count(self, who: BoolArray, minutes: FloatArray, k: int) -> None:
        self.work[k] += minutes.sum(axis=1) / minutes.shape[1]
        self.done[k] += who.sum(axis=1) / minutes.shape[1]
        if k > 0:
            self.first_due = np.where(who, np.minimum(self.first_due, k), self.first_due)

    def _knit(self, k: int) -> None:
        draw = np.arange(self.way.shape[1])
        # e' = rho e + sqrt(1 - rho^2) w luck
        fresh = np.sqrt(1 - self.memory**2) * self.w * self.tension[k]
        self.error = self.memory * self.error + fresh
        self.offset += self.drift[self.way, draw] + self.error
        period = self.period[self.way]
        away = np.abs((self.offset + period / 2) % period - period / 2)
        self.out[k] = (away > self.scene.tolerance).mean(axis=1)
        # the reading moves what is believed of the offset; the drift is learnt alongside
        self.believed += self._believed_drift()
        read = self.offset + self.m * self.reading[k]
        self.believed += self.gain * (read - self.believed)
        left = self.unknown[k + 1] / self.unknown[k]
        error = (
            left * (self.believed_z - self.z)
            + np.sqrt(self.unknown[k + 1] * max(1 - left, 0.0)) * self.learning[k]
        )
        self.believed_z = self.z + error
        self.known_x |= self.answer[self.way] != 0.0

    def _believed_drift(self) -> FloatArray:
        x = np.where(self.known_x, self.x, 0.0)
        drift: FloatArray = (
            self.mean[self.way] + self.now[self.way] * self.believed_z + self.answer[self.way] * x
        )
        return drift

    def told(self, rounds_left: int) -> tuple[Outlook, ...]:
        """Return what each course came to."""
        beyond = rounds_left - self.rounds
        tail = min(_TAIL, self.rounds)

        def whole(per_round: FloatArray) -> FloatArray:
            total: FloatArray = per_round.sum(axis=0)
            if beyond > 0:
                total = total + beyond * per_round[-tail:].mean(axis=0)
            return total

        out, work, done = whole(self.out), whole(self.work), whole(self.done)
        due = np.quantile(self.first_due, 0.2, axis=1)
        return tuple(
            Outlook(
                share_in_tolerance=float(1 - out[a] / max(rounds_left, 1)),
                fixes=float(done[a]),
                minutes=float(work[a]),
                quiet_rounds=max(int(due[a]), 1),
            )
            for a in range(len(self.courses))
        )
