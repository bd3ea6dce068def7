"""Pooling the records of all finished projects into one knitter's hands."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, pi, sqrt
from math import log as ln

from knitlog.drift.fit_result import Estimate
from knitlog.drift.prior import Prior
from knitlog.hands.pooling import Hyperprior, Kinds, Pooled, pool, pool_kinds
from knitlog.hands.records import FinishedProject, Materials, Measured, StintRecord
from knitlog.hands.sitting_noise import sitting_noise
from knitlog.hands.yarn_model import Sighting, YarnModel, yarn_model
from knitlog.yarn.gauge import Gauge, yarn_per_stitch_from_gauge
from knitlog.yarn.geometry import USUAL_YARN_THICKNESS_MM

_USUAL = Prior()
# Kw = s in cm at one stitch a cm (Munden 1959, wet relaxed)
_MUNDEN_KW = ln(yarn_per_stitch_from_gauge(Gauge(1.0)) / 10.0)
_MUNDEN_SD = 0.07
"""Spread of knitters about Munden's law, of the log; with the spread between projects 8 %,
as the plan room believes (own judgement, no source)."""
_LOOP_SD = 0.12
"""Spread of knitters about the loop law, of the log (own judgement, no source)."""
_LOOP_PROJECT_SCALE = 0.10
"""Scale of the spread between projects about it: how loosely a yarn is knitted for its
thickness is a choice, unlike Munden's constant (own judgement, no source)."""
_UNKNOWN_THICKNESS_MM = 0.5
"""Spread of the yarn's thickness where nobody measured it."""
_RESPONSE = Hyperprior(centre=1.0, centre_sd=0.30, spread=0.18)
"""A needle step's answer over the loop law's; together the drift room's 35 %."""
_TENSION, _READING = (
    Hyperprior(ln(median), 0.8 * _USUAL.noise_log_sd, 0.6 * _USUAL.noise_log_sd)
    for median in (_USUAL.tension_noise_median, _USUAL.reading_noise_median)
)
"""Logs of the noises; together the drift room's spread, 0.8^2 + 0.6^2 = 1."""
_PURL = Hyperprior(centre=1.0, centre_sd=1.5, spread=0.8)
"""How much more yarn purl rows take than knit rows, % (a purl takes a little more: a trade
fact; the numbers are own judgement)."""
_TENSION_ANSWER = Hyperprior(_USUAL.tension_response_mean, 0.3, 0.26)
"""Share given of a tension asked; together the drift room's spread, 0.4."""
_LANDING = Hyperprior(centre=1.0, centre_sd=0.15, spread=0.12)
"""Share of what was meant that a fix does (own judgement, no source)."""
_A_PROJECT = 40
"""Rounds over which her wandering is told."""
_SMALL_MISS = 0.3
"""How far a fix misses however small, stitches."""


@dataclass(frozen=True, slots=True)
class FixHabit:
    """How one way of mending lands in her hands."""

    how: str
    share: Pooled
    """Share of what was meant that is done: 1 is right, below 1 too little."""


@dataclass(frozen=True, slots=True)
class Hands:
    """What the finished projects say of one knitter."""

    projects: tuple[FinishedProject, ...]
    by_gauge: YarnModel
    """Log of Kw: yarn per stitch times stitches per length."""
    by_needle: YarnModel
    """Log of yarn per stitch over pi (D + y)."""
    needle_response: Pooled
    """Answer to a needle step over the loop law's: 1 is the law, below 1 she evens it out."""
    tension_noise: Pooled
    """ln of the spread of one round's tension error, stitches, on a round of 128."""
    reading_noise: Pooled
    """ln of the spread of a reading, stitches."""
    sittings: Estimate
    """Spread of drift between sittings, stitches a round on 128."""
    sitting_runs: int
    """Stints that rests on; 0 leaves it what was believed beforehand."""
    creep: Kinds
    """How much her drift changes from one round to the next, as a share of what her rounds
    differ by."""
    purl: Pooled
    """How much more yarn her wrong-side rows take than her right-side rows, %."""
    tension_answer: Pooled
    """Share she gives of a tension asked of her hand."""
    fixes: tuple[FixHabit, ...]
    """By the way of mending, those she has used most first."""

    @property
    def yarn(self) -> YarnModel:
        """Return the surer of the two yarn models: by gauge, where any was counted."""
        return self.by_gauge if self.by_gauge.sightings else self.by_needle

    @property
    def wander(self) -> float:
        """Return how far her drift wanders over 40 rounds, stitches a round on 128 (one spread)."""
        # a random walk grows with the root of its steps
        return self.creep.mean * exp(self.tension_noise.mean.mean) * sqrt(_A_PROJECT)

    @property
    def known(self) -> bool:
        """Return whether there is any finished project to go by."""
        return bool(self.projects)


def learn(projects: Sequence[FinishedProject]) -> Hands:
    """Pool ``projects``; none gives what is believed of any knitter."""
    steps = [step for p in projects for step in p.steps if step.expected_log]
    noises = [p.noise for p in projects if p.noise is not None]
    runs = [run for p in projects for run in p.sittings]
    return Hands(
        projects=tuple(projects),
        by_gauge=yarn_model(_by_gauge(projects), _MUNDEN_KW, _MUNDEN_SD),
        by_needle=yarn_model(_by_needle(projects), 0.0, _LOOP_SD, _LOOP_PROJECT_SCALE),
        needle_response=pool(
            [s.answer_log / s.expected_log for s in steps],
            # what a needle does beside its size is left to the spread between changes
            [s.answer_sd / abs(s.expected_log) for s in steps],
            _RESPONSE,
        ),
        tension_noise=pool(
            [n.log_tension for n in noises], [n.log_tension_sd for n in noises], _TENSION
        ),
        reading_noise=pool(
            [n.log_reading for n in noises], [n.log_reading_sd for n in noises], _READING
        ),
        sittings=sitting_noise(runs),
        sitting_runs=len(runs),
        creep=pool_kinds(
            [p.creep_log_likelihood for p in projects if p.creep_log_likelihood],
            _USUAL.creep_nodes,
        ),
        purl=_pooled([p.purl_percent for p in projects], _PURL),
        tension_answer=_pooled([p.tension_answer for p in projects], _TENSION_ANSWER),
        fixes=_fix_habits(projects),
    )


def _pooled(found: Sequence[Measured | None], belief: Hyperprior) -> Pooled:
    told = [m for m in found if m is not None]
    return pool([m.value for m in told], [m.sd for m in told], belief)


def any_landing() -> Pooled:
    """Return the share of what was meant that any knitter's fix does."""
    return pool((), (), _LANDING)


def loop_mm(needle_mm: float, yarn_thickness_mm: float | None) -> tuple[float, float]:
    """Return the loop's length round the needle, mm, and the spread of its log."""
    known = yarn_thickness_mm is not None
    y = USUAL_YARN_THICKNESS_MM if yarn_thickness_mm is None else yarn_thickness_mm
    # s = pi (D + y)
    return pi * (needle_mm + y), 0.0 if known else _UNKNOWN_THICKNESS_MM / (needle_mm + y)


def _by_gauge(projects: Sequence[FinishedProject]) -> list[Sighting]:
    return [
        Sighting(
            p.name,
            _materials(p, s),
            # Kw = s * wales per mm
            ln(s.yarn_per_stitch_mm * s.gauge_stitches_per_cm / 10.0),
            s.yarn_per_stitch_sd_mm / s.yarn_per_stitch_mm,
        )
        for p in projects
        for s in p.stints
        if s.gauge_stitches_per_cm is not None
    ]


def _by_needle(projects: Sequence[FinishedProject]) -> list[Sighting]:
    found = []
    for p in projects:
        for s in p.stints:
            if s.needle_mm is None:
                continue
            loop, sd = loop_mm(s.needle_mm, p.materials.yarn_thickness_mm)
            own = s.yarn_per_stitch_sd_mm / s.yarn_per_stitch_mm
            found.append(
                Sighting(p.name, _materials(p, s), ln(s.yarn_per_stitch_mm / loop), _root(own, sd))
            )
    return found


def _materials(project: FinishedProject, stint: StintRecord) -> Materials:
    return replace(project.materials, needle_mm=stint.needle_mm)


def _fix_habits(projects: Sequence[FinishedProject]) -> tuple[FixHabit, ...]:
    ways: dict[str, list[tuple[float, float]]] = {}
    for p in projects:
        for fix in p.fixes:
            spread = _root(fix.did_sd, _SMALL_MISS)
            ways.setdefault(fix.how, []).append((fix.did / fix.meant, spread / abs(fix.meant)))
    habits = [
        FixHabit(how, pool([x for x, _ in seen], [s for _, s in seen], _LANDING))
        for how, seen in ways.items()
    ]
    return tuple(sorted(habits, key=lambda h: (-h.share.count, h.how)))


def _root(*parts: float) -> float:
    return sqrt(sum(part * part for part in parts))
