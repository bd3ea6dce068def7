"""The measuring contract: what ``--json`` prints, one object a line, a file each.

Field names, units and meanings are documented in DEVELOPERS.md and stay as they
are; new fields may be added.  JSON knows no NaN and no infinity: such a number
is ``null``.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from numbers import Integral
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from knitlog.advice import Option
    from knitlog.drift import DriftFit, Estimate
    from knitlog.workbench import Look


def fit_object(file: str, view: Look) -> dict[str, Any]:
    """One fit, as the contract has it; numbers are null where nothing could be fitted."""
    fit = view.fit
    return {
        "file": file,
        "rounds": fit.rounds_logged if fit else len(view.state.entries),
        "drift": _numbers(fit.drift if fit else None, "mean", "sd", "low95", "high95"),
        "offset": _numbers(fit.offset if fit else None, "mean", "sd", "low95", "high95"),
        "yarn_per_stitch_mm": _numbers(
            fit.yarn_per_stitch_mm if fit else None, "mean", "low95", "high95"
        ),
        "target_yarn_per_stitch_mm": fit.target_yarn_per_stitch_mm if fit else None,
        "yarn_error_percent": _numbers(
            fit.yarn_error_percent if fit else None, "mean", "low95", "high95"
        ),
        "tension_noise_sd": fit.tension_noise_sd if fit else None,
        "reading_noise_sd": fit.reading_noise_sd if fit else None,
        "direction": fit.direction if fit else "unclear",
        "suspect_readings": sorted({s.round for s in fit.suspects}) if fit else [],
        "breaks": sorted({b.round for b in fit.breaks}) if fit else [],
        "warnings": [*view.problems, *(fit.warnings if fit else ())],
        **_details(fit),
    }


def advice_object(file: str, view: Look) -> dict[str, Any]:
    """One piece of advice, as the contract has it."""
    advice = view.advice
    if advice is None:
        return {
            "file": file,
            "recommended": None,
            "options": [],
            **_counted_at(view),
            "verdict": view.verdict,
            "warnings": list(view.problems),
        }
    return {
        "file": file,
        "recommended": {
            "remedy": str(advice.recommended.remedy),
            "title": advice.recommended.title,
            "details": dict(advice.recommended.details),
            "why": advice.why,
        },
        "options": [_option(option) for option in advice.options],
        "would_change": advice.would_change,
        "changed": advice.changed,
        "look_again_round": advice.look_again_round,
        "steps": list(advice.steps),
        **_counted_at(view),
        "verdict": view.verdict,
        "warnings": [*view.problems, *(view.fit.warnings if view.fit else ())],
    }


def _counted_at(view: Look) -> dict[str, Any]:
    """What work is counted at, all of it by name, and which of it is the knitter's own."""
    from knitlog.workbench import counted_at

    work = counted_at(view.state.facts)
    return {
        "costs_minutes": {one.name: one.minutes for one in work},
        "own_costs": [one.name for one in work if one.own],
    }


def to_line(content: Mapping[str, Any]) -> str:
    """One line of strict JSON, without NaN or infinity."""
    return json.dumps(_finite(content), allow_nan=False, ensure_ascii=True)


def _option(option: Option) -> dict[str, Any]:
    return {
        "remedy": str(option.remedy),
        "title": option.title,
        "details": dict(option.details),
        "share_in_tolerance": option.share_in_tolerance,
        "expected_fixes": option.expected_fixes,
        "minutes": option.minutes,
        "size_change_percent": option.size_change_percent,
        "feasible": option.feasible,
        "reason": option.reason,
        "expected_cost": option.expected_cost,
    }


def _details(fit: DriftFit | None) -> dict[str, Any]:
    """Beyond the contract's first fields: stints, parts of the round, breaks, other readings."""
    if fit is None:
        return {
            "last_round": None,
            "stints": [],
            "sections": [],
            "break_details": [],
            "alternatives": [],
        }
    return {
        "last_round": fit.last_round,
        "stints": [
            {
                "first_round": s.first_round,
                "last_round": s.last_round,
                "stitches": s.stitches,
                "needle_mm": s.needle_mm,
                "logged": s.logged,
                "drift": _numbers(s.drift, "mean", "sd", "low95", "high95"),
            }
            for s in fit.stint_drifts
        ],
        "sections": [
            {
                "from_change": s.from_change,
                "to_change": s.to_change,
                "yarn_per_stitch_mm": _numbers(
                    s.yarn_per_stitch_mm if fit.yarn_per_stitch_mm else None,
                    *("mean", "sd", "low95", "high95"),
                ),
                "against_round_percent": _numbers(
                    s.against_round_percent, "mean", "sd", "low95", "high95"
                ),
            }
            for s in fit.sections
        ],
        "break_details": [
            {"round": b.round, "kind": b.kind, "size": b.size, "probability": b.probability}
            for b in fit.breaks
        ],
        "alternatives": [
            {"drift": a.drift, "probability": a.probability, "question": a.question}
            for a in fit.alternatives
        ],
    }


def _numbers(estimate: Estimate | None, *fields: str) -> dict[str, float | None]:
    return {name: getattr(estimate, name) if estimate else None for name in fields}


def _finite(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(key): _finite(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(inner) for inner in value]
    if isinstance(value, bool | str) or value is None:
        return value
    if isinstance(value, Integral):
        return int(value)
    number = float(value)
    return number if math.isfinite(number) else None
