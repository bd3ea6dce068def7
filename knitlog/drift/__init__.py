"""The drift: how far the colours slide each round, with honest uncertainty.

``fit(log)`` is the one entry point; see :mod:`knitlog.drift.log` for what goes
in and :mod:`knitlog.drift.result` for what comes out.
"""

from knitlog.drift.log import DriftLog, Fix, Reading, Stint
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

__all__ = [
    "AlternativeReading",
    "Break",
    "Direction",
    "Draws",
    "DriftLog",
    "Estimate",
    "Fix",
    "Forecast",
    "OffsetPath",
    "Reading",
    "Stint",
    "StintDrift",
    "Suspect",
]
