"""What is believed of the knitting as it stands: joint draws, and what she would reckon with.

M = k L / s is the number of stitches one turn of the colours makes as she knits with no
tension asked of her hand; on N stitches the drift is M - N.  The draws say how things may
be; the means are all she, or anybody, has to steer by.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from knitlog.advice.situation import Situation
from knitlog.advice.turns import Turn
from knitlog.yarn.geometry import to_knitting_order

FloatArray = npt.NDArray[np.floating[Any]]
IntArray = npt.NDArray[np.int64]

_LEAST_SD = 1e-3
_RESPONSE = (0.05, 1.5)
"""No hand that tries to knit looser knits tighter."""


@dataclass(frozen=True, slots=True)
class Belief:
    """Draws, each of shape (n,), and their means; stitches unless said."""

    turn: FloatArray
    """M on the needle in use, no tension asked."""
    offset: FloatArray
    """At the last logged round."""
    response: FloatArray
    """Share of a tension asked that the hand gives."""
    tension_sd: FloatArray
    reading_sd: FloatArray
    memory: FloatArray
    """Correlation of one round's tension error with the next one's."""
    tension_error: FloatArray
    """The last round's own."""
    creep_sd: FloatArray
    """Spread by which M changes from one round to the next."""
    pattern: FloatArray
    """What pattern adds to each of the coming rounds, shape (n, p)."""
    account: IntArray
    """Index into the fit's accounts."""
    asked: float
    """Tension asked now, %."""
    asked_before: float
    """Tension asked in the last logged round, %."""
    home: float
    """Where the logged change belongs, stitches from the beginning of the round; counted on so
    that home + offset is where it was read last."""

    @property
    def turn_mean(self) -> float:
        """Return M as expected."""
        return float(self.turn.mean())

    @property
    def turn_sd(self) -> float:
        """Return the spread of M."""
        return max(float(self.turn.std()), _LEAST_SD)

    @property
    def offset_mean(self) -> float:
        """Return the offset as expected."""
        return float(self.offset.mean())

    @property
    def now(self) -> Turn:
        """Return M on the needle in use, as a mean and what is not known of it."""
        return Turn(self.turn_mean, self.turn_sd, 0.0)

    def covariance(self) -> FloatArray:
        """Return the covariance of offset and M, shape (2, 2)."""
        found: FloatArray = np.cov(np.stack([self.offset, self.turn]))
        return found + _LEAST_SD**2 * np.eye(2)


def believe(situation: Situation, draws: int, seed: int) -> Belief:
    """Return what the fit says, the tension asked taken off."""
    fit = situation.fit
    drawn = fit.draws(draws, seed)
    asked = fit.tension_asked_percent
    # the mean of a few draws is near what the fit says, and made to be it
    drift = drawn.drift + fit.drift.mean - drawn.drift.mean()
    offset = drawn.offset + situation.offset - drawn.offset.mean()
    # as she knits now M' = M / (1 + c q / 100)
    response = np.clip(
        drawn.response + fit.tension_response.mean - drawn.response.mean(), *_RESPONSE
    )
    turn = (situation.stitches + drift) * (1 + response * asked / 100)
    return Belief(
        turn=turn,
        offset=offset,
        response=response,
        tension_sd=drawn.tension_noise_sd,
        reading_sd=drawn.reading_noise_sd,
        memory=drawn.tension_memory,
        tension_error=drawn.tension_error,
        creep_sd=drawn.drift_creep_sd,
        pattern=drawn.pattern,
        account=drawn.account,
        asked=asked,
        asked_before=_asked_in(situation, fit.last_round),
        home=_last_read(situation) - situation.offset,
    )


def _asked_in(situation: Situation, round_number: int) -> float:
    asked = [t for t in situation.fit.log.tension if t.first_round <= round_number]
    return max(asked, key=lambda t: t.first_round).percent if asked else 0.0


def _last_read(situation: Situation) -> float:
    """Return where the last reading lies, in knitting order."""
    log = situation.fit.log
    last = max(log.readings, key=lambda r: (r.round, -r.change))
    if not log.flat:
        return last.stitch
    stint = max(
        (s for s in log.stints if s.first_round <= last.round),
        key=lambda s: s.first_round,
        default=log.stints[0],
    )
    return to_knitting_order(last.round, last.stitch, stint.stitches)
