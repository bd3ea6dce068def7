"""What the chart shows, gathered from one look at a project.

Why apart from the widget: the chart draws plain numbers, so it can be tested
and drawn without a journal or a fit; and the fit's arrays are turned into
these once a look, not once a line.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from knitlog.report.history import HistoryMark, What, marks_of
from knitlog.tui import marks

if TYPE_CHECKING:
    from knitlog.analysis.analysis import Analysis

AHEAD_ROUNDS = 10
"""Rounds to come that the chart shows."""


@dataclass(frozen=True, slots=True)
class Dot:
    """One reading."""

    change: int
    """Which colour change of the round, from 1."""
    offset: float
    """Stitches from home, positive past it."""
    doubtful: bool = False
    """The fit takes it for a miscount."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where the colour change is expected, stitches from home."""

    mean: float
    low: float
    """Lower end of the 95 % interval."""
    high: float
    """Upper end of the 95 % interval."""


@dataclass(frozen=True, slots=True)
class ChartMark:
    """Something beside the readings: a fix, a change, a note."""

    mark: str
    """Its character."""
    words: str
    """A word or two to go beside it."""


@dataclass(frozen=True, slots=True)
class ChartData:
    """Everything on the chart, by round."""

    tolerance: float
    """Stitches either side of home."""
    last_round: int = 0
    """The last round knitted; 0 before the first."""
    finished: bool = False
    """No round is to come."""
    dots: dict[int, tuple[Dot, ...]] = field(default_factory=dict)
    places: dict[int, Place] = field(default_factory=dict)
    """The fitted path, then the rounds to come."""
    happenings: dict[int, tuple[ChartMark, ...]] = field(default_factory=dict)

    @property
    def next_round(self) -> int | None:
        """The round to be knitted next; None where it is finished."""
        return None if self.finished else self.last_round + 1

    @property
    def top_round(self) -> int:
        """The highest round on the chart."""
        return max(self.last_round, *self.places, 0) if self.places else self.last_round


def gather(view: Analysis) -> ChartData:
    """Gather the chart of ``view``: readings, path, rounds to come, and what happened."""
    state, fit = view.state, view.fit
    dots: dict[int, list[Dot]] = {}
    places: dict[int, Place] = {}
    if fit is not None:
        path = fit.path
        doubtful = {(suspect.round, suspect.change) for suspect in fit.suspects}
        for number, change, offset in zip(
            path.reading_rounds.tolist(),
            path.reading_changes.tolist(),
            path.reading_offsets.tolist(),
            strict=True,
        ):
            dots.setdefault(number, []).append(Dot(change, offset, (number, change) in doubtful))
        for number, mean, sd in zip(
            path.rounds.tolist(), path.mean.tolist(), path.sd.tolist(), strict=True
        ):
            places[number] = Place(mean, mean - 1.96 * sd, mean + 1.96 * sd)
        if not state.finished:
            ahead = fit.forecast(AHEAD_ROUNDS)
            for number, mean, low, high in zip(
                ahead.rounds.tolist(),
                ahead.mean.tolist(),
                ahead.low95.tolist(),
                ahead.high95.tolist(),
                strict=True,
            ):
                places[number] = Place(mean, low, high)
    return ChartData(
        tolerance=state.facts.tolerance,
        last_round=state.last_round,
        finished=state.finished,
        dots={number: tuple(found) for number, found in dots.items()},
        places=places,
        happenings=_happenings(view),
    )


def _happenings(view: Analysis) -> dict[int, tuple[ChartMark, ...]]:
    found: dict[int, list[ChartMark]] = {}
    for one in marks_of(view.state, view.fit):
        mark = ChartMark(marks.HAPPENED[one.what], _in_short(one))
        found.setdefault(max(one.round, 1), []).append(mark)
    for note in view.state.notes:
        if note.round is not None:
            found.setdefault(max(note.round, 1), []).append(ChartMark(marks.NOTE, "note"))
    return {number: tuple(happened) for number, happened in found.items()}


def _in_short(one: HistoryMark) -> str:
    """What happened, in the few columns beside the chart."""
    match one.what:
        case What.FIX:
            return f"fix {one.words.partition(' ')[0]}"
        case What.STITCHES:
            return one.words.replace("stitches", "st")
        case What.NEEDLE:
            return one.words.partition(" (")[0]
        case What.TENSION:
            return one.words
        case What.PLACE:
            return "place"
        case What.SKEIN:
            return "skein"
        case What.UNLOGGED:
            return "changed?"
        case What.MISCOUNT:
            return "check"
