"""The drift: how far the colours slide each round, with honest uncertainty.

``fit(log)`` is the one entry point; see :mod:`knitlog.drift.log` for what goes
in and :mod:`knitlog.drift.fit_result` for what comes out.
"""

from knitlog.drift.fit import fit
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
    Happening,
    OffsetPath,
    PatternEffects,
    PatternFound,
    SlowChange,
    StintDrift,
    Suspect,
)
from knitlog.drift.fitted import DriftFit
from knitlog.drift.log import DriftLog, Fix, LogError, NewHome, Reading, Stint, TensionAsked
from knitlog.drift.prior import Prior
from knitlog.drift.sections import Section

__all__ = [
    "AccountSummary",
    "AlternativeReading",
    "Break",
    "Direction",
    "Draws",
    "DriftFit",
    "DriftLog",
    "DriftPath",
    "Estimate",
    "Expected",
    "Fix",
    "Forecast",
    "Happening",
    "LogError",
    "NewHome",
    "OffsetPath",
    "PatternEffects",
    "PatternFound",
    "Prior",
    "Reading",
    "Section",
    "SlowChange",
    "Stint",
    "StintDrift",
    "Suspect",
    "TensionAsked",
    "fit",
]
