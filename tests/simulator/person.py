"""One knitter over several projects: the hands stay, the yarn changes.

Yarn per stitch follows Munden's law with her own constant, moved by fibre, stitch pattern and
what each project has of its own; a needle step moves it by her share of the loop law.  So what
one project teaches holds, as far as it does, for the next.
"""

from dataclasses import dataclass, field
from math import exp
from math import log as ln

import numpy as np

from knitlog.drift.log import DriftLog, Fix, Stint
from knitlog.yarn.geometry import wrap_offset
from tests.simulator.hand import Hand, Work, percent
from tests.simulator.knitting import Knitting

_BY_NEEDLE = 6.0
"""Stitches; more than that she rips back."""


@dataclass(frozen=True, slots=True)
class Person:
    """Whose hands these are, over all her projects."""

    kw: float = 4.1
    """Yarn per stitch in stitch widths: her own constant in Munden's law."""
    project_sd: float = 0.02
    """Spread of one project about her own law, of the log of yarn per stitch."""
    fibres: tuple[tuple[str, float], ...] = ()
    """(fibre, change of log yarn per stitch)."""
    patterns: tuple[tuple[str, float], ...] = ()
    """(stitch pattern, change of log yarn per stitch)."""
    needle_answer: float = 1.0
    """Her answer to a needle step, as a share of the loop law's."""
    answer_sd: float = 0.06
    """Spread of one change's answer about it."""
    needle_sd: float = 0.004
    """What one needle does beside its size, of the log."""
    tension_noise_sd: float = 0.7
    """Of one round of 128, stitches; each stitch slips on its own."""
    reading_noise_sd: float = 0.5
    """Stitches."""
    noise_log_sd: float = 0.12
    """Spread of the log of either noise from project to project."""
    sitting_sd: float = 0.0
    """Spread of drift between sittings, stitches a round on 128."""
    creep_sd: float = 0.0
    """Step of her tension's wandering, a round, stitches a round on 128."""
    purl_percent: float = 0.0
    """How much more yarn her purl rows take than her knit rows, worked flat."""
    tension_answer: float = 0.6
    """Share she gives of a tension she is asked for."""
    tension_answer_sd: float = 0.1
    fix_shares: tuple[tuple[str, float], ...] = ()
    """(how, share of what was meant that her fixes do)."""
    fix_sd: float = 0.1
    """Spread of one fix about that share."""


@dataclass(frozen=True, slots=True)
class Undertaking:
    """One project of hers before it is knitted."""

    stitches: int = 100
    rounds: int = 40
    gauge_stitches_per_cm: float = 2.2
    repeat_length_mm: float = 1524.0
    repeats: int = 1
    needle_mm: float = 4.0
    yarn_thickness_mm: float = 2.2
    fibre: str | None = None
    pattern: str | None = None
    flat: bool = False
    homes: tuple[float, ...] = (40.0,)
    changes: tuple[Stint, ...] = ()
    """Needle and stitch-count changes after the cast-on."""
    fixes: tuple[Fix, ...] = ()
    """As she meant them."""
    asked: tuple[tuple[int, float], ...] = ()
    """(first round, tension asked of her hand from it on, percent)."""
    mended_at: float | None = None
    """She mends once the colours read this far off twice running, stitches."""
    unlogged: tuple[tuple[int, float], ...] = ()
    """(first round, change of drift) nobody logged."""
    rounding: float = 0.5
    miscount_rate: float = 0.0
    missing_rate: float = 0.0
    rounds_per_sitting: int = 6


@dataclass(frozen=True, slots=True)
class Knitted:
    """A project of hers as logged, and the truth behind it."""

    knitting: Knitting
    log: DriftLog
    """Its fixes are as she meant them."""
    yarn_per_stitch_mm: tuple[float, ...]
    """Of each stint, on the whole."""
    drifts: tuple[float, ...]
    """Of each stint, on the whole, stitches/round."""
    off_by: tuple[float, ...] = field(default=())
    """How far off its place the colour fell, each round, stitches."""

    @property
    def fixes_done(self) -> tuple[float, ...]:
        """What each fix did, stitches."""
        return tuple(self.knitting.fixes_done)


def knit_project(person: Person, plan: Undertaking, seed: int) -> Knitted:
    """Knit one project; the same seed gives the same project."""
    knitting = Knitting(_hand(person, plan, seed), _work(plan), seed)
    changes = {c.first_round: c for c in plan.changes}
    fixes = {f.after_round: f for f in plan.fixes}
    asked = dict(plan.asked)
    running: list[float] = []
    by_stint: list[list[tuple[float, float]]] = [[]]
    for number in range(1, plan.rounds + 1):
        if number in changes:
            knitting.change_stitches(changes[number].stitches)
            knitting.change_needle(changes[number].needle_mm or knitting.needle_mm)
            by_stint.append([])
        if number in asked:
            knitting.ask_tension(asked[number])
        last = number == plan.rounds
        readings = knitting.knit_round(logged=True if last else None)
        by_stint[-1].append((knitting.now_mm, knitting.drift))
        if number in fixes:
            _mend(knitting, fixes[number].taken_out, fixes[number].kind)
        elif plan.mended_at is not None and readings and not last:
            place = knitting.places[0]
            running = [*running[-1:], wrap_offset(readings[0].stitch - place, knitting.stitches)]
            # two rounds running, so that one miscount mends nothing
            same_way = len(running) == 2 and running[0] * running[1] > 0
            if same_way and min(map(abs, running)) > plan.mended_at:
                size = float(round(running[1]))
                _mend(knitting, size, "tapestry needle" if abs(size) <= _BY_NEEDLE else "rip back")
                running = []
    mean = [np.mean(stint, axis=0) for stint in by_stint]
    return Knitted(
        knitting,
        knitting.to_drift_log(),
        tuple(float(m[0]) for m in mean),
        tuple(float(m[1]) for m in mean),
        tuple(knitting.off_by),
    )


def _mend(knitting: Knitting, taken_out: float, kind: str) -> None:
    """Mend over as many stitches as it takes for none to grow by more than a fifth."""
    over = min(max(20, round(5 * abs(taken_out))), knitting.stitches)
    if kind == "rip back":
        knitting.reknit(taken_out, over, kind=kind)
    else:
        knitting.ease(taken_out, over, kind=kind)


def _work(plan: Undertaking) -> Work:
    return Work(
        stitches=plan.stitches,
        repeats=plan.repeats,
        repeat_length_mm=plan.repeat_length_mm,
        needle_mm=plan.needle_mm,
        yarn_thickness_mm=plan.yarn_thickness_mm,
        rounds=plan.rounds,
        flat=plan.flat,
        places=plan.homes,
    )


def _hand(person: Person, plan: Undertaking, seed: int) -> Hand:
    """Return her hand in this project."""
    # of a generator of its own: one change more leaves the rest as it was
    rng = np.random.default_rng((seed, 0, 7))
    own, tension, reading = rng.standard_normal(3)
    # s = Kw / (wales per mm)
    log_yarn = ln(10.0 * person.kw / plan.gauge_stitches_per_cm) + person.project_sd * own
    log_yarn += dict(person.fibres).get(plan.fibre or "", 0.0)
    log_yarn += dict(person.patterns).get(plan.pattern or "", 0.0)
    beside = []
    y = plan.yarn_thickness_mm
    for change in plan.changes:
        answer, needle = rng.normal(0.0, (person.answer_sd, person.needle_sd))
        if change.needle_mm is not None and change.needle_mm != plan.needle_mm:
            step = ln((change.needle_mm + y) / (plan.needle_mm + y))
            beside.append((change.needle_mm, 100.0 * (exp(answer * step + needle) - 1.0)))
    noise = exp(person.noise_log_sd * tension) * person.tension_noise_sd
    return Hand(
        yarn_mm=exp(log_yarn),
        needle_mm=plan.needle_mm,
        # N stitches of it come to the noise of a round of N
        stitch_percent=100.0 * noise / 128**0.5,
        sitting_percent=percent(person.sitting_sd),
        rounds_a_sitting=plan.rounds_per_sitting,
        creep_percent=percent(person.creep_sd),
        purl_percent=person.purl_percent,
        answer=person.tension_answer,
        answer_sd=person.tension_answer_sd,
        needle_answer=person.needle_answer,
        needle_percent=tuple(beside),
        # a drift up by c is yarn down by c / N
        sudden=tuple((first, -percent(by, plan.stitches)) for first, by in plan.unlogged),
        fix_shares=person.fix_shares,
        miss_stitches=0.0,
        miss_share=person.fix_sd,
        reading_sd=person.reading_noise_sd * exp(person.noise_log_sd * reading),
        rounding=plan.rounding,
        miscount_rate=plan.miscount_rate,
        missing_rate=plan.missing_rate,
        notes_sittings=True,
    )
