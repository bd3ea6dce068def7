"""The measuring contract: what ``--json`` prints, one object a line, a file each.

Field names, units and meanings are documented in DEVELOPERS.md and stay as they
are; new fields may be added.  JSON knows no NaN and no infinity: such a number
is ``null``.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from numbers import Integral
from typing import TYPE_CHECKING, Any

from knitlog.analysis.counted_at import counted_at
from knitlog.report.advice_words import Told, tell
from knitlog.report.fit_words import warning_sentences
from knitlog.report.verdict_words import unexplained_words, verdict

if TYPE_CHECKING:
    from knitlog.analysis.analysis import Analysis
    from knitlog.analysis.next_round import NextRound
    from knitlog.analysis.project_review import Review
    from knitlog.drift import DriftFit, Estimate
    from knitlog.hands.learn import Hands
    from knitlog.report.advice_words import ToldOption
    from knitlog.report.history import RoundHistory


_INTERVAL = ("mean", "low95", "high95")
_STINT = ("first_round", "last_round", "stitches", "needle_mm", "logged")
_BREAK = ("round", "kind", "size", "probability")
_YARN = ("rounds", "used_mm", "planned_mm", "whole_planned_mm", "over_percent")
_KIND = ("needle_mm", "fibre", "projects", "low_mm", "high_mm", "next_mm")


def fit_object(file: str, view: Analysis) -> dict[str, Any]:
    """One fit, as the contract has it; numbers are null where nothing could be fitted."""
    fit = view.fit
    return {
        "file": file,
        "rounds": fit.rounds_logged if fit else len(view.state.entries),
        "drift": _numbers(fit.drift if fit else None),
        "offset": _numbers(fit.offset if fit else None),
        "yarn_per_stitch_mm": _numbers(fit.yarn_per_stitch_mm if fit else None, _INTERVAL),
        "target_yarn_per_stitch_mm": fit.target_yarn_per_stitch_mm if fit else None,
        "yarn_error_percent": _numbers(fit.yarn_error_percent if fit else None, _INTERVAL),
        "tension_noise_sd": fit.tension_noise_sd if fit else None,
        "reading_noise_sd": fit.reading_noise_sd if fit else None,
        "direction": fit.direction if fit else "unclear",
        "suspect_readings": sorted({s.round for s in fit.suspects}) if fit else [],
        "breaks": sorted({b.round for b in fit.breaks}) if fit else [],
        "warnings": [*view.problems, *(warning_sentences(fit) if fit else ())],
        "next": _next(view.next and replace(view.next, aim=None)),
        **_details(fit),
    }


def advice_object(file: str, view: Analysis) -> dict[str, Any]:
    """One piece of advice, as the contract has it."""
    advice = view.advice
    if advice is None:
        return {
            "file": file,
            "recommended": None,
            "options": [],
            "next": _next(view.next),
            **_counted_at(view),
            "verdict": verdict(view),
            "warnings": list(view.problems),
        }
    told = tell(advice)
    return {
        "file": file,
        "recommended": _recommended(told),
        "options": [_option(one) for one in told.options],
        "would_change": told.would_change,
        "changed": told.changed,
        "question": told.question or None,
        "look_again_round": advice.look_again_round,
        "steps": list(told.steps),
        "next": _next(view.next),
        **_counted_at(view),
        "verdict": verdict(view),
        "warnings": [*view.problems, *(warning_sentences(view.fit) if view.fit else ())],
    }


def state_object(view: Analysis) -> dict[str, Any]:
    """Where a project stands, what to do, and what to expect of the next round."""
    state, advice = view.state, view.advice
    return {
        "project": state.slug or state.name,
        "name": state.name,
        "finished": state.finished,
        "rounds": state.last_round,
        "verdict": verdict(view),
        "recommended": None if advice is None else _recommended(tell(advice)),
        "next": _next(view.next),
        "questions": [
            {"round": one.round, "question": unexplained_words(one.about, flat=state.facts.flat)}
            for one in view.questions
        ],
        "problems": list(view.problems),
    }


def _recommended(told: Told) -> dict[str, Any]:
    option = told.options[0].option
    return {
        "remedy": str(option.remedy),
        "title": told.title,
        "details": dict(option.details),
        "why": told.why,
    }


def _next(coming: NextRound | None) -> dict[str, Any] | None:
    """What to expect of the next round: its first colour change, and then each of them."""
    if coming is None:
        return None
    changes = [
        {
            "change": place.change,
            "expected": {"mean": place.mean, "low95": place.low95, "high95": place.high95},
            "in_place": {"low": place.low, "high": place.high},
        }
        for place in coming.changes
    ]
    first = {key: changes[0][key] for key in ("expected", "in_place")}
    colours = [
        {"colour": one.colour, "ends_at": one.stitch, "in_place": one.place, "aim": one.aim}
        for one in coming.colours
    ]
    return {
        "round": coming.round,
        **first,
        "aim": coming.aim,
        "changes": changes,
        "colours": colours,
    }


def _counted_at(view: Analysis) -> dict[str, Any]:
    """What work is counted at, all of it by name, and which of it is the knitter's own."""
    work = counted_at(view.state.facts)
    return {
        "costs_minutes": {one.kind.name: one.minutes for one in work},
        "own_costs": [one.kind.name for one in work if one.own],
    }


def review_object(found: Review) -> dict[str, Any]:
    """A review as plain data; what is not known is None."""
    from knitlog.report.history import history_of

    state, spent, yarn = found.state, found.time, found.yarn
    return {
        "project": state.slug or state.name,
        "name": state.name,
        "finished": state.finished,
        "began": found.began.isoformat(),
        "ended": found.ended.isoformat(),
        "rounds": state.last_round,
        "tolerance_stitches": state.facts.tolerance,
        "share_in_tolerance": found.share_in_tolerance,
        "share_of_fabric_in_place": found.share_of_fabric,
        "rounds_out_of_tolerance": found.rounds_out,
        "worst": found.worst and dict(zip(("round", "offset_stitches"), found.worst, strict=True)),
        "stints": [
            {**_fields(stint, *_STINT), "drift_stitches_per_round": numbers(stint.drift)}
            for stint in found.stints
        ],
        "fixes": [
            {
                **_fields(fix, "after_round", "how"),
                "meant_stitches": fix.meant,
                "did_stitches": numbers(fix.did),
                "offset_before_stitches": fix.before,
                "offset_after_stitches": fix.after,
                "minutes": fix.minutes,
                "landed": str(fix.landed),
            }
            for fix in found.fixes
        ],
        "breaks": [_fields(one, *_BREAK) for one in found.breaks],
        "time": spent
        and {
            **_fields(spent, "days", "sittings"),
            "in_sittings_minutes": spent.in_sittings,
            "knitting_minutes": spent.knitting,
            "mending_minutes": spent.fixing,
            "changing_minutes": spent.changing,
            "not_accounted_for_minutes": spent.elsewhere,
            "round_minutes": spent.round_minutes,
        },
        "yarn": _fields(yarn, *_YARN),
        "history": None if found.fit is None else _history(history_of(state, found.fit)),
        "problems": list(found.look.problems),
    }


def _history(told: RoundHistory) -> dict[str, Any]:
    """The drift history, arrays of one length, a round each."""
    return {
        "rounds": told.rounds.tolist(),
        "offset_stitches": {
            "mean": told.offset.tolist(),
            "low95": told.offset_low95.tolist(),
            "high95": told.offset_high95.tolist(),
        },
        "drift_stitches_per_round": {
            "mean": told.drift.tolist(),
            "low95": told.drift_low95.tolist(),
            "high95": told.drift_high95.tolist(),
        },
        "readings": [_fields(read, "round", "offset", "doubtful") for read in told.readings],
        "happenings": [
            {"round": one.round, "what": str(one.what), "words": one.words} for one in told.marks
        ],
    }


def hands_object(hands: Hands) -> dict[str, Any]:
    """All of it as plain data, units in the names."""
    from knitlog.hands.next_project import kinds_knitted
    from knitlog.report.hands_words import habits, sentences

    found = habits(hands)
    return {
        "projects": [p.name for p in hands.projects],
        "drift_wanders_in_40_rounds_stitches_per_round_on_128": hands.wander,
        "habits": {h.key.replace(" ", "_"): numbers(h.yours) for h in found},
        "any_knitter": {h.key.replace(" ", "_"): numbers(h.any_knitter) for h in found},
        "yarn_per_stitch": [
            {**_fields(k, *_KIND), "pattern": k.stitch_pattern} for k in kinds_knitted(hands)
        ],
        "sentences": list(sentences(hands)),
    }


OF_A_LOOK = {"fit": fit_object, "advise": advice_object}
"""What is told of a look, by the command that asks."""


def to_line(content: Mapping[str, Any]) -> str:
    """One line of strict JSON, without NaN or infinity."""
    return json.dumps(_finite(content), allow_nan=False, ensure_ascii=True)


def _option(one: ToldOption) -> dict[str, Any]:
    option = one.option
    return {
        "remedy": str(option.remedy),
        "title": one.title,
        "details": dict(option.details),
        "share_in_tolerance": option.share_in_tolerance,
        "expected_fixes": option.expected_fixes,
        "minutes": option.minutes,
        "size_change_percent": option.size_change_percent,
        "feasible": option.feasible,
        "reason": one.reason,
        "expected_cost": option.expected_cost,
        "as_good": option.as_good,
        "steps": list(one.steps),
    }


def _details(fit: DriftFit | None) -> dict[str, Any]:
    """Beyond the contract's first fields; lists are empty and numbers null without a fit."""
    lists = ("stints", "sections", "break_details", "alternatives")
    rest = ("drift_path", "pattern", "pattern_found", "tension_response", "slow_change")
    if fit is None:
        return {"last_round": None, **{name: [] for name in lists}, **dict.fromkeys(rest)}
    own_length = fit.yarn_per_stitch_mm is not None
    return {
        "last_round": fit.last_round,
        "stints": [_fields(stint, *_STINT, "drift") for stint in fit.stint_drifts],
        "sections": [
            {
                **_fields(part, "from_change", "to_change"),
                "yarn_per_stitch_mm": _numbers(part.yarn_per_stitch_mm if own_length else None),
                **_fields(part, "against_round_percent"),
            }
            for part in fit.sections
        ],
        "break_details": [_fields(found, *_BREAK) for found in fit.breaks],
        "alternatives": [
            {
                **_fields(other, "drift", "probability"),
                "question": unexplained_words(other, flat=fit.log.flat),
            }
            for other in fit.alternatives
        ],
        "drift_path": _fields(fit.drift_path, "rounds", "mean", "low95", "high95"),
        "pattern": _fields(fit.pattern, "rounds", "effects", "percent"),
        "pattern_found": _fields(fit.pattern_found, "rounds", "probability"),
        "tension_response": numbers(fit.tension_response),
        "slow_change": _fields(fit.slow_change, "since_round", "change"),
    }


def numbers(e: Estimate | None) -> dict[str, float] | None:
    """Give an estimate as plain numbers."""
    if e is None:
        return None
    return {"mean": e.mean, "sd": e.sd, "low95": e.low95, "high95": e.high95}


def _fields(found: Any, *names: str) -> dict[str, Any] | Any:
    """Some fields of a record under their own names; None of none."""
    return None if found is None else {name: _plain(getattr(found, name)) for name in names}


def _plain(value: Any) -> Any:
    """An estimate as its numbers, an array or several as a list, the rest as it is."""
    if hasattr(value, "low95"):
        return numbers(value)
    if hasattr(value, "tolist"):
        return value.tolist()
    return [_plain(one) for one in value] if isinstance(value, tuple) else value


def _numbers(
    estimate: Estimate | None, fields: Sequence[str] = ("mean", "sd", "low95", "high95")
) -> dict[str, float | None]:
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
