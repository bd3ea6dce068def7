"""Her hands in plain words."""

from collections import Counter
from collections.abc import Iterator
from math import exp

from knitlog.hands.learn import FixHabit, Hands
from knitlog.hands.next_project import step_percent
from knitlog.hands.yarn_model import Kind, YarnModel
from knitlog.yarn.geometry import USUAL_YARN_THICKNESS_MM

_FEW = 3
_EVEN = 0.05


def sentences(hands: Hands) -> tuple[str, ...]:
    """Return what is known of the knitter, a sentence each, most useful first."""
    if not hands.known:
        return (
            "No finished project to learn from yet: finish one and its rounds will count here.",
        )
    return tuple(_told(hands))


def _told(hands: Hands) -> Iterator[str]:
    count = len(hands.projects)
    yield (
        f"From {count} finished project{'' if count == 1 else 's'}"
        + (
            ": too few to say much, so most of this is still what holds for any knitter."
            if count < _FEW
            else "."
        )
    )
    yield from _yarn(hands)
    yield from _kinds(hands)
    yield _response(hands)
    w, m = exp(hands.tension_noise.mean.mean), exp(hands.reading_noise.mean.mean)
    yield (
        f"Your rounds differ from one another by about {w:.1f} stitches on 128, and you read a "
        f"colour change to about {m:.1f}."
    )
    if hands.sitting_runs:
        yield _sitting(hands)
    for habit in hands.fixes:
        yield _fix(habit)


def _yarn(hands: Hands) -> Iterator[str]:
    model = hands.yarn
    if not model.sightings:
        return
    # told of what she knits most: of a kind never knitted less is known
    kind = Counter(Kind(None, s.kind.fibre, s.kind.stitch_pattern) for s in model.sightings)
    usual = kind.most_common(1)[0][0]
    what = " ".join(word for word in (usual.stitch_pattern, usual.fibre) if word)
    e = model.expect(usual, new_project=False)
    new = model.expect(usual)
    opening = f"In {what} a stitch" if what else "A stitch"
    if hands.by_gauge.sightings:
        yield (
            f"{opening} of yours takes {exp(e.mean):.2f} stitch widths of yarn "
            f"(between {exp(e.low95):.2f} and {exp(e.high95):.2f})."
        )
    else:
        yield (
            f"{opening} of yours takes {100.0 * exp(e.mean):.0f} % of the loop round the needle "
            f"(between {100.0 * exp(e.low95):.0f} and {100.0 * exp(e.high95):.0f} %)."
        )
    within = 50.0 * (exp(new.high95 - new.mean) - exp(new.low95 - new.mean))
    yield f"In a new yarn expect that to within {within:.0f} % either way, 19 times in 20."


def _kinds(hands: Hands) -> Iterator[str]:
    model = hands.yarn
    for what, values, kinds in (
        ("fibre", *_known(model, "fibre")),
        ("stitch pattern", *_known(model, "stitch_pattern")),
    ):
        if len(values) < 2:
            continue
        found = [model.expect(kind, new_project=False).mean for kind in kinds]
        middle = sum(found) / len(found)
        parts = [
            f"{value} {100.0 * (exp(log_ratio - middle) - 1.0):+.1f} %"
            for value, log_ratio in zip(values, found, strict=True)
        ]
        yield f"Yarn per stitch by {what}, against their average: {', '.join(parts)}."


def _known(model: YarnModel, field: str) -> tuple[list[str], list[Kind]]:
    found = {getattr(s.kind, field) for s in model.sightings}
    values = sorted(value for value in found if value is not None)
    return values, [Kind(**{field: value}) for value in values]


def _response(hands: Hands) -> str:
    pooled = hands.needle_response
    if not pooled.count:
        return (
            "You have not changed needles in a finished project, so what a needle step does in "
            "your hands is not known yet."
        )
    f = pooled.mean
    step = step_percent(hands, 4.0, 4.5, USUAL_YARN_THICKNESS_MM)
    how = (
        "as much as the loop round the needle says"
        if abs(f.mean - 1.0) < _EVEN
        else f"{100.0 * f.mean:.0f} % of what the loop round the needle says"
    )
    times = f"{pooled.count} change{'' if pooled.count == 1 else 's'}"
    return (
        f"A needle step changes your yarn per stitch by {how} ({times}): from 4.0 to 4.5 mm "
        f"expect {step.mean:+.1f} % ({step.low95:+.1f} to {step.high95:+.1f} %)."
    )


def _sitting(hands: Hands) -> str:
    e = hands.sittings
    if e.high95 < 0.3:
        return "Your tension hardly differs from one sitting to the next."
    return (
        f"From one sitting to the next your drift differs by about {e.mean:.1f} stitches a round "
        f"on 128 (between {e.low95:.1f} and {e.high95:.1f})."
    )


def _fix(habit: FixHabit) -> str:
    share = habit.share
    e = share.mean
    times = f"{share.count} time{'' if share.count == 1 else 's'}"
    lands = f"{100.0 * e.mean:.0f} % of what you mean them to"
    if e.low95 <= 1.0 <= e.high95:
        lands += ", which may as well be all of it"
    elif e.mean < 1.0:
        lands += ": you take out too little"
    else:
        lands += ": you take out too much"
    return (
        f"Fixes by {habit.how} ({times}) do {lands}; one differs from the next by about "
        f"{100.0 * share.between_sd:.0f} %."
    )
