"""What is known now, in as few numbers as the decision needs.

The fit hands over joint draws of drift and offset; their mean and spread are taken as a
bivariate normal.  Drift is against its target throughout this room, so that 0 is what
the knitter wants.
"""

from dataclasses import dataclass

import numpy as np

from knitlog.drift.result import Draws
from knitlog.yarn.geometry import wrap_offset


@dataclass(frozen=True, slots=True)
class Belief:
    """Drift and offset as they are believed now, with the noises about them."""

    offset: float
    """Offset at the last logged round, stitches, to the nearest colour change of its kind."""
    drift: float
    """Stitches/round, less the target."""
    offset_var: float
    drift_var: float
    covariance: float
    """Of offset and drift."""
    tension_sd: float
    """Spread that one round adds, stitches."""
    reading_sd: float
    """Spread of one round's reading, all its colour changes together, stitches."""

    @property
    def drift_sd(self) -> float:
        """Return the spread of the drift, stitches/round."""
        return float(np.sqrt(self.drift_var))

    @property
    def offset_sd(self) -> float:
        """Return the spread of the offset, stitches."""
        return float(np.sqrt(self.offset_var))

    def told_drift(self, drift: float, sd: float) -> "Belief":
        """Return the belief after hearing, from elsewhere, of ``drift`` give or take ``sd``.

        Two normal beliefs of one thing, weighed by their precision (Durbin & Koopman,
        Time Series Analysis by State Space Methods, lemma 1 of section 4.2).
        """
        gain = self.drift_var / (self.drift_var + sd**2)
        along = self.covariance / (self.drift_var + sd**2)
        surprise = drift - self.drift
        return Belief(
            offset=self.offset + along * surprise,
            drift=self.drift + gain * surprise,
            offset_var=self.offset_var - along * self.covariance,
            drift_var=self.drift_var * (1 - gain),
            covariance=self.covariance * (1 - gain),
            tension_sd=self.tension_sd,
            reading_sd=self.reading_sd,
        )


def believe(
    draws: Draws, *, target_drift: float, stitches: float, repeats: float, colour_changes: int
) -> Belief:
    """Return the belief that sums up ``draws``.

    ``colour_changes`` are read each round and share its reading noise.  An offset of more
    than half a repeat is one of the next repeat, nearer by.
    """
    covariance = np.cov(draws.drift, draws.offset)
    drift = float(np.mean(draws.drift))
    # the repeat as knitted: (N + d) / k stitches
    period = max(stitches + drift, 1.0) / repeats
    return Belief(
        offset=float(wrap_offset(float(np.mean(draws.offset)), period)),
        drift=drift - target_drift,
        offset_var=float(covariance[1, 1]) + 1e-6,
        drift_var=float(covariance[0, 0]) + 1e-6,
        covariance=float(covariance[0, 1]),
        tension_sd=max(float(np.sqrt(np.mean(draws.tension_noise_sd**2))), 0.1),
        reading_sd=float(np.median(draws.reading_noise_sd)) / max(colour_changes, 1) ** 0.5,
    )


def settled_offset_sd(tension_sd: float, reading_sd: float) -> float:
    """Return how well the offset is known once the drift is, stitches.

    The steady state of the local level: P = (sqrt(w^4 + 4 w^2 m^2) - w^2) / 2 after the
    reading (Durbin & Koopman, section 2.11).

    >>> round(settled_offset_sd(1.0, 1.0) ** 2, 4)
    0.618
    """
    w2, m2 = tension_sd**2, reading_sd**2
    return float(np.sqrt(max((np.sqrt(w2**2 + 4 * w2 * m2) - w2) / 2, 0.0)))
