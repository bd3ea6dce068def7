"""One plan followed round by round, for a picture of what comes of it.

The same game the plans are weighed by (:mod:`knitlog.advice.rollout`), played for one draw
more: that of the means, a hand as it is most likely to be, with an unevenness handed in.
"""

from dataclasses import dataclass, replace

import numpy as np

from knitlog.advice.belief import Belief, FloatArray, IntArray, believe
from knitlog.advice.fixes import FixWay, fix_ways
from knitlog.advice.plans import Plan
from knitlog.advice.rollout import Table
from knitlog.advice.situation import Situation

_DRAWS = 32
"""Enough to say how far she trusts what she reckons with."""


@dataclass(frozen=True, slots=True)
class Followed:
    """The rounds to come, each array of shape (R,), stitches."""

    moved: FloatArray
    """Where the colour change comes up, counted on from where it stands now."""
    offsets: FloatArray
    """The same from its place, which may be taken anew on the way."""
    stitches: IntArray
    """Stitches in the round."""
    turns: FloatArray
    """Stitches one turn of the colours makes in the round."""
    taken_out: FloatArray
    """What is worked in by hand once the round is done; + pulls late colours back."""
    taken_out_first: float
    """The same before the first of them."""


def follow(situation: Situation, plan: Plan, errors: FloatArray, *, seed: int = 0) -> Followed:
    """Follow a plan of :attr:`knitlog.advice.Option.plan` over as many rounds as ``errors`` has.

    ``errors``: how far the hand's unevenness moves the colours in each round, stitches.
    """
    belief = _with_the_means(believe(situation, _DRAWS, seed))
    over = situation.limits.tapestry_stitches(situation.gauge)
    fixes = fix_ways(situation.stitches, over, situation.costs, situation.limits)
    follower = _Follower(plan, situation, belief, fixes, errors)
    follower.play()
    return follower.followed()


def _with_the_means(belief: Belief) -> Belief:
    """The same belief with its means as a last draw."""

    def more(draws: FloatArray) -> FloatArray:
        return np.concatenate([draws, draws.mean(axis=0, keepdims=True)])

    return replace(
        belief,
        turn=more(belief.turn),
        offset=more(belief.offset),
        response=more(belief.response),
        tension_sd=more(belief.tension_sd),
        reading_sd=more(belief.reading_sd),
        memory=more(belief.memory),
        tension_error=more(belief.tension_error),
        creep_sd=more(belief.creep_sd),
        pattern=more(belief.pattern),
        account=np.append(belief.account, 0),
    )


class _Follower(Table):
    """The game of one plan, which keeps what happens to the last draw."""

    def __init__(
        self,
        plan: Plan,
        situation: Situation,
        belief: Belief,
        fixes: tuple[FixWay, FixWay],
        errors: FloatArray,
    ) -> None:
        super().__init__([plan], situation, belief, fixes, len(errors), seed=0)
        luck = self.luck
        luck.error[:, -1] = errors
        for even in (luck.reading, luck.creep, luck.landing):
            even[:, -1] = 0.0
        luck.needle[-1] = 0.0
        self.kept: list[tuple[float, float, float, float]] = []
        self.taken_out = np.zeros(len(errors) + 1)

    def note(self, t: int) -> None:
        answered = 1 + self.belief.response[-1] * self.asked[0, -1] / 100
        offset = float(self.offset[0, -1])
        place = float(self.home[0, -1]) + self.target * (t + 1)
        turn = float(self.turn[0, -1]) / answered
        self.kept.append((place + offset, offset, float(self.stitches[0, -1]), turn))

    def land(self, t: int, rows: int | IntArray, taken: FloatArray, minutes: FloatArray) -> None:
        super().land(t, rows, taken, minutes)
        # after the round noted last
        self.taken_out[len(self.kept)] += taken[..., -1].sum()

    def followed(self) -> Followed:
        """Return what was kept."""
        at, offsets, stitches, turns = np.array(self.kept).T
        stands = self.belief.home + self.belief.offset[-1]
        return Followed(
            moved=at - stands,
            offsets=offsets,
            stitches=stitches.astype(np.int64),
            turns=turns,
            taken_out=self.taken_out[1:],
            taken_out_first=float(self.taken_out[0]),
        )
