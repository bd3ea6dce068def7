"""What is kept of a finished project: plain numbers, each with its spread.

Records are free of what was believed beforehand, as far as that can be done, so that
pooling many of them does not count the same belief many times.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Materials:
    """Needle, gauge, yarn and stitch pattern: what is known of a piece before its first round."""

    needle_mm: float | None = None
    gauge_stitches_per_cm: float | None = None
    """Stitches in a centimetre of the swatch, if one was counted."""
    yarn_thickness_mm: float | None = None
    fibre: str | None = None
    """In the knitter's words, as 'wool'; compared without regard to case."""
    stitch_pattern: str | None = None
    """In the knitter's words, as 'plain' or 'ribbing'."""


@dataclass(frozen=True, slots=True)
class StintRecord:
    """Yarn per stitch over one run of rounds with the same needle and stitch count."""

    first_round: int
    rounds: int
    stitches: int
    needle_mm: float | None
    yarn_per_stitch_mm: float
    yarn_per_stitch_sd_mm: float
    gauge_stitches_per_cm: float | None = None
    """None once the needle differs from the one the gauge was counted on."""


@dataclass(frozen=True, slots=True)
class NeedleStep:
    """What one change of needle did to the yarn a stitch takes."""

    expected_log: float
    """Change of log yarn per stitch by the loop law, ln((D2 + y) / (D1 + y))."""
    answer_log: float
    """Change of log yarn per stitch as knitted."""
    answer_sd: float
    """Its spread."""


@dataclass(frozen=True, slots=True)
class NoiseRecord:
    """How unevenly she knitted and read one project, as logarithms."""

    log_tension: float
    """ln of the spread of one round's tension error, stitches, on a round of 128."""
    log_tension_sd: float
    log_reading: float
    """ln of the spread of a reading, stitches."""
    log_reading_sd: float


@dataclass(frozen=True, slots=True)
class SittingRun:
    """How far the colours moved from the end of one sitting to the end of the next.

    All within one stint, in order; all the tuples are of one length.
    """

    stitches: int
    rounds: tuple[int, ...]
    """Rounds between."""
    moved: tuple[float, ...]
    """Stitches of offset, fixes put back in."""
    known_sd: tuple[float, ...]
    """Spread of each beside tension and reading (a fix in it), stitches."""
    tension_sd: float
    """Of one round, stitches."""
    reading_sd: float
    """Of one reading, stitches."""


@dataclass(frozen=True, slots=True)
class FixRecord:
    """What one fix was meant to take out, and what it did."""

    how: str
    """As 'tapestry needle' or 'rip back'."""
    meant: float
    """Stitches of offset; positive pulls a late colour change back."""
    did: float
    """Stitches, as the rounds after it show."""
    did_sd: float


@dataclass(frozen=True, slots=True)
class Measured:
    """One number a project shows, with its spread."""

    value: float
    sd: float


@dataclass(frozen=True, slots=True)
class FinishedProject:
    """One project boiled down."""

    name: str
    materials: Materials
    stints: tuple[StintRecord, ...] = ()
    steps: tuple[NeedleStep, ...] = ()
    noise: NoiseRecord | None = None
    sittings: tuple[SittingRun, ...] = ()
    fixes: tuple[FixRecord, ...] = ()
    creep_log_likelihood: tuple[float, ...] = ()
    """Of each creep the drift room reckons with, up to a constant; empty where too short."""
    purl_percent: Measured | None = None
    """How much more yarn wrong-side rows took than right-side rows, %, where worked flat."""
    tension_answer: Measured | None = None
    """Share given of the tension she asked of her hand."""
