"""One knitter over several projects: the hands stay, the yarn changes.

:mod:`knitlog.simulate.knitter` knits one log from a drift; here the drift comes from the
hands.  Yarn per stitch follows Munden's law with the knitter's own constant, moved by
fibre, stitch pattern and what each project has of its own; a needle step moves it by her
share of the loop law.  So what one project teaches holds, as far as it does, for the next.
"""

from dataclasses import dataclass, replace
from math import exp
from math import log as ln

import numpy as np

from knitlog.drift.log import Fix, Reading, Stint
from knitlog.simulate.knitter import KnittedLog, Knitter, Work, knit
from knitlog.yarn.geometry import wrap_offset


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
    """Of one round, stitches on 128."""
    reading_noise_sd: float = 0.5
    """Stitches."""
    noise_log_sd: float = 0.12
    """Spread of the log of either noise from project to project."""
    sitting_sd: float = 0.0
    """Spread of drift between sittings, stitches a round on 128."""
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
    homes: tuple[float, ...] = (40.0,)
    changes: tuple[Stint, ...] = ()
    """Needle and stitch-count changes after the cast-on."""
    fixes: tuple[Fix, ...] = ()
    """As she meant them."""
    unlogged: tuple[tuple[int, float], ...] = ()
    """(first round, change of drift) nobody logged."""
    rounding: float = 0.5
    miscount_rate: float = 0.0
    missing_rate: float = 0.0
    rounds_per_sitting: int = 6


@dataclass(frozen=True, slots=True)
class Knitted:
    """A project of hers as logged, and the truth behind it."""

    knitted: KnittedLog
    """Its log has the fixes as she meant them."""
    yarn_per_stitch_mm: tuple[float, ...]
    """Of each stint."""
    drifts: tuple[float, ...]
    """Of each stint, stitches/round."""
    fixes_done: tuple[float, ...]
    """What each fix did, stitches."""


def knit_project(person: Person, plan: Undertaking, seed: int) -> Knitted:
    """Knit one project; the same seed gives the same project."""
    rng = np.random.default_rng(seed)
    own = rng.normal(0.0, person.project_sd)
    # s = Kw / (wales per mm)
    log_yarn = ln(10.0 * person.kw / plan.gauge_stitches_per_cm) + own
    log_yarn += dict(person.fibres).get(plan.fibre or "", 0.0)
    log_yarn += dict(person.patterns).get(plan.pattern or "", 0.0)
    yarn, needle = [exp(log_yarn)], plan.needle_mm
    for change in plan.changes:
        answer = person.needle_answer + rng.normal(0.0, person.answer_sd)
        beside = rng.normal(0.0, person.needle_sd)
        if change.needle_mm is not None and change.needle_mm != needle:
            y = plan.yarn_thickness_mm
            # s2 / s1 = ((D2 + y) / (D1 + y))^answer
            log_yarn += answer * ln((change.needle_mm + y) / (needle + y)) + beside
            needle = change.needle_mm
        yarn.append(exp(log_yarn))
    counts = [plan.stitches, *(c.stitches for c in plan.changes)]
    # d = k L / s - N
    drifts = [
        plan.repeats * plan.repeat_length_mm / s - n for s, n in zip(yarn, counts, strict=True)
    ]
    shares = dict(person.fix_shares)
    # of a generator of their own: one fix more leaves the rest of the knitting as it was
    slips = np.random.default_rng((seed, 1)).normal(0.0, person.fix_sd, len(plan.fixes))
    done = [
        f.taken_out * (shares.get(f.kind, 1.0) + float(slip))
        for f, slip in zip(plan.fixes, slips, strict=True)
    ]
    scale = plan.stitches / 128
    tension = person.tension_noise_sd * scale**0.5 * exp(rng.normal(0.0, person.noise_log_sd))
    reading = person.reading_noise_sd * exp(rng.normal(0.0, person.noise_log_sd))
    work = Work(
        stitches=plan.stitches,
        rounds=plan.rounds,
        repeats=plan.repeats,
        homes=plan.homes,
        drift_changes=plan.unlogged,
        fixes=tuple(replace(f, taken_out=d) for f, d in zip(plan.fixes, done, strict=True)),
        stints=tuple(zip(plan.changes, drifts[1:], strict=True)),
        needle_mm=plan.needle_mm,
        repeat_length_mm=plan.repeat_length_mm,
    )
    knitter = Knitter(
        drift=drifts[0],
        tension_noise_sd=tension,
        reading_noise_sd=reading,
        sitting_sd=person.sitting_sd * scale,
        rounds_per_sitting=plan.rounds_per_sitting,
        miscount_rate=plan.miscount_rate,
        rounding=plan.rounding,
        missing_rate=plan.missing_rate,
    )
    made = knit(knitter, work, int(rng.integers(1 << 40)))
    # what she logs is what she meant, and which evening it was
    log = replace(
        made.log,
        readings=tuple(
            replace(r, sitting=(r.round - 1) // plan.rounds_per_sitting + 1)
            for r in made.log.readings
        ),
        fixes=plan.fixes,
        yarn_thickness_mm=plan.yarn_thickness_mm,
    )
    return Knitted(replace(made, log=log), tuple(yarn), tuple(drifts), tuple(done))


def mended(person: Person, plan: Undertaking, seed: int, at: float) -> Undertaking:
    """Return ``plan`` with the fixes she would make: whenever she reads more than ``at`` off.

    A small one by tapestry needle, a large one by ripping back; each takes out what she
    reads, to the stitch.
    """
    for _ in range(plan.rounds):
        log = knit_project(person, plan, seed).knitted.log
        since = plan.fixes[-1].after_round if plan.fixes else 0
        off = _first_off(log.readings, plan, since, at)
        if off is None:
            return plan
        number, size = off
        kind = "tapestry needle" if abs(size) <= _BY_NEEDLE else "rip back"
        plan = replace(plan, fixes=(*plan.fixes, Fix(number, float(round(size)), kind)))
    return plan


_BY_NEEDLE = 6.0
"""Stitches; more than that she rips back."""


def _first_off(
    readings: tuple[Reading, ...], plan: Undertaking, since: int, at: float
) -> tuple[int, float] | None:
    """Return the first round after ``since`` read more than ``at`` off its place, and how far."""
    counts = {1: plan.stitches, **{s.first_round: s.stitches for s in plan.changes}}
    recent: list[float] = []
    for r in sorted(readings, key=lambda r: (r.round, r.change)):
        if r.round <= since or r.change != 1 or r.round == plan.rounds:
            continue
        count = counts[max(first for first in counts if first <= r.round)]
        off = wrap_offset(r.stitch - plan.homes[0] * count / plan.stitches, count)
        recent = [*recent[-1:], off]
        # two rounds running, so that one miscount mends nothing
        if len(recent) == 2 and min(abs(x) for x in recent) > at and recent[0] * recent[1] > 0:
            return r.round, off
    return None
