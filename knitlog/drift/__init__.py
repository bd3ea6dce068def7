"""The drift: how far the colours slide each round, with honest uncertainty.

``fit(log)`` is the one entry point; see :mod:`knitlog.drift.log` for what goes
in and :mod:`knitlog.drift.result` for what comes out.
"""

from knitlog.drift.errors import LogError
from knitlog.drift.fit import fit
from knitlog.drift.fitted import DriftFit
from knitlog.drift.log import DriftLog, Fix, Reading, Stint
from knitlog.drift.prior import Prior
from knitlog.drift.result import (
    AlternativeReading,
    Break,
    Direction,
    Draws,
    Estimate,
    Forecast,
    OffsetPath,
    StintDrift,
    Suspect,
)
from knitlog.drift.sections import Section

__all__ = [
    "AlternativeReading",
    "Break",
    "Direction",
    "Draws",
    "DriftFit",
    "DriftLog",
    "Estimate",
    "Fix",
    "Forecast",
    "LogError",
    "OffsetPath",
    "Prior",
    "Reading",
    "Section",
    "Stint",
    "StintDrift",
    "Suspect",
    "fit",
]
