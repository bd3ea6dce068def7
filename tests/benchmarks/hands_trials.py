"""What past projects are worth: the same next project forecast with and without them."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from knitlog.drift import Prior, Stint, fit
from knitlog.hands.learn import learn
from knitlog.hands.look_back import look_back
from knitlog.hands.next_project import CastOn, expected_drift, to_prior
from knitlog.hands.records import FinishedProject, Materials
from tests.simulator.person import Knitted, Person, Undertaking, knit_project

PAST = (0, 1, 3, 10)
FIBRES = ("wool", "alpaca", "cotton")
PATTERNS = ("plain", "ribbing")
NEEDLES = (3.5, 4.0, 4.5, 5.0)
KW_BY_LAW = 4.1


@dataclass(frozen=True)
class Case:
    """Errors of one knitter's next project, stitches a round, by the number of past projects."""

    first_drift: tuple[float, ...]
    """The plan's first drift, forecast minus truth."""
    first_held: tuple[bool, ...]
    """Whether the 95 % interval held it; without history Munden's law with 8 %."""
    after_change: tuple[float, ...]
    """The drift after a needle change, forecast before a round was knitted on it."""
    after_held: tuple[bool, ...]
    three_rounds_in: tuple[float, ...]
    """The same with three rounds read."""


def some_person(rng: np.random.Generator) -> Person:
    """A knitter unlike the last one."""
    return Person(
        kw=KW_BY_LAW * float(np.exp(rng.normal(0.0, 0.07))),
        project_sd=float(rng.uniform(0.01, 0.03)),
        fibres=tuple((f, float(rng.normal(0.0, 0.015))) for f in FIBRES),
        patterns=tuple((p, float(rng.normal(0.0, 0.015))) for p in PATTERNS),
        needle_answer=float(rng.normal(1.0, 0.3)),
        answer_sd=0.1,
        tension_noise_sd=0.7 * float(np.exp(rng.normal(0.0, 0.35))),
        reading_noise_sd=0.5 * float(np.exp(rng.normal(0.0, 0.35))),
    )


def some_undertaking(rng: np.random.Generator) -> Undertaking:
    """A project with one needle change in it; the stitch count is what the gauge promises."""
    gauge = float(rng.uniform(1.8, 2.8))
    # a needle that suits the yarn: the loop goes round it, s = pi (D + y)
    loop = 10.0 * KW_BY_LAW / gauge / np.pi
    needle = float(rng.choice([n for n in NEEDLES if 1.0 <= loop - n <= 3.0]))
    thickness = float(np.clip((loop - needle) * np.exp(rng.normal(0.0, 0.1)), 0.8, 4.0))
    # N = k L / s with s by Munden's law
    stitches = round(1524.0 * gauge / (10.0 * KW_BY_LAW))
    other = needle + float(rng.choice((-0.5, 0.5)))
    change = int(rng.integers(12, 20))
    return Undertaking(
        stitches=stitches,
        rounds=change + int(rng.integers(12, 20)),
        gauge_stitches_per_cm=gauge,
        needle_mm=needle,
        yarn_thickness_mm=thickness,
        fibre=str(rng.choice(FIBRES)),
        pattern=str(rng.choice(PATTERNS)),
        homes=(float(rng.integers(10, stitches - 10)),),
        changes=(Stint(change, stitches, other),),
    )


def work_of(plan: Undertaking) -> Materials:
    """What she knows before casting on."""
    return Materials(
        needle_mm=plan.needle_mm,
        gauge_stitches_per_cm=plan.gauge_stitches_per_cm,
        yarn_thickness_mm=plan.yarn_thickness_mm,
        fibre=plan.fibre,
        stitch_pattern=plan.pattern,
    )


def cases(count: int, seed: int, past: tuple[int, ...] = PAST) -> Iterator[Case]:
    """Yield one case a knitter, with each of ``past`` many finished projects to go by."""
    for number in range(count):
        rng = np.random.default_rng((seed, number))
        person = some_person(rng)
        finished = []
        for i in range(max(past)):
            plan = some_undertaking(rng)
            made = knit_project(person, plan, int(rng.integers(1 << 40)))
            finished.append(look_back(made.log, f"p{i}", work_of(plan)))
        plan = some_undertaking(rng)
        made = knit_project(person, plan, int(rng.integers(1 << 40)))
        yield _case(finished, plan, made, past)


def _case(
    finished: list[FinishedProject], plan: Undertaking, made: Knitted, past: tuple[int, ...]
) -> Case:
    begun = CastOn(plan.stitches, plan.repeats, plan.repeat_length_mm)
    first, first_held, after, after_held, three = [], [], [], [], []
    change = plan.changes[0].first_round
    log = made.log
    for count in past:
        hands = learn(finished[:count])
        expected = expected_drift(hands, work_of(plan), begun)
        if expected is None:  # nothing finished: the gauge by Munden's law, 8 %
            mean, sd = 0.0, 0.08 * plan.stitches
            ends = (mean - 1.96 * sd, mean + 1.96 * sd)
        else:
            mean, ends = expected.mean, (expected.low95, expected.high95)
        first.append(mean - made.drifts[0])
        first_held.append(ends[0] <= made.drifts[0] <= ends[1])
        prior = to_prior(hands, work_of(plan), begun) if count else Prior()
        before = replace(log, readings=tuple(r for r in log.readings if r.round < change))
        said = fit(before, prior).drift
        after.append(said.mean - made.drifts[1])
        after_held.append(said.low95 <= made.drifts[1] <= said.high95)
        early = replace(log, readings=tuple(r for r in log.readings if r.round < change + 3))
        three.append(fit(early, prior).drift.mean - made.drifts[1])
    return Case(tuple(first), tuple(first_held), tuple(after), tuple(after_held), tuple(three))


def rms(values: np.ndarray) -> np.ndarray:
    """Root mean square over cases, by the number of past projects."""
    return np.sqrt(np.mean(values**2, axis=0))


def table(found: list[Case]) -> str:
    """The table as it stands in HANDS_RESULTS.md."""
    first = np.array([c.first_drift for c in found])
    after = np.array([c.after_change for c in found])
    three = np.array([c.three_rounds_in for c in found])
    held = 100 * np.mean([c.first_held for c in found], axis=0)
    held_after = 100 * np.mean([c.after_held for c in found], axis=0)
    lines = [
        "| past projects | first drift, error | held | after a needle change, error | held | "
        "three rounds in, error |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    for i, past in enumerate(PAST):
        errors = [f"{rms(v)[i]:.2f} ({rms(v)[i] / rms(v)[0]:.2f})" for v in (first, after, three)]
        lines.append(
            f"| {past} | {errors[0]} | {held[i]:.1f} % | {errors[1]} | {held_after[i]:.1f} % | "
            f"{errors[2]} |"
        )
    return "\n".join(lines)
