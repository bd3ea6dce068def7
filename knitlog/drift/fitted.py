"""The fit's answer, told in the knitter's terms."""

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from knitlog.drift.fit_result import (
    AccountSummary,
    AlternativeReading,
    Break,
    Direction,
    Draws,
    DriftPath,
    Estimate,
    Expected,
    Forecast,
    OffsetPath,
    PatternEffects,
    PatternFound,
    SlowChange,
    StintDrift,
    Suspect,
)
from knitlog.drift.future import ahead, as_counted, draws
from knitlog.drift.log import DriftLog
from knitlog.drift.mixture import TAILS, quantiles
from knitlog.drift.path import Smoothed, blended, rounds_of, smoothed
from knitlog.drift.places import Places
from knitlog.drift.prior import Prior
from knitlog.drift.sections import Section, sections
from knitlog.drift.stints import stint_drifts
from knitlog.drift.weighed import Posterior, Weighed
from knitlog.yarn.geometry import wrap_offset

IN_LINE_SHARE = 0.005
"""A drift under this share of the stitch count counts as in line (0.6 on 128: five rounds
for three stitches; common practice, no source)."""


_MOST_PATHS, _HAS_A_SAY = 6, 0.03
"""Hypotheses whose paths are put together, and the probability from which one has a say."""


@dataclass(frozen=True)
class DriftFit:
    """What the log says of the drift, with its spread.

    Positive drift: the colour changes land past the last ones, the stitches take too
    little yarn.  Offsets are against the target, and against where each colour change
    fell in the first round logged (or its stated home).
    """

    log: DriftLog
    prior: Prior
    last_round: int
    """Number of the last logged round."""
    rounds_logged: int
    """How many rounds have a reading."""
    drift: Estimate
    """Stitches/round, now."""
    offset: Estimate
    """Stitches, at the last logged round (fixes made since included)."""
    yarn_per_stitch_mm: Estimate | None
    """mm; None where the repeat's length is not known."""
    target_yarn_per_stitch_mm: float | None
    """mm."""
    yarn_error_percent: Estimate
    """Yarn per stitch against its target, %."""
    tension_noise_sd: float
    """Spread of one round's own tension error, stitches (posterior mean)."""
    reading_noise_sd: float
    """Spread of a reading, stitches (posterior mean)."""
    direction: Direction
    suspects: tuple[Suspect, ...]
    breaks: tuple[Break, ...]
    alternatives: tuple[AlternativeReading, ...]
    tension_response: Estimate
    """Share of a tension asked of the hand that it gives."""
    tension_asked_percent: float
    """What is asked of the hand now, %."""
    pattern: PatternEffects | None
    """None where no pattern was told and none shows."""
    pattern_found: PatternFound | None
    """A pattern nobody told."""
    slow_change: SlowChange | None
    """None where the drift does not clearly change slowly."""
    accounts: tuple[AccountSummary, ...]
    """The accounts of the log that count, likeliest first."""
    _found: tuple[Weighed, ...] = field(repr=False)
    _posterior: Posterior = field(repr=False)
    _places: Places = field(repr=False)

    @property
    def stitches(self) -> int:
        """Return the stitches in a round now."""
        return self.log.stints[-1].stitches

    @property
    def _best(self) -> Weighed:
        return self._found[0]

    @cached_property
    def _paths(self) -> list[Smoothed]:
        return smoothed(self._best, self.prior)

    @cached_property
    def _all_paths(self) -> list[Smoothed]:
        """Return the paths of all hypotheses that have a say, weighted by their probability."""
        shares = self._posterior.hypothesis.tolist()
        found = [self._paths] + [
            smoothed(w, self.prior)
            for w, share in list(zip(self._found, shares, strict=True))[1:_MOST_PATHS]
            if share >= _HAS_A_SAY
        ]
        said = [shares[0], *(s for s in shares[1:_MOST_PATHS] if s >= _HAS_A_SAY)]
        return [
            replace(path, weight=path.weight * share)
            for paths, share in zip(found, said, strict=True)
            for path in paths
        ]

    @cached_property
    def path(self) -> OffsetPath:
        """Return the readings' offsets and the fitted offset at every round."""
        best, places = self._best, self._places
        weight, mean, variance = blended(self._paths, "position")
        rounds = rounds_of(best)
        mean = mean - places.at(rounds)
        centre = weight @ mean
        back = np.argsort(best.line.readings.order)
        read = best.line.readings
        return OffsetPath(
            rounds=rounds,
            mean=centre,
            sd=np.sqrt(weight @ (variance + (mean - centre) ** 2)),
            reading_rounds=read.round[back],
            reading_changes=np.array(read.changes)[read.change][back],
            reading_offsets=(best.line.y - places.at(read.round, read.change))[back],
            homes=places.counted(rounds) + self.log.target_drift * (rounds - rounds[0]),
        )

    @cached_property
    def drift_path(self) -> DriftPath:
        """Return the drift round by round.

        Smoothed at the noises' means; what they and the accounts of no say leave open moves and
        widens the whole path as it does its end, the present drift.
        """
        weight, mean, variance = blended(self._all_paths, "drift")
        low, high = quantiles(weight, mean, np.sqrt(variance), TAILS)
        target, centre = self.log.target_drift, weight @ mean
        wide = 1.0
        if self.log.stints[-1].first_round <= self.last_round:
            wide = (self.drift.high95 - self.drift.low95) / float(high[-1] - low[-1])
            target = self.drift.mean - float(centre[-1])
        return DriftPath(
            rounds_of(self._best),
            centre + target,
            centre + target + (low - centre) * wide,
            centre + target + (high - centre) * wide,
        )

    @cached_property
    def stint_drifts(self) -> tuple[StintDrift, ...]:
        """Return the drift of every stint, and of every stretch after an unlogged change.

        That of the last is the present one, of one before it the drift in its middle.
        """
        return stint_drifts(self._best, self._paths, self._posterior, self.drift)

    @cached_property
    def sections(self) -> tuple[Section, ...]:
        """Return yarn per stitch around the round, where two or more changes are logged."""
        return sections(self.log, self._best, self.drift)

    @property
    def place_taken_in(self) -> int | None:
        """Return the round to come in which the place is taken anew; None if in none."""
        taken = max((home.first_round for home in self.log.new_homes), default=0)
        return taken if taken > self.last_round else None

    @property
    def offset_now(self) -> float:
        """Return the offset as it is spoken of, stitches.

        That of the last round logged; where the place is taken anew in a round to come, the one
        expected there.  To the nearest colour change of its kind: a whole repeat further on the
        colours are in place again.
        """
        offset = self.offset.mean
        if self.place_taken_in is not None:
            offset = float(self.forecast(self.place_taken_in - self.last_round).mean[-1])
        return wrap_offset(offset, self.stitches / self.log.repeats)

    @property
    def place_moves(self) -> float:
        """Return how far the place moves where it is taken anew in a round to come, stitches.

        The offset is still against the place of the last round logged.
        """
        if self.place_taken_in is None:
            return 0.0
        then, before = np.array([self.place_taken_in]), self._places.until(self.last_round)
        return float(self._places.at(then)[0] - before.at(then)[0])

    def forecast(self, rounds_ahead: int) -> Forecast:
        """Return the offset of each of the next ``rounds_ahead`` rounds if nothing is done.

        What was told of rounds to come, the pattern and a drift that goes on creeping included.
        """
        rounds = self.last_round + np.arange(1, rounds_ahead + 1)
        return ahead(self._posterior, self._best, self._places, rounds)

    def expected(self, rounds_ahead: int, change: int | None = None) -> Expected:
        """Return where a colour change will be read in each of the next rounds.

        ``change`` is the number of the colour change, the first of the log where None.
        """
        told = self.forecast(rounds_ahead)
        line = self._best.line
        column = 0 if change is None else line.readings.changes.index(change)
        target = self.log.target_drift * (told.rounds - line.first_round)
        home = self._places.counted(told.rounds, column) + target
        on_path = told.mean + self._places.at(told.rounds, column) + target
        sd = np.sqrt(told.sd**2 + self.reading_noise_sd**2)
        mean, wide = told.mean + home, sd / told.sd
        return Expected(
            rounds=told.rounds,
            mean=mean,
            sd=sd,
            low95=mean + (told.low95 - told.mean) * wide,
            high95=mean + (told.high95 - told.mean) * wide,
            stitch=as_counted(line, on_path, told.rounds, column, self.drift.mean),
            home=home,
        )

    def draws(self, size: int, seed: int) -> Draws:
        """Return ``size`` joint draws of what is not known, the same for the same seed."""
        return draws(self._posterior, self._best, self._places, size, seed)
