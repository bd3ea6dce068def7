"""What the fit answers: named numbers with honest spread."""

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.floating[Any]]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]
Direction = Literal["too small", "too large", "in line", "unclear"]


@dataclass(frozen=True, slots=True)
class Estimate:
    """A number and how far to trust it."""

    mean: float
    sd: float
    low95: float
    """Lower end of the 95 % interval."""
    high95: float
    """Upper end of the 95 % interval."""


@dataclass(frozen=True, slots=True)
class Suspect:
    """A reading that looks like a miscount."""

    round: int
    change: int
    stitch: float
    """As logged."""
    expected: float
    """Where the fit would have put it, wrapped to the round, stitches."""
    probability: float
    """How likely it is a miscount, 0 to 1."""


@dataclass(frozen=True, slots=True)
class Break:
    """Something that changed and was not logged."""

    round: int
    """First round that looks different."""
    kind: Literal["drift", "jump"]
    """``drift``: stitches a round changed; ``jump``: the offset moved once."""
    size: float
    """Change of drift, stitches/round, or size of the jump, stitches."""
    probability: float


@dataclass(frozen=True, slots=True)
class StintDrift:
    """The drift of one stint."""

    first_round: int
    last_round: int
    stitches: int
    needle_mm: float | None
    drift: Estimate
    """Stitches/round."""
    logged: bool
    """False when the stint begins at a break nobody logged."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """Where the offset is heading; arrays of one length, one entry a round ahead."""

    rounds: IntArray
    mean: FloatArray
    """Offset, stitches."""
    sd: FloatArray
    low95: FloatArray
    high95: FloatArray


@dataclass(frozen=True, slots=True)
class OffsetPath:
    """The chart: what was read and what the fit makes of it, stitches of offset."""

    rounds: IntArray
    """Every round from the first to the last logged, shape (n,)."""
    mean: FloatArray
    """Fitted offset, shape (n,)."""
    sd: FloatArray
    """Its spread, shape (n,)."""
    reading_rounds: IntArray
    """Round of each reading, shape (m,), in the log's order."""
    reading_changes: IntArray
    """Colour change of each reading, shape (m,)."""
    reading_offsets: FloatArray
    """Unwrapped offset of each reading against its home, shape (m,)."""


@dataclass(frozen=True, slots=True)
class Draws:
    """Joint draws from the fitted distribution, each array of shape (n,)."""

    drift: FloatArray
    """Stitches/round in the present stint."""
    offset: FloatArray
    """Offset at the last logged round, stitches."""
    tension_noise_sd: FloatArray
    """Spread of one round's own tension error, stitches."""
    reading_noise_sd: FloatArray
    """Spread of a reading, stitches."""
    tension_memory: FloatArray
    """Correlation of one round's tension error with the next round's, 0 to 1."""
    tension_error: FloatArray
    """The last round's own tension error (carries on where there is memory), stitches."""


@dataclass(frozen=True, slots=True)
class AlternativeReading:
    """Another way to unwrap the log that fits nearly as well."""

    drift: float
    """Stitches/round under this reading of the log."""
    probability: float
    question: str
    """What to ask the knitter, in one sentence."""
