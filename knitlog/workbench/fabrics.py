"""A project's fabric: as knitted so far, and as it will look under each remedy.

What was knitted is drawn from the fitted offset of each round, so a miscount does not
show as a kink in the cloth.  What is to come goes on from there with the fitted drift and
the hand's own unevenness, the same unevenness under every remedy, so that side by side
only the remedy differs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from knitlog.plan.colour_checks import clear_changes
from knitlog.plan.colour_run import PALETTE
from knitlog.plan.drift_path import (
    DriftPath,
    after_needle_change,
    after_stitch_count_change,
    carry_on,
    tension_errors,
    with_mending,
)
from knitlog.plan.fabric import Fabric, knit_fabric
from knitlog.yarn.colours import ColourRun, ColourSegment
from knitlog.yarn.gauge import Gauge, stitch_height_mm, stitch_width_mm
from knitlog.yarn.geometry import (
    likely_yarn_thickness,
    needle_response_factor,
    wrap,
    wrap_offset,
)
from knitlog.yarn.needles import NEEDLE_SIZES_MM

if TYPE_CHECKING:
    from knitlog.drift import DriftFit
    from knitlog.journal.project import ProjectState
    from knitlog.plan.drift_path import FloatArray
    from knitlog.workbench.one_look import Look

STAND_IN_NAMES = ("light", "middle", "dark", "deep")
USUAL_ROUNDS_AHEAD = 40
MOST_ROUNDS_AHEAD = 1000
_STAND_IN_REPEAT_MM = 1000.0
_NEAREST_NEEDLES = 6
"""Sizes either way that are considered when she has not said which she owns."""


@dataclass(frozen=True, slots=True)
class Course:
    """One way to go on, and the fabric it makes."""

    name: str
    """What is done: carry on, tapestry needle, change needle, change stitch count."""
    caption: str
    """The same with its numbers, short enough to stand above the fabric."""
    fabric: Fabric | None
    """Rounds knitted and to come; None where this cannot be done here."""
    share_in_line: float | None
    """Share of the rounds to come within tolerance, 0 to 1."""
    mendings: int
    """How often an offset is taken out by hand."""
    reason: str
    """What it does to the drift and the offset, or why it cannot be done here."""


@dataclass(frozen=True, slots=True)
class ProjectFabric:
    """A project's fabric under every remedy."""

    courses: tuple[Course, ...]
    """Carry on first."""
    run: ColourRun
    """The colours it is drawn with."""
    stand_in: str
    """Why the colours are not the yarn's own, in a sentence; empty if they are."""
    knitted: int
    """Rounds knitted so far."""
    home: float
    """Stitch (from 1) at which the logged colour change belongs."""
    aspect: float
    """Height of a stitch over its width."""
    gauge: Gauge | None
    """As told; None if not."""


def run_of(state: ProjectState) -> tuple[ColourRun, str]:
    """The project's colour run; or a stand-in, with a sentence that says so."""
    told = state.facts.colour_run
    if told is not None:
        return told, ""
    run = stand_in_run(state.facts.repeat_length_mm)
    return run, (
        "The yarn's colours are not described yet: four stand-ins of equal length are shown. "
        "How far they slide is right; which colour falls where is not."
    )


def stand_in_run(repeat_length_mm: float | None = None) -> ColourRun:
    """Four colours of equal length, told apart by colour-blind eyes too."""
    each = (repeat_length_mm or _STAND_IN_REPEAT_MM) / len(STAND_IN_NAMES)
    parts = zip(STAND_IN_NAMES, (PALETTE[3], PALETTE[1], PALETTE[4], PALETTE[5]), strict=True)
    return ColourRun(tuple(ColourSegment(name, each, colour) for name, colour in parts))


def project_fabric(
    view: Look, rounds_ahead: int | None = None, *, uneven: bool = True, seed: int = 0
) -> ProjectFabric:
    """The fabric of one project under every remedy.

    Args:
        view: a look at the project; without a fit it is drawn as planned, in line.
        rounds_ahead: rounds to come; those planned, or 40 if None.
        uneven: whether rounds to come have the hand's own unevenness.
        seed: the same seed gives the same unevenness.

    Raises:
        PlanError: the drift is more than a whole round.

    """
    state, fit = view.state, view.fit
    run, stand_in = run_of(state)
    gauge = state.facts.gauge
    ahead = _rounds_ahead(state, rounds_ahead)
    knitted = None if fit is None else knitted_path(state, fit)
    home = _home(state, fit)
    start = _start_mm(run, state, home, knitted)
    courses = []
    for way in _ways(state, fit, knitted, ahead, uneven, seed):
        fabric = None
        if way.possible:
            parts = [path for path in (knitted, way.later) if path is not None]
            path = parts[0] if len(parts) == 1 else parts[0].then(parts[1])
            fabric = knit_fabric(
                run, path, state.facts.repeats, flat=state.facts.flat, start_mm=start
            )
        courses.append(
            Course(way.name, way.caption, fabric, way.share_in_line, way.mendings, way.reason)
        )
    shape = gauge if gauge is not None else Gauge(2.0)
    return ProjectFabric(
        courses=tuple(courses),
        run=run,
        stand_in=stand_in,
        knitted=0 if knitted is None else knitted.rounds,
        home=home,
        aspect=stitch_height_mm(shape) / stitch_width_mm(shape),
        gauge=gauge,
    )


def knitted_path(state: ProjectState, fit: DriftFit) -> DriftPath:
    """Rounds 1 to the last logged, from the fitted offset of each.

    Rounds below the first one logged are taken to have drifted as it did.
    """
    path = fit.path
    first, last = int(path.rounds[0]), int(path.rounds[-1])
    target = fit.log.target_drift
    # the fit's offsets are against the wanted look; the fabric wants where the colours are
    logged = path.mean + target * (path.rounds - first)
    before = fit.stint_drifts[0].drift.mean if fit.stint_drifts else fit.drift.mean
    early = logged[0] - before * np.arange(first - 1, 0, -1)
    offsets = np.concatenate((early, logged))
    stands = fit.offset.mean + target * (last - first)
    drifts = np.append(np.diff(offsets), stands + fit.drift.mean - offsets[-1])
    counts = np.array([state.stint_of(r).stitches for r in range(1, last + 1)], dtype=np.int64)
    # a jump of more than half a round is a doubt about the reading, not a change of the yarn
    drifts = np.clip(drifts, -counts / 2, counts / 2)
    return DriftPath(offsets, drifts, counts, np.zeros(last, dtype=np.bool_))


def _rounds_ahead(state: ProjectState, asked: int | None) -> int:
    if state.finished:
        return 0
    if asked is not None:
        return min(max(asked, 0), MOST_ROUNDS_AHEAD)
    planned = state.facts.planned_rounds
    if planned is None:
        return USUAL_ROUNDS_AHEAD
    return min(max(planned - state.last_round, 0), MOST_ROUNDS_AHEAD)


def _home(state: ProjectState, fit: DriftFit | None) -> float:
    """Stitches before the place where the first colour change belongs."""
    homes = state.facts.homes
    if homes:
        return homes[min(homes)]
    if fit is None or not len(fit.path.reading_offsets):
        return state.facts.stitches / 4
    reading = fit.log.readings[0]
    stitches = state.stint_of(reading.round).stitches
    stitch = reading.stitch
    if fit.log.flat and reading.round % 2 == 0:
        stitch = stitches - stitch
    target = fit.log.target_drift * (reading.round - int(fit.path.rounds[0]))
    # reading = home + offset + what was wanted so far
    return wrap(stitch - float(fit.path.reading_offsets[0]) - target, stitches)


def _start_mm(run: ColourRun, state: ProjectState, home: float, knitted: DriftPath | None) -> float:
    """Where in the run round 1 begins with no offset: so that the change logged falls at home."""
    clear = clear_changes(run)
    change = clear[0][2] if clear else run.boundaries_mm[0]
    moved = state.facts.target_drift if knitted is None else float(knitted.drifts[0])
    # change = start + home s, s = k L / (N + d)
    each = state.facts.repeats * run.repeat_length_mm / (state.stints[0].stitches + moved)
    return change - home * each


@dataclass(frozen=True, slots=True)
class _Way:
    """A course before it is knitted."""

    name: str
    caption: str
    reason: str
    later: DriftPath | None = None
    """Rounds to come; None if there are none."""
    possible: bool = True
    share_in_line: float | None = None
    mendings: int = 0


def _ways(
    state: ProjectState,
    fit: DriftFit | None,
    knitted: DriftPath | None,
    ahead: int,
    uneven: bool,
    seed: int,
) -> list[_Way]:
    """Every way to go on."""
    facts = state.facts
    stitches, tolerance, target = state.stitches, facts.tolerance, facts.target_drift
    turn = _turn(state)
    if fit is None or knitted is None:
        return [
            _Way(
                "carry on",
                f"As planned, {target:+g} a {turn}" if target else "As planned",
                f"Log two {turn}s or more, and it is drawn as you knit it.",
                carry_on(0.0, target, stitches, max(ahead, 1)),
            )
        ]
    if ahead == 0:
        return [_Way("as knitted", "As knitted", f"There are no {turn}s to come.")]
    drift = fit.drift.mean
    errors = tension_errors(ahead, fit.tension_noise_sd if uneven else 0.0, seed)
    # what was wanted of the offset by the first round to come; the rest is out of place
    wanted = target * (state.last_round + 1 - int(fit.path.rounds[0]))
    # a whole repeat further on the colours are in place again: she mends towards the nearest
    offset = wrap_offset(knitted.end_offset - wanted, stitches / facts.repeats)
    wanted = knitted.end_offset - offset

    def way(name: str, caption: str, path: DriftPath, reason: str) -> _Way:
        return _Way(
            name,
            caption,
            reason,
            replace(path, offsets=path.offsets + wanted),
            share_in_line=path.share_in_tolerance(tolerance, target),
            mendings=int(path.mended.sum()),
        )

    plain = carry_on(offset, drift, stitches, ahead, errors)
    mended = with_mending(
        offset,
        drift,
        stitches,
        ahead,
        tolerance,
        errors,
        target_drift=target,
        most_stitches=stitches / 2,
    )
    times = int(mended.mended.sum())
    often = {0: "not needed", 1: "once"}.get(times, f"{times} times")
    return [
        way("carry on", f"Carry on: {drift:+.1f} a {turn}", plain, "Nothing is done about it."),
        way(
            "tapestry needle",
            f"Tapestry needle: {often}",
            mended,
            f"Evened out whenever the colours are more than {tolerance:g} stitches off: "
            "that mends the offset and leaves the drift.",
        ),
        _needle_way(state, fit, offset, ahead, errors, way),
        _count_way(state, drift, offset, ahead, errors, way),
    ]


_WayMaker = Callable[[str, str, DriftPath, str], _Way]
"""Makes a way of its name, caption, path and reason."""


def _needle_way(
    state: ProjectState,
    fit: DriftFit,
    offset: float,
    ahead: int,
    errors: FloatArray,
    way: _WayMaker,
) -> _Way:
    """Another needle, the one that leaves the least drift."""
    name, stitches, drift, turn = "change needle", state.stitches, fit.drift.mean, _turn(state)
    needle, refused = _best_needle(state, fit)
    if needle is None or state.needle_mm is None:
        return _Way(name, "Another needle", refused, possible=False)
    factor = needle_response_factor(state.needle_mm, needle, _thickness(state, fit))
    # (N + d2) s f = (N + d) s
    then = (stitches + drift) / factor - stitches
    return way(
        name,
        f"{needle:g} mm needle: {then:+.1f} a {turn}",
        after_needle_change(offset, drift, stitches, ahead, factor, errors),
        f"A {needle:g} mm needle brings the drift to about {then:+.1f} a {turn} "
        "and leaves the colours where they stand.",
    )


def _count_way(
    state: ProjectState,
    drift: float,
    offset: float,
    ahead: int,
    errors: FloatArray,
    way: _WayMaker,
) -> _Way:
    """Another stitch count, the one that leaves the least drift."""
    name, stitches, turn = "change stitch count", state.stitches, _turn(state)
    count = _best_count(state, drift)
    if count == stitches:
        why = "No stitch count the pattern allows would drift less."
        return _Way(name, "Another stitch count", why, possible=False)
    then = stitches + drift - count
    return way(
        name,
        f"{count} stitches: {then:+.1f} a {turn}",
        after_stitch_count_change(offset, drift, stitches, ahead, count, errors),
        f"{count} stitches at the same tension drift {then:+.1f} a {turn}; "
        "the colours stay where they stand.",
    )


def _turn(state: ProjectState) -> str:
    """What one turn of the knitting is called."""
    return "row" if state.facts.flat else "round"


def _best_needle(state: ProjectState, fit: DriftFit) -> tuple[float | None, str]:
    """The needle with the least drift left; or None, and why there is none."""
    now = state.needle_mm
    if now is None:
        return None, "The needle is not known: say which it is in the settings."
    owned = state.facts.needles_owned_mm
    near = sorted(NEEDLE_SIZES_MM, key=lambda mm: abs(mm - now))[:_NEAREST_NEEDLES]
    thickness = _thickness(state, fit)

    def left(needle: float) -> float:
        factor = needle_response_factor(now, needle, thickness)
        then = (state.stitches + fit.drift.mean) / factor - state.stitches
        return abs(then - state.facts.target_drift)

    best = min((now, *(owned or near)), key=left)
    if best == now:
        whose = "you own" if owned else "there is"
        return None, f"No other needle {whose} would drift less."
    return best, ""


def _best_count(state: ProjectState, drift: float) -> int:
    """The stitch count with the least drift left that the pattern allows."""
    step = state.facts.multiple
    if step == 0:
        return state.stitches
    # N2 + d2 = N + d, in whole multiples from the present count
    steps = round((drift - state.facts.target_drift) / step)
    while state.stitches + steps * step < 2:
        steps += 1
    return state.stitches + steps * step


def _thickness(state: ProjectState, fit: DriftFit) -> float:
    """Yarn thickness, mm: as told, or what her loops make likely."""
    told = state.facts.yarn_thickness_mm
    if told is not None:
        return told
    loop = fit.yarn_per_stitch_mm
    return likely_yarn_thickness(None if loop is None else loop.mean, state.needle_mm)
