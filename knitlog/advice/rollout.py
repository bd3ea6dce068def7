"""Plans played forward: round by round, over all plans and draws at once.

In each round the hand does what is asked as far as it answers, the colours land where they
land, she reads them as well as she reads, and the manner goes by what a filter makes of the
readings (Kalman's, of offset and M, its spread worked out once a plan).  Every plan meets the
same luck: common random numbers, so that a difference between plans is not luck's.

Counted along the strand: between the reading at x in a round of N stitches and the next one
lie N - x stitches knitted as before and x' as from then on, and together they took the yarn of
one turn, so x' = M' (1 - (N - x) / M).  A column at p moves to p N'/N as stitches are added
evenly round the round.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from knitlog.advice.belief import Belief, FloatArray, IntArray
from knitlog.advice.fixes import FixWay
from knitlog.advice.plans import SETTLES, Plan
from knitlog.advice.practice import HAND_FIRST, HAND_LEFT_OVER, place_in_doubt
from knitlog.advice.remedy import Manner, Remedy
from knitlog.advice.situation import ASKED_IN_FULL, ROUNDS_TO_ANSWER, Situation
from knitlog.advice.steering import (
    ROUNDS_TO_THE_EDGE,
    STRAYS_WITHIN,
    ask,
    ease,
    hold_percent,
    riccati_gain,
    trust,
)

HORIZON = 60
"""Rounds looked ahead at most."""
_APART = 12
"""Rounds between two new places at least."""
_BEYOND = 0.5
"""A mended place is taken so much of the tolerance beyond, where the slide gives it back."""
_ROUNDS_HELD = 3
"""What the hand leaves of a slide carries the colours out within so many rounds: it is no use."""

BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Played:
    """How the plans did; arrays begin with one entry a plan."""

    cost: FloatArray
    """Minutes of work and of what the fabric suffers, each draw, shape (P, n)."""
    work: FloatArray
    """Minutes of work alone, expected, shape (P,)."""
    out: FloatArray
    """Share of draws out of tolerance, each round to come, shape (P, H)."""
    fixes: FloatArray
    """Things done, expected, shape (P,)."""
    asked: FloatArray
    """Tension asked for the coming round, %, shape (P,)."""
    expected: FloatArray
    """Where the coming round's change is expected, counted on from its place, shape (P,)."""


class Luck:
    """What chance does in the rounds to come, the same for every plan; shapes (H, n)."""

    def __init__(self, belief: Belief, rounds: int, seed: int) -> None:
        n = len(belief.turn)
        z = np.random.default_rng(seed).standard_normal((rounds + 1, 4, n))
        # an even number of draws: what luck gives to one it takes from another
        self.error = np.empty((rounds, n))
        last, fresh = belief.tension_error, np.sqrt(1 - belief.memory**2) * belief.tension_sd
        for t in range(rounds):
            last = belief.memory * last + fresh * z[t, 0]
            self.error[t] = last
        self.reading = belief.reading_sd * z[:rounds, 1]
        self.creep = np.cumsum(belief.creep_sd * z[:rounds, 2], axis=0)
        self.landing = z[:rounds, 3]
        self.needle = z[rounds, 0]
        period = belief.pattern.shape[1]
        self.pattern = belief.pattern.T[np.arange(rounds) % period]


class Table:
    """The game: what is on the needles under every plan and draw, and what she makes of it."""

    def __init__(
        self,
        plans: Sequence[Plan],
        situation: Situation,
        belief: Belief,
        fixes: tuple[FixWay, FixWay],
        rounds: int,
        seed: int,
    ) -> None:
        self.plans, self.situation, self.belief, self.fixes = plans, situation, belief, fixes
        self.rounds = rounds
        self.luck = Luck(belief, rounds, seed)
        shape = (len(plans), len(belief.turn))
        self.target = situation.fit.log.target_drift
        self.turn = np.tile(belief.turn, (shape[0], 1))
        self.offset = np.tile(belief.offset, (shape[0], 1))
        self.stitches = np.full(shape, float(situation.stitches))
        self.home = np.full(shape, belief.home)
        self.asked = np.full(shape, belief.asked_before)
        # what she reckons with, and how far she trusts it
        self.turn_hat = np.full(shape, belief.turn_mean)
        self.offset_hat = np.full(shape, belief.offset_mean)
        cov = belief.covariance()
        self.p_oo = np.full((shape[0], 1), cov[0, 0])
        self.p_ot = np.full((shape[0], 1), cov[0, 1])
        self.p_tt = np.full((shape[0], 1), cov[1, 1])
        self.cost = np.zeros(shape)
        self.work = np.zeros(shape)
        self.done = np.zeros(shape)
        self.homed = np.full(shape, -_APART)
        self.in_full = np.zeros(shape)
        self.useless = np.zeros(shape, dtype=bool)
        self.wait = np.array([[plan.wait] for plan in plans])
        self.minding = _column(plans, lambda p: p.manner is Manner.MIND_TENSION)
        self.evening_rows = np.flatnonzero([p.manner is Manner.EVEN_OUT for p in plans])
        # "carry on" keeps what is asked; another plan as usual lets go of it
        self.usual = _column(
            plans, lambda p: p.manner is Manner.AS_USUAL and p.remedy is not Remedy.CARRY_ON
        )
        self.changing = _column(plans, lambda p: p.way is not None or p.count_as_found)
        self.new_home = _column(plans, lambda p: p.new_home)
        self.caution = trust(belief.response)
        self.answer = float(belief.response.mean())
        self.hold = hold_percent(belief.turn_mean, self.answer)
        self.gain = riccati_gain()
        self.unread = self._unread_change() if situation.changed_unread else 0.0

    def _unread_change(self) -> float:
        """Return how a change that is logged and not read yet moves the coming round's offset.

        The fit counts it along the strand: the rest of the last round was knitted as before.
        """
        fit, belief = self.situation.fit, self.belief
        coming = float(fit.forecast(1).mean[0])
        self.home[:] = float(fit.expected(1).mean[0]) - coming - self.target
        turn = belief.turn_mean / (1 + self.answer * belief.asked / 100)
        pattern = float(self.luck.pattern[0].mean())
        drift = turn - self.situation.stitches - self.target + pattern
        return coming - (fit.offset.mean - fit.place_moves) - drift

    def play(self) -> Played:
        """Play every round."""
        costs, limits = self.situation.costs, self.situation.limits
        tolerance, luck = self.situation.tolerance, self.luck
        pattern = luck.pattern.mean(axis=1)
        brings = self._brings_back()
        w2 = float((self.belief.tension_sd**2).mean())
        v2 = float((self.belief.creep_sd**2).mean())
        m2 = float((self.belief.reading_sd**2).mean())
        eased = ease(tolerance, w2**0.5)
        out = np.empty((len(self.plans), self.rounds))
        nothing = np.zeros_like(self.offset)
        first_ask = first_expected = np.zeros(len(self.plans))
        later = {plan.wait + SETTLES for plan in self.plans if plan.then_count}
        waits = {plan.wait for plan in self.plans} | later
        for t in range(self.rounds):
            slip, slip_hat = self._start(t) if t in waits else (nothing, nothing)
            if t == 0 and self.unread:
                slip, slip_hat = slip + self.unread, slip_hat + self.unread
            share = np.mod(self.home + self.offset_hat, self.stitches) / self.stitches
            drift_hat = self.turn_hat - self.stitches - self.target
            # the hand
            per_percent = self.turn_hat / 100
            held = drift_hat - self.answer * per_percent * self.asked
            at_end = self.offset_hat + brings[t] + (1 - share) * held
            # colours that are given another place are where they belong
            at_end = np.where(self.new_home & (t == self.wait), 0.0, at_end)
            wanted = (drift_hat + self.gain * at_end) / (self.caution * per_percent)
            # of the drift, what is clear
            clear = np.maximum(np.abs(drift_hat) - np.sqrt(self.p_tt), 0.0) * np.sign(drift_hat)
            straying = np.abs(at_end + STRAYS_WITHIN * clear) > eased
            straying |= ROUNDS_TO_THE_EDGE * np.abs(clear) > tolerance
            minded = ask(wanted, self.asked, limits.hand_range_percent, self.hold, straying)
            started = t >= self.wait
            # what has just been changed shows what it does before the hand answers it
            changed = self.changing & (t == self.wait)
            minded = np.where(changed | self._given_up(drift_hat, held), 0.0, minded)
            if t == 0 and self.situation.changed_unread:
                minded = np.full_like(minded, self.belief.asked)
            asked = np.where(
                self.minding & started, minded, np.where(self.usual & started, 0.0, self.asked)
            )
            if t == 0:
                asked = np.where(self.minding | self.usual, asked, self.belief.asked)
                asked = np.where(started, asked, self.belief.asked)
            felt = (1 - share) * self.asked + share * asked
            self.asked = asked
            self._spend(costs.attention_minutes * (asked != 0), work=True)
            # the knitting
            self.offset = (
                self.offset
                + (self.turn + luck.creep[t]) / (1 + self.belief.response * felt / 100)
                - self.stitches
                - self.target
                + luck.error[t]
                + luck.pattern[t]
                + slip
            )
            expected = (
                self.offset_hat
                + self.turn_hat / (1 + self.answer * felt / 100)
                - self.stitches
                - self.target
                + pattern[t]
                + slip_hat
            )
            expected = self._take_place_anew(t, expected)
            self.note(t)
            if t == 0:
                first_ask, first_expected = (
                    asked.mean(axis=1),
                    (self.home + self.target + expected).mean(axis=1),
                )
            # the reading
            self.p_oo = self.p_oo + 2 * self.p_ot + self.p_tt + w2
            self.p_ot = self.p_ot + self.p_tt
            self.p_tt = self.p_tt + v2
            gain_o, gain_t = self.p_oo / (self.p_oo + m2), self.p_ot / (self.p_oo + m2)
            self.p_tt = self.p_tt - gain_t * self.p_ot
            self.p_ot = (1 - gain_o) * self.p_ot
            self.p_oo = (1 - gain_o) * self.p_oo
            missed = self.offset + luck.reading[t] - expected
            self.offset_hat = expected + gain_o * missed
            self.turn_hat = self.turn_hat + gain_t * missed
            outside = np.abs(self.offset) > tolerance
            out[:, t] = outside.mean(axis=1)
            self.cost += costs.round_out_of_tolerance_minutes * outside
            if len(self.evening_rows):
                self._even_out(t)
        self._begun_again(out)
        return Played(
            cost=self.cost,
            work=self.work.mean(axis=1),
            out=out,
            fixes=self.done.mean(axis=1),
            asked=first_ask,
            expected=first_expected,
        )

    def _brings_back(self) -> FloatArray:
        """Return what the pattern adds by itself, in the mean of a whole repeat, shape (H,).

        Before each round to come: the hand does not steer against what is on its way back.
        """
        effects = self.belief.pattern.mean(axis=0)
        gone_round = [np.cumsum(np.roll(effects, -start)).mean() for start in range(len(effects))]
        return np.resize(gone_round, self.rounds)

    def _given_up(self, drift_hat: FloatArray, held: FloatArray) -> BoolArray:
        """Return where the hand was asked in full for a while, and that is no use: let go of."""
        full = ASKED_IN_FULL * self.situation.limits.hand_range_percent
        asked = (np.abs(self.asked) >= full) & (self.asked * drift_hat > 0)
        self.in_full = np.where(asked, self.in_full + 1, 0.0)
        left = np.maximum(np.abs(held) - np.sqrt(self.p_tt), 0.0)
        no_use = (self.in_full >= ROUNDS_TO_ANSWER) & (held * drift_hat > 0)
        self.useless |= no_use & (_ROUNDS_HELD * left > self.situation.tolerance)
        return self.useless

    def note(self, t: int) -> None:
        """Keep what is wanted of a round; nothing here (see :mod:`knitlog.advice.follow`)."""

    def _spend(self, minutes: FloatArray | float, *, work: bool) -> None:
        self.cost += minutes
        if work:
            self.work += minutes

    def _start(self, t: int) -> tuple[FloatArray, FloatArray]:
        """Do what is due now; return how the change itself moves the offset, and is thought to."""
        slip, slip_hat = np.zeros_like(self.offset), np.zeros_like(self.offset)
        costs = self.situation.costs
        for i, plan in enumerate(_due(plan, t) for plan in self.plans):
            if plan is None:
                continue
            if plan.taken_out:
                way = next(way for way in self.fixes if way.remedy is plan.remedy)
                self._mend(t, i, np.full(self.offset.shape[1], plan.taken_out), way)
            if plan.remedy is Remedy.START_AGAIN:
                self._begin_again(i, plan)
                continue
            if plan.way is None and not plan.count_as_found:
                continue
            turn, turn_hat, count = self._gone_over(i, plan)
            old = self.stitches[i].copy()
            goes = (count != old) | (plan.way is not None)
            for slipped, offset, before, after in (
                (slip, self.offset[i], self.turn[i], turn),
                (slip_hat, self.offset_hat[i], self.turn_hat[i], turn_hat),
            ):
                x = np.mod(self.home[i] + offset, old)
                home = x - offset
                slipped[i] = count - after * (old - x) / before - home * count / old - offset
                slipped[i] *= goes
            self.home[i] *= count / old
            self.turn[i], self.turn_hat[i], self.stitches[i] = turn, turn_hat, count
            self.in_full[i] = np.where(goes, 0.0, self.in_full[i])
            self.useless[i] &= ~goes
            self._pay_for_change(i, plan, np.abs(count - old))
            self.done[i] += goes
        due = (self.wait == t) & self.new_home
        if due.any():
            self.homed = np.where(due, t, self.homed)
            # where the first reading was the odd one they have stacked there all along: no jog
            jog = 0.0 if place_in_doubt(self.situation) else costs.new_place_minutes
            self._spend(jog * due, work=False)
            self.done += due & (self.done == 0)
        return slip, slip_hat

    def _gone_over(self, i: int, plan: Plan) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return M, what M is thought to be, and the stitch count, gone over as planned."""
        belief, n = self.belief, self.stitches.shape[1]
        if plan.count_as_found:
            return self.turn[i], self.turn_hat[i], self._count_found(i, plan)
        assert plan.way is not None
        to = plan.way.turn
        if plan.way.needle_mm == self.situation.needle_mm:
            return self.turn[i], self.turn_hat[i], np.full(n, float(plan.way.stitches))
        # what is not known of the needle in use moves along, and some is not known beside it
        z = (belief.turn - belief.turn_mean) / belief.turn_sd
        turn = to.mean + to.now * z + to.answer * self.luck.needle
        along = to.now / belief.turn_sd
        turn_hat = to.mean + along * (self.turn_hat[i] - belief.turn_mean)
        self.p_ot[i] *= along
        self.p_tt[i] = self.p_tt[i] * along**2 + to.answer**2
        return turn, turn_hat, np.full(n, float(plan.way.stitches))

    def _count_found(self, i: int, plan: Plan) -> FloatArray:
        """Return the stitch count that suits what was found, where a change is worth it."""
        situation = self.situation
        old, multiple = self.stitches[i], situation.multiple
        drift = self.turn_hat[i] - old - self.target
        steps = np.round(drift / multiple)
        hand = situation.limits.hand_range_percent / 100 * self.answer * self.turn_hat[i]
        cast_on = situation.fit.log.stints[0].stitches
        most = situation.size_limit_percent / 100 * cast_on
        fits = np.abs(old + steps * multiple - cast_on) <= most
        # the hand first; where it has been asked already and a slide is left, not for long
        first_means = HAND_FIRST if plan.remedy is Remedy.KNIT_MORE_FIRST else HAND_LEFT_OVER
        due = (np.abs(drift) > np.maximum(first_means * hand, 0.5 * multiple)) & fits
        found: FloatArray = old + np.where(due, steps * multiple, 0.0)
        return found

    def _pay_for_change(self, i: int, plan: Plan, added: FloatArray) -> None:
        costs = self.situation.costs
        counted = added > 0
        work = counted * costs.count_change_minutes + added * costs.count_change_minutes_per_stitch
        if self.situation.multiple > 1:
            work = work + counted * costs.pattern_anew_minutes
        line = costs.count_line_minutes * counted
        if plan.way is not None and plan.way.needle_mm != self.situation.needle_mm:
            work = work + costs.needle_change_minutes
            line = line + costs.gauge_line_minutes
        self.work[i] += work
        self.cost[i] += work + line

    def _begin_again(self, i: int, plan: Plan) -> None:
        """Rip out and cast on: in place, nothing asked, the rounds done knitted once more."""
        way, situation = plan.way, self.situation
        assert way is not None
        turn, turn_hat, count = self._gone_over(i, plan)
        self.turn[i], self.turn_hat[i], self.stitches[i] = turn, turn_hat, count
        self.home[i] = situation.fit.log.readings[0].stitch
        self.offset[i] = self.offset_hat[i] = 0.0
        self.asked[i] = 0.0
        self.p_oo[i], self.p_ot[i] = 0.0, 0.0
        costs = situation.costs
        rounds = situation.fit.last_round + 1  # casting on counts as a round
        work = costs.rip_start_minutes
        work += costs.round_again_minutes_per_stitch * rounds * way.stitches
        self.work[i] += work
        self.cost[i] += work - self._gone_with_the_ripped()
        self.done[i] += 1

    def _gone_with_the_ripped(self) -> float:
        """Return what the rounds out of place so far were worth: they are ripped out with them."""
        fit, tolerance = self.situation.fit, self.situation.tolerance
        out = int((np.abs(fit.path.mean) > tolerance).sum())
        return out * self.situation.costs.round_out_of_tolerance_minutes

    def _begun_again(self, out: FloatArray) -> None:
        """Count the rounds that a new beginning knits once more, at what a round costs then."""
        again = np.array([plan.remedy is Remedy.START_AGAIN for plan in self.plans])
        if again.any():
            more = self.situation.fit.last_round
            price = self.situation.costs.round_out_of_tolerance_minutes
            self.cost[again] += more * price * out[again].mean(axis=1)[:, None]

    def _take_place_anew(self, t: int, expected: FloatArray) -> FloatArray:
        """Let the colours stack where they are expected, where that is due or long overdue."""
        due = self.new_home & (self.wait == t)
        if t and self.minding.any():
            late = self._overdue(t, expected)
            if late.any():
                self._spend(self.situation.costs.new_place_minutes * late, work=False)
                self.homed = np.where(late, t, self.homed)
                self.done += late
                due = due | late
        elif not due.any():
            return expected
        moved = np.where(due, expected, 0.0)
        self.offset = self.offset - moved
        self.home = self.home + moved
        return expected - moved

    def _overdue(self, t: int, expected: FloatArray) -> BoolArray:
        """Return where the hand alone would be so long about it that a new place is better."""
        situation, costs = self.situation, self.situation.costs
        price = costs.round_out_of_tolerance_minutes
        beyond = np.abs(expected) - situation.tolerance
        hand = situation.limits.hand_range_percent / 100 * self.answer * self.turn_hat
        drift = self.turn_hat - self.stitches - self.target
        back = np.maximum(hand - drift * np.sign(expected), 0.1)
        rounds = np.minimum(beyond / back, self.rounds - t)
        worth = price * rounds > 1.5 * costs.new_place_minutes
        settled = np.abs(drift) < hand
        found: BoolArray = (
            self.minding
            & (t > self.wait + _APART // 2)
            & worth
            & settled
            & (t - self.homed >= _APART)
        )
        return found

    def _even_out(self, t: int) -> None:
        """Mend where the colours have strayed, in the manner that does so now and then."""
        if t == self.rounds - 1:
            return
        rows, tolerance = self.evening_rows, self.situation.tolerance
        offset_hat = self.offset_hat[rows]
        due = (t + 1 > self.wait[rows]) & (np.abs(offset_hat) > tolerance)
        if not due.any():
            return
        drift = self.turn_hat[rows] - self.stitches[rows] - self.target
        beyond = np.clip(3 * drift, -_BEYOND * tolerance, _BEYOND * tolerance)
        reach = max(way.largest for way in self.fixes)
        taken = np.where(due, np.clip(offset_hat + beyond, -reach, reach), 0.0)
        minutes = np.min([way.minutes(taken) for way in self.fixes], axis=0)
        self.land(t, rows, taken, due * np.where(due, minutes, 0.0))
        self.done[rows] += due

    def _mend(self, t: int, i: int, taken: FloatArray, way: FixWay) -> None:
        self.land(t, i, taken, way.minutes(taken))
        self.done[i] += 1

    def land(self, t: int, rows: int | IntArray, taken: FloatArray, minutes: FloatArray) -> None:
        """Take offset out by hand, as near as hands do."""
        miss = np.where(taken != 0, self.situation.limits.miss_all(taken), 0.0)
        self.offset[rows] -= taken + miss * self.luck.landing[t]
        self.offset_hat[rows] -= taken
        self.p_oo[rows] += np.atleast_1d((miss**2).mean(axis=-1, keepdims=True))
        self.cost[rows] += minutes
        self.work[rows] += minutes


def _due(plan: Plan, t: int) -> Plan | None:
    """Return what a plan has to start after ``t`` rounds; None if nothing."""
    if plan.then_count and t == plan.wait + SETTLES:
        return replace(plan, wait=t, way=None, count_as_found=True)
    return plan if plan.wait == t else None


def _column(plans: Sequence[Plan], says: object) -> BoolArray:
    return np.array([[says(plan)] for plan in plans])  # type: ignore[operator]


def play(
    plans: Sequence[Plan],
    situation: Situation,
    belief: Belief,
    fixes: tuple[FixWay, FixWay],
    seed: int,
) -> Played:
    """Play every plan forward over the rounds left, :data:`HORIZON` at most."""
    rounds = max(1, min(situation.rounds_left, HORIZON))
    return Table(plans, situation, belief, fixes, rounds, seed).play()
