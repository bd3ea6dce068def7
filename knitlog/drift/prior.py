"""What is believed before the first round is read.

Weak on purpose: a few rounds of this knitter's own reading outweigh it.  What a
finished project teaches (her noise, her answer to a needle step) can be put here
in place of the defaults.
"""

from dataclasses import dataclass
from math import log

REFERENCE_STITCHES = 128.0


@dataclass(frozen=True, slots=True)
class Prior:
    """Beliefs about a knitter, before her log is read.

    The noise medians, the scale of the drift and the miscount rate are
    common practice, no source; they were set on simulated knitters and their
    calibration is measured in the project's benchmarks.
    """

    tension_noise_median: float = 0.7
    """Spread of one round's tension error, stitches on 128; grows with the root of the count."""
    reading_noise_median: float = 0.5
    """Spread of a reading, stitches."""
    noise_log_sd: float = 0.7
    """Spread of the log of either noise (natural log)."""
    drift_sd_share: float = 0.08
    """Spread of the drift about its target, as a share of the stitch count."""
    memory_nodes: tuple[tuple[float, float], ...] = ((0.0, 0.88), (0.4, 0.09), (0.75, 0.03))
    """(correlation of one round's tension error with the next, its probability)."""
    miscount_rate: float = 0.01
    """Share of readings expected to be gross miscounts."""
    miscount_width: float = 40.0
    """A miscount may land anywhere in a window this wide, stitches."""
    break_rate: float = 0.012
    """Chance, a round, that the drift changes and nobody logs it."""
    breaks_a_log: float = 0.4
    """Such changes expected in a whole log of up to ``settled_rounds``, so that the chance a
    round falls as the log grows."""
    settled_rounds: int = 60
    """Rounds beyond which a log counts as settled: fewer such changes are expected in all, by
    the square, so that what has long been so is not given up for a few odd rounds."""
    break_sd_share: float = 0.015
    """Spread of such a change, as a share of the stitch count."""
    jump_rate: float = 0.001
    """Chance, a round, that the offset jumps once and nobody logs it."""
    jump_sd: float = 6.0
    """Spread of such a jump, stitches."""
    sitting_nodes: tuple[tuple[float, float], ...] = (
        (0.0, 0.7),
        (0.3, 0.1),
        (0.55, 0.12),
        (1.0, 0.08),
    )
    """(spread of the drift between sittings, stitches/round on 128; its probability)."""
    by_strand_rate: float = 0.8
    """Chance that a log's wraps are counted along the strand, not by the round."""
    creep_nodes: tuple[tuple[float, float], ...] = (
        (0.0, 0.97),
        (0.08, 0.01),
        (0.28, 0.01),
        (0.7, 0.01),
    )
    """(how much the drift changes from one round to the next, as a share of a round's own
    tension noise; its probability)."""
    trend_nodes: tuple[tuple[float, float], ...] = ((0.0, 0.75), (1.5, 0.25))
    """(spread of what a drift that changes evenly gains over the whole log, stitches/round on
    128; its probability)."""
    trend_rounds: int = 7
    """Rounds it takes at least to gain so much."""
    pattern_nodes: tuple[tuple[float, float], ...] = ((0.0, 0.2), (1.0, 0.4), (3.0, 0.4))
    """(spread of what the rounds of a told pattern add to the offset, stitches on 128; its
    probability)."""
    pattern_rate: float = 0.05
    """Chance that the log shows a pattern of 2 to 8 rounds that nobody told."""
    needle_response_log_sd: float = 0.35
    """Spread of the answer to a needle step, as a share of the step (of its logarithm)."""
    needle_response_factor: float = 1.0
    """How much of the loop law's answer to a needle step this knitter shows."""
    stint_sd_share: float = 0.004
    """Drift change that comes with another needle, as a share of the stitch count."""
    count_sd_share: float = 0.0025
    """The same for another stitch count on the needles in use: the loops stay as they are."""
    tension_response_mean: float = 0.6
    """Share of a tension asked of the hand that it gives."""
    tension_response_sd: float = 0.4
    """Its spread: wide (common practice, no source)."""
    drift_mean: float | None = None
    """Expected drift of the first stint, stitches/round, where the plan or past projects say."""
    drift_sd: float | None = None
    """Its spread, stitches/round."""

    def break_chance(self, rounds: int) -> float:
        """Return the chance, a round, of an unlogged change of drift in a log of ``rounds``."""
        settled = min(1.0, self.settled_rounds / max(rounds, 1)) ** 2
        return min(self.break_rate, self.breaks_a_log * settled / max(rounds, 1))

    def log_tension_noise(self, stitches: float) -> float:
        """Return the prior mean of log(w), w in stitches, for a round of ``stitches``."""
        return log(self.tension_noise_median) + 0.5 * log(stitches / REFERENCE_STITCHES)

    def log_reading_noise(self) -> float:
        """Return the prior mean of log(m), m in stitches."""
        return log(self.reading_noise_median)

    def first_drift(self, stitches: float, target: float) -> tuple[float, float]:
        """Return mean and sd of the first stint's drift, stitches/round."""
        mean = target if self.drift_mean is None else self.drift_mean
        sd = self.drift_sd_share * stitches if self.drift_sd is None else self.drift_sd
        return mean, max(sd, 1e-3)
