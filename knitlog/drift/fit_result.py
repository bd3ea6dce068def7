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
    homes: FloatArray
    """Unwrapped place of the first colour change in each round, what is wanted of its drift
    included, stitches in knitting order, shape (n,); it is at ``homes + mean``."""


@dataclass(frozen=True, slots=True)
class DriftPath:
    """The drift round by round, stitches/round; arrays of one length."""

    rounds: IntArray
    """From the first to the last logged."""
    mean: FloatArray
    """Change of offset that such a round makes, pattern averaged out."""
    low95: FloatArray
    high95: FloatArray


@dataclass(frozen=True, slots=True)
class PatternEffects:
    """Rounds that differ by pattern: what each of its rounds adds to the offset."""

    rounds: int
    """Rounds after which the pattern begins anew, p."""
    effects: tuple[Estimate, ...]
    """Stitches of offset a whole round adds, rounds 1, 2 ... p of the log; they sum to zero."""
    percent: tuple[Estimate, ...]
    """Yarn per stitch of each against their average, %."""


@dataclass(frozen=True, slots=True)
class PatternFound:
    """A pattern nobody told, which the log shows."""

    rounds: int
    probability: float


@dataclass(frozen=True, slots=True)
class SlowChange:
    """A drift that has been changing slowly."""

    since_round: int
    change: Estimate
    """By how much in all, stitches/round; + is towards smaller stitches."""


@dataclass(frozen=True, slots=True)
class Happening:
    """Something an account of the log says happened."""

    kind: Literal["miscount", "drift", "jump"]
    round: int


@dataclass(frozen=True, slots=True)
class AccountSummary:
    """One account of the log that counts."""

    probability: float
    happenings: tuple[Happening, ...]
    """What happened unlogged, by round; none in the plain account."""
    drift: Estimate
    """Stitches/round now, by this account."""
    offset: Estimate
    """Stitches at the last logged round, by this account."""


@dataclass(frozen=True, slots=True)
class Expected:
    """Where a colour change will be read in each coming round; arrays of one length."""

    rounds: IntArray
    mean: FloatArray
    """Unwrapped position in knitting order, stitches."""
    sd: FloatArray
    """Its spread, that of a reading included."""
    low95: FloatArray
    high95: FloatArray
    stitch: FloatArray
    """``mean`` as she would count it in that round: wrapped, and as seen where worked flat."""
    home: FloatArray
    """Where it should fall, unwrapped like ``mean``, a wanted drift included, stitches."""


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
    drift_creep_sd: FloatArray
    """Spread by which the drift itself changes from one round to the next, stitches/round."""
    response: FloatArray
    """Share of a tension asked of the hand that it gives."""
    account: IntArray
    """Index into the fit's ``accounts``."""
    pattern: FloatArray
    """What pattern adds to the offset of the next round, the one after ..., stitches, shape
    (n, p); p = 1 and zeros where there is none."""


@dataclass(frozen=True, slots=True)
class AlternativeReading:
    """Another way to unwrap the log that fits nearly as well."""

    drift: float
    """Stitches/round under this reading of the log."""
    probability: float
    taken: float
    """Stitches/round under the reading that is taken."""
