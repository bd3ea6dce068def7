"""A review as one JSON object; units stand in the names."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from knitlog.drift import Estimate
    from knitlog.report.review import Review


def review_object(found: Review) -> dict[str, Any]:
    """Give a review as plain data; what is not known is None."""
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
        "rounds_out_of_tolerance": found.rounds_out,
        "worst": None
        if found.worst is None
        else {"round": found.worst[0], "offset_stitches": found.worst[1]},
        "stints": [
            {
                "first_round": s.first_round,
                "last_round": s.last_round,
                "stitches": s.stitches,
                "needle_mm": s.needle_mm,
                "logged": s.logged,
                "drift_stitches_per_round": numbers(s.drift),
            }
            for s in found.stints
        ],
        "fixes": [
            {
                "after_round": f.after_round,
                "how": f.how,
                "meant_stitches": f.meant,
                "did_stitches": numbers(f.did),
                "offset_before_stitches": f.before,
                "offset_after_stitches": f.after,
                "minutes": f.minutes,
                "landed": f.word,
            }
            for f in found.fixes
        ],
        "breaks": [
            {"round": b.round, "kind": b.kind, "size": b.size, "probability": b.probability}
            for b in found.breaks
        ],
        "time": None
        if spent is None
        else {
            "days": spent.days,
            "sittings": spent.sittings,
            "in_sittings_minutes": spent.in_sittings,
            "knitting_minutes": spent.knitting,
            "mending_minutes": spent.mending,
            "changing_minutes": spent.changing,
            "not_accounted_for_minutes": spent.elsewhere,
            "round_minutes": spent.round_minutes,
        },
        "yarn": None
        if yarn is None
        else {
            "rounds": yarn.rounds,
            "used_mm": numbers(yarn.used_mm),
            "planned_mm": yarn.planned_mm,
            "whole_planned_mm": yarn.whole_planned_mm,
            "over_percent": yarn.over_percent,
        },
        "problems": list(found.look.problems),
    }


def numbers(e: Estimate | None) -> dict[str, float] | None:
    """Give an estimate as plain numbers."""
    if e is None:
        return None
    return {"mean": e.mean, "sd": e.sd, "low95": e.low95, "high95": e.high95}
