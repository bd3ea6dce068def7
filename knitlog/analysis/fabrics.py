"""A project's fabric: as knitted so far, and the futures the advice weighs, each knitted out.

What was knitted is drawn from where the fit has the colour change of each round, so a
miscount does not show as a kink in the cloth.  What is to come is the advice's own options,
each followed by the very game they were weighed in, with the hand's own unevenness, the same
in every future, so that side by side only the remedy differs.  Nothing is chosen here.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from knitlog.plan.colour_checks import logged_change_mm
from knitlog.plan.run_notation import PALETTE
from knitlog.plan.stitch_colours import Fabric, knit_fabric
from knitlog.plan.yarn_path import YarnPath, along_the_strand, carry_on, tension_errors
from knitlog.yarn.colours import ColourRun, ColourSegment
from knitlog.yarn.gauge import Gauge, stitch_height_mm, stitch_width_mm
from knitlog.yarn.geometry import to_knitting_order, wrap

if TYPE_CHECKING:
    from knitlog.advice import Advice, Option, Plan, Situation
    from knitlog.analysis.analysis import Analysis
    from knitlog.drift import DriftFit
    from knitlog.journal.project import ProjectState
    from knitlog.plan.yarn_path import FloatArray, IntArray

STAND_IN_NAMES = ("light", "middle", "dark", "deep")
USUAL_ROUNDS_AHEAD = 40
MOST_ROUNDS_AHEAD = 1000
_STAND_IN_REPEAT_MM = 1000.0


class Stage(StrEnum):
    """How far a project has got."""

    PLANNED = "planned"
    """Too little is logged to say how it is knitted: drawn as planned."""
    UNDER_WAY = "under way"
    ALL_KNITTED = "all knitted"


@dataclass(frozen=True, slots=True)
class Future:
    """One way to go on, and the fabric it makes."""

    option: Option | None
    """The advice's option that is played; None where there is no advice."""
    drift: float
    """Expected in the rounds to come, stitches/round; the target's own included."""
    fabric: Fabric | None
    """Rounds knitted and to come; None where this cannot be done here."""
    knitted: int
    """Rounds of it knitted so far; none where it is begun again."""
    place: float
    """Stitches before the place where the colour change belongs at the end, in knitting order."""


@dataclass(frozen=True, slots=True)
class ProjectFabric:
    """A project's fabric in every future."""

    futures: tuple[Future, ...]
    """In the advice's order, what it recommends first; one alone where there is no advice."""
    stage: Stage
    run: ColourRun
    """The colours it is drawn with."""
    stands_in: bool
    """True where the yarn's own colours are not described, and others stand in."""
    knitted: int
    """Rounds knitted so far."""
    home: float
    """Stitches before the place where the logged colour change belongs."""
    aspect: float
    """Height of a stitch over its width."""
    gauge: Gauge | None
    """As told; None if not."""
    advice: Advice | None
    """Whose options the futures are."""


def project_fabric(
    view: Analysis, rounds_ahead: int | None = None, *, uneven: bool = True, seed: int = 0
) -> ProjectFabric:
    """The fabric of one project in every future the advice weighs.

    Args:
        view: a look at the project, with its advice; without a fit it is drawn as planned,
            without advice as it goes on if nothing is done.
        rounds_ahead: rounds to come; those planned, or 40 if None.
        uneven: whether rounds to come have the hand's own unevenness.
        seed: the same seed gives the same unevenness.

    Raises:
        PlanError: the drift is more than a whole round.

    """
    state, fit, facts = view.state, view.fit, view.state.facts
    run, home = run_of(state), home_of(state, fit)
    ahead = _rounds_ahead(state, rounds_ahead)
    knitted = 0 if fit is None else fit.last_round
    laid: list[tuple[Option | None, _Laid | None]]
    if fit is None:
        stage = Stage.PLANNED
        path = carry_on(0.0, facts.target_drift, state.stitches, max(ahead, 1))
        laid = [(None, _Laid(path, 0, home))]
    else:
        stage = Stage.UNDER_WAY if ahead else Stage.ALL_KNITTED
        laid = _futures(view, fit, ahead, uneven, seed)

    def future(option: Option | None, laid: _Laid | None) -> Future:
        drift = facts.target_drift if fit is None else fit.drift.mean
        told = None if option is None else option.details.get("predicted_drift")
        drift = drift if told is None else float(told)
        if laid is None:
            return Future(option, drift, None, knitted, home)
        start = start_mm(run, facts.repeats, laid.path, home)
        fabric = knit_fabric(run, laid.path, facts.repeats, flat=facts.flat, start_mm=start)
        place = wrap(laid.place, int(laid.path.stitches[-1]))
        return Future(option, drift, fabric, laid.knitted, place)

    shape = facts.gauge if facts.gauge is not None else Gauge(2.0)
    return ProjectFabric(
        futures=tuple(future(*told) for told in laid),
        stage=stage,
        run=run,
        stands_in=facts.colour_run is None,
        knitted=knitted,
        home=home,
        aspect=stitch_height_mm(shape) / stitch_width_mm(shape),
        gauge=facts.gauge,
        advice=view.advice,
    )


def run_of(state: ProjectState) -> ColourRun:
    """The project's colour run, or a stand-in where none is described."""
    return state.facts.colour_run or stand_in_run(state.facts.repeat_length_mm)


def stand_in_run(repeat_length_mm: float | None = None) -> ColourRun:
    """Four colours of equal length, told apart by colour-blind eyes too."""
    each = (repeat_length_mm or _STAND_IN_REPEAT_MM) / len(STAND_IN_NAMES)
    parts = zip(STAND_IN_NAMES, (PALETTE[3], PALETTE[1], PALETTE[4], PALETTE[5]), strict=True)
    return ColourRun(tuple(ColourSegment(name, each, colour) for name, colour in parts))


def home_of(state: ProjectState, fit: DriftFit | None) -> float:
    """Stitches before the place where the first colour change belongs, in knitting order.

    In the first round logged, or as told; a quarter round in where nothing is known.
    """
    if fit is not None:
        return wrap(float(fit.path.homes[0]), state.stints[0].stitches)
    homes = state.facts.homes
    return homes[min(homes)] if homes else state.facts.stitches / 4


@dataclass(frozen=True, slots=True)
class _Rounds:
    """Rounds before they are laid along the strand, each array of shape (R,), stitches."""

    positions: FloatArray
    """Where the colour change comes up, in knitting order, counted on."""
    turns: FloatArray
    """Stitches one turn of the colours makes."""
    stitches: IntArray
    taken_out: FloatArray
    """Worked in by hand once the round is done."""

    def then(self, later: _Rounds) -> _Rounds:
        """Knit other rounds on after these."""
        return _Rounds(
            np.concatenate((self.positions, later.positions)),
            np.concatenate((self.turns, later.turns)),
            np.concatenate((self.stitches, later.stitches)),
            np.concatenate((self.taken_out, later.taken_out)),
        )

    def laid(self, fit: DriftFit, to_come: float | None = None) -> YarnPath:
        """The path; ``to_come`` is where the change would come up next, worked out if None."""
        if to_come is None:
            moves = self.turns[-1] - self.stitches[-1] - self.taken_out[-1]
            to_come = float(self.positions[-1] + moves)
        positions = np.append(self.positions, to_come)
        home, repeats = float(fit.path.homes[0]), fit.log.repeats
        return along_the_strand(positions, self.turns, self.stitches, self.taken_out, repeats, home)


def knitted_path(fit: DriftFit) -> YarnPath:
    """Rounds 1 to the last logged, from where the fit has the colour change of each.

    Offsets are against the place of the first round logged.  Rounds below that one are taken
    to have drifted as it did.
    """
    return _knitted(fit).laid(fit, _stands(fit) + fit.drift.mean)


def _stands(fit: DriftFit) -> float:
    """Where the colour change of the last round logged is now, fixes since made included."""
    return float(fit.path.homes[-1] + fit.offset.mean - _counted_on(fit)[-1])


def _counted_on(fit: DriftFit) -> FloatArray:
    """How far the fit has counted on over the ends of rounds, each round logged, stitches.

    So that less it, a position lies where it was read; a round not read has what the one
    before it has.
    """
    path, readings = fit.path, fit.log.readings
    first = min(reading.change for reading in readings)
    counted = {}
    for reading, offset in zip(readings, path.reading_offsets.tolist(), strict=True):
        if reading.change == first:
            stitches = _count_in(fit, reading.round)
            read = reading.stitch
            if fit.log.flat:
                read = to_knitting_order(reading.round, read, stitches)
            at = reading.round - int(path.rounds[0])
            counted[at] = float(path.homes[at]) + offset - read
    known = sorted(counted)
    before = np.clip(np.searchsorted(known, np.arange(len(path.rounds)), side="right") - 1, 0, None)
    return np.array([counted[at] for at in known])[before]


def _count_in(fit: DriftFit, round_number: int) -> int:
    """Stitches of a round."""
    stints = fit.log.stints
    return max(
        (s for s in stints if s.first_round <= round_number),
        default=stints[0],
        key=lambda s: s.first_round,
    ).stitches


def _knitted(fit: DriftFit) -> _Rounds:
    """The rounds knitted."""
    path = fit.path
    first, last = int(path.rounds[0]), int(path.rounds[-1])
    drift = fit.drift_path.mean
    positions = path.mean + path.homes - _counted_on(fit)
    early = positions[0] + drift[0] * np.arange(1 - first, 0)
    expected = np.concatenate((np.full(first - 1, drift[0]), drift))
    counts = np.array([_count_in(fit, number) for number in range(1, last + 1)], dtype=np.int64)
    taken_out = np.zeros(last)
    for fix in fit.log.fixes:
        if 1 <= fix.after_round <= last:
            taken_out[fix.after_round - 1] += fix.taken_out
    return _Rounds(np.concatenate((early, positions)), counts + expected, counts, taken_out)


def start_mm(run: ColourRun, repeats: float, path: YarnPath, home: float) -> float:
    """Where in the run round 1 begins, so that with no offset the logged change is at ``home``."""
    change = logged_change_mm(run)
    # change = start + home s, s = k L / (N + d)
    each = repeats * run.repeat_length_mm / float(path.stitches[0] + path.drifts[0])
    return change - home * each


def _rounds_ahead(state: ProjectState, asked: int | None) -> int:
    if state.finished:
        return 0
    if asked is not None:
        return min(max(asked, 0), MOST_ROUNDS_AHEAD)
    planned = state.facts.planned_rounds
    if planned is None:
        return USUAL_ROUNDS_AHEAD
    return min(max(planned - state.last_round, 0), MOST_ROUNDS_AHEAD)


@dataclass(frozen=True, slots=True)
class _Laid:
    """A future along the strand."""

    path: YarnPath
    knitted: int
    """Rounds of it knitted so far."""
    place: float
    """Where the colour change belongs at the end, stitches, counted on."""


def _futures(
    view: Analysis, fit: DriftFit, ahead: int, uneven: bool, seed: int
) -> list[tuple[Option | None, _Laid | None]]:
    """Every option of the advice, followed; what goes on by itself where there is no advice.

    Rounds knitted and to come; None where an option cannot be done here.
    """
    if ahead == 0:
        return [(None, _Laid(knitted_path(fit), fit.last_round, float(fit.path.homes[-1])))]
    rounds = ahead + view.state.last_round
    errors = tension_errors(rounds, fit.tension_noise_sd if uneven else 0.0, seed)
    if view.advice is None:
        return [(None, _going_on(fit, errors[:ahead]))]
    situation = view.advice.situation
    return [
        (option, None if option.plan is None else _followed(situation, option.plan, errors, ahead))
        for option in view.advice.options
    ]


def _going_on(fit: DriftFit, errors: FloatArray) -> _Laid:
    """Rounds knitted, and those to come at the drift there is."""
    stitches = np.full(len(errors), fit.stitches, dtype=np.int64)
    later = _Rounds(
        positions=_stands(fit) + np.cumsum(fit.drift.mean + errors),
        turns=stitches + fit.drift.mean,
        stitches=stitches,
        taken_out=np.zeros(len(errors)),
    )
    place = float(fit.path.homes[-1]) + fit.log.target_drift * len(errors)
    return _Laid(_knitted(fit).then(later).laid(fit), fit.last_round, place)


def _followed(situation: Situation, plan: Plan, errors: FloatArray, ahead: int) -> _Laid:
    """Rounds knitted, those ripped out left away, and those to come under one plan."""
    from knitlog.advice import Remedy, follow

    fit = situation.fit
    again = plan.remedy is Remedy.START_AGAIN
    followed = follow(situation, plan, errors if again else errors[:ahead])
    positions = _stands(fit) + followed.moved
    if again:
        wanted = fit.log.target_drift * np.arange(len(errors))
        positions = fit.path.homes[0] + followed.offsets + wanted
    place = float(positions[-1] - followed.offsets[-1])
    later = _Rounds(positions, followed.turns, followed.stitches, followed.taken_out)
    if again:
        return _Laid(later.laid(fit), 0, place)
    knitted = _knitted(fit)
    # worked into the stitches just knitted: the next round feels it
    knitted.taken_out[-1] += followed.taken_out_first
    path, done = knitted.then(later).laid(fit), knitted_path(fit)
    # what is knitted stays as it is: whatever is done now comes in behind it
    last, stitches = done.rounds - 1, done.stitches[-1]
    used = (stitches + path.taken_out[last]) / (stitches + path.drifts[last])
    path.drifts[: done.rounds] = done.drifts
    path.taken_out[last] = used * (stitches + done.drifts[-1]) - stitches
    return _Laid(path, done.rounds, place)
