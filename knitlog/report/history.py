"""The history of a whole project: where the colours fell, how they slid, what was done.

One set of numbers for the picture in the terminal, the charts of the page and JSON, and the fabric
as knitted beside the same yarn as planned.  Sign: + is past its place.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from knitlog.journal.registry import units_of
from knitlog.report.words import signed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from knitlog.drift import DriftFit
    from knitlog.drift.fit_result import FloatArray, IntArray
    from knitlog.journal.project import ProjectState
    from knitlog.plan.stitch_colours import Fabric


class What(StrEnum):
    """What happened in a round, beside the readings."""

    FIX = "fix"
    NEEDLE = "needle"
    STITCHES = "stitch count"
    TENSION = "tension asked"
    PLACE = "place taken anew"
    SKEIN = "new skein"
    UNLOGGED = "not logged"
    MISCOUNT = "perhaps a miscount"


MARKS: dict[What, tuple[str, str, str]] = {
    What.FIX: ("×", "x", "a fix"),
    What.NEEDLE: ("Ø", "N", "another needle"),
    What.STITCHES: ("#", "#", "another stitch count"),
    What.TENSION: ("±", "T", "tension asked of the hand"),
    What.PLACE: ("»", "P", "let stack there from here"),
    What.SKEIN: ("&", "&", "a new skein"),
    What.UNLOGGED: ("!", "!", "changed, not logged"),
    What.MISCOUNT: ("?", "?", "perhaps a miscount"),
}
"""Of what happened: its mark, its mark in ASCII, what it is."""


@dataclass(frozen=True, slots=True)
class HistoryMark:
    """One thing that happened."""

    round: int
    """After this round, of a fix; from this round on, of anything else."""
    what: What
    words: str
    """Which, in a word or two."""


@dataclass(frozen=True, slots=True)
class Read:
    """One reading."""

    round: int
    offset: float
    """Stitches."""
    doubtful: bool
    """The fit takes it for a miscount."""


@dataclass(frozen=True, slots=True)
class RoundHistory:
    """A project from its first round logged to its last; each array of shape (n,), a round each."""

    flat: bool
    tolerance: float
    """Stitches either side of the place."""
    target_drift: float
    """Stitches/round; other than 0 for a spiral."""
    rounds: IntArray
    offset: FloatArray
    """Stitches off its place, as fitted."""
    offset_low95: FloatArray
    offset_high95: FloatArray
    drift: FloatArray
    """Stitches/round."""
    drift_low95: FloatArray
    drift_high95: FloatArray
    readings: tuple[Read, ...]
    marks: tuple[HistoryMark, ...]
    """By round."""


def history_of(state: ProjectState, fit: DriftFit) -> RoundHistory:
    """Return the history of a project's rounds so far."""
    path, drift = fit.path, fit.drift_path
    bad = {(suspect.round, suspect.change) for suspect in fit.suspects}
    readings = zip(
        path.reading_rounds.tolist(),
        path.reading_changes.tolist(),
        path.reading_offsets.tolist(),
        strict=True,
    )
    return RoundHistory(
        flat=state.facts.flat,
        tolerance=state.facts.tolerance,
        target_drift=state.facts.target_drift,
        rounds=path.rounds,
        offset=path.mean,
        offset_low95=path.mean - 1.96 * path.sd,
        offset_high95=path.mean + 1.96 * path.sd,
        drift=drift.mean,
        drift_low95=drift.low95,
        drift_high95=drift.high95,
        readings=tuple(Read(r, offset, (r, change) in bad) for r, change, offset in readings),
        marks=tuple(sorted(marks_of(state, fit), key=lambda found: found.round)),
    )


def marks_of(state: ProjectState, fit: DriftFit | None) -> Iterator[HistoryMark]:
    """Yield what happened beside the readings, a kind after the other."""
    units = units_of(state.facts)
    for fix in state.fixes:
        yield HistoryMark(fix.after_round, What.FIX, f"{signed(-fix.taken_out)} {fix.how}")
    for before, after in zip(state.stints, state.stints[1:], strict=False):
        if after.needle_mm is not None and after.needle_mm != before.needle_mm:
            yield HistoryMark(after.first_round, What.NEEDLE, units.needle(after.needle_mm))
        if after.stitches != before.stitches:
            yield HistoryMark(after.first_round, What.STITCHES, f"{after.stitches} stitches")
    for asked in state.tension:
        yield HistoryMark(asked.first_round, What.TENSION, f"{signed(asked.percent)} %")
    for place in state.new_homes:
        yield HistoryMark(place.from_round, What.PLACE, "")
    for join in state.joins:
        yield HistoryMark(join.round, What.SKEIN, "")
    if fit is None:
        return
    for change in fit.breaks:
        unit = "a round" if change.kind == "drift" else "at once"
        yield HistoryMark(change.round, What.UNLOGGED, f"{signed(change.size)} {unit}")
    for suspect in fit.suspects:
        yield HistoryMark(suspect.round, What.MISCOUNT, f"stitch {suspect.stitch:g}")


@dataclass(frozen=True, slots=True)
class FabricPair:
    """Two fabrics of as many rounds."""

    knitted: Fabric
    planned: Fabric
    stand_in: str
    """Why the colours are not the yarn's own, or what to ask of them; empty if they are."""


def fabric_pair(state: ProjectState, fit: DriftFit) -> FabricPair:
    """Return both fabrics of a project's rounds so far.

    Raises:
        PlanError: the drift is more than a whole round.

    """
    from knitlog.analysis.fabrics import home_of, knitted_path, run_of, start_mm
    from knitlog.plan.stitch_colours import knit_fabric
    from knitlog.plan.yarn_path import carry_on
    from knitlog.report.fabric_words import STAND_IN, unnamed_words

    facts = state.facts
    run, home = run_of(state), home_of(state, fit)
    planned = carry_on(0.0, facts.target_drift, state.stints[0].stitches, fit.last_round)
    knitted, as_planned = (
        knit_fabric(
            run,
            path,
            facts.repeats,
            flat=facts.flat,
            start_mm=start_mm(run, facts.repeats, path, home),
        )
        for path in (knitted_path(fit), planned)
    )
    return FabricPair(
        knitted, as_planned, STAND_IN if facts.colour_run is None else unnamed_words(run)
    )
