"""My hands in words and in a chart of characters."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from knitlog.drift import Estimate
    from knitlog.hands import Hands, KindKnitted

_WIDTH = 46


@dataclass(frozen=True, slots=True)
class Habit:
    """One thing hands do: of any knitter, and of this one."""

    label: str
    short: str
    """The same for a chart."""
    unit: str
    any_knitter: Estimate
    yours: Estimate
    key: str
    """For JSON, with its unit."""


def habits(hands: Hands) -> tuple[Habit, ...]:
    """What is known of her hands beside any knitter's, as what to expect of the next project."""
    from knitlog.hands import any_landing, learn

    nobody = learn(())
    found = [
        Habit(
            "Answer to a needle step",
            "needle step",
            "of the loop law",
            nobody.needle_response.next,
            hands.needle_response.next,
            "needle_answer_share",
        ),
        Habit(
            "Rounds differ by",
            "rounds",
            "stitches on 128",
            _of_log(nobody.tension_noise.next),
            _of_log(hands.tension_noise.next),
            "tension_noise_stitches_on_128",
        ),
        Habit(
            "Readings are out by",
            "readings",
            "stitches",
            _of_log(nobody.reading_noise.next),
            _of_log(hands.reading_noise.next),
            "reading_noise_stitches",
        ),
        Habit(
            "Sittings differ by",
            "sittings,\na round",
            "stitches a round on 128",
            nobody.sittings,
            hands.sittings,
            "sitting_noise_stitches_per_round_on_128",
        ),
    ]
    belief = any_landing().next
    found += [
        Habit(
            f"A fix by {h.how} does",
            h.how,
            "of what is meant",
            belief,
            h.share.next,
            f"fix_share_{h.how}",
        )
        for h in hands.fixes
    ]
    return tuple(found)


def _of_log(e: Estimate) -> Estimate:
    from knitlog.drift import Estimate as Plain

    middle = exp(e.mean)
    return Plain(middle, middle * e.sd, exp(e.low95), exp(e.high95))


def kind_rows(kinds: Sequence[KindKnitted]) -> list[tuple[str, ...]]:
    """Yarn per stitch by needle, fibre and pattern, with a line of headings."""
    rows: list[tuple[str, ...]] = [
        ("Needle", "Fibre", "Pattern", "Projects", "Yarn per stitch, mm", "Next yarn, mm")
    ]
    for kind in kinds:
        seen = (
            f"{kind.low_mm:.2f}"
            if f"{kind.low_mm:.2f}" == f"{kind.high_mm:.2f}"
            else f"{kind.low_mm:.2f} to {kind.high_mm:.2f}"
        )
        e = kind.next_mm
        rows.append(
            (
                "-" if kind.needle_mm is None else f"{kind.needle_mm:g} mm",
                kind.fibre or "-",
                kind.stitch_pattern or "-",
                str(kind.projects),
                seen,
                "-" if e is None else f"{e.mean:.2f} ({e.low95:.2f} to {e.high95:.2f})",
            )
        )
    return rows


def chart_lines(hands: Hands, width: int = _WIDTH) -> Iterator[str]:
    """Each habit as two bars: dots for any knitter, a line for her; the middle is marked."""
    yield "o between . .   any knitter, 19 times in 20"
    yield "# between - -   you"
    for habit in habits(hands):
        low = min(habit.any_knitter.low95, habit.yours.low95, 0.0)
        high = max(habit.any_knitter.high95, habit.yours.high95)
        scale = (width - 1) / (high - low)

        def bar(e: Estimate, body: str, mark: str, low: float = low, scale: float = scale) -> str:
            cells = [" "] * width
            first, last = (round((x - low) * scale) for x in (e.low95, e.high95))
            cells[first : last + 1] = body * (last - first + 1)
            cells[round((e.mean - low) * scale)] = mark
            return "".join(cells).rstrip()

        e = habit.yours
        yield ""
        yield f"{habit.label} {e.mean:.2f} {habit.unit} ({e.low95:.2f} to {e.high95:.2f})"
        yield f"  {bar(habit.any_knitter, '.', 'o')}"
        yield f"  {bar(e, '-', '#')}"


def hands_lines(hands: Hands, problems: Sequence[str] = ()) -> Iterator[str]:
    """All of it, a line each."""
    from knitlog.hands import kinds_knitted, sentences
    from knitlog.report.tables import table

    yield "MY HANDS"
    yield from sentences(hands)
    if hands.known:
        yield ""
        yield from table(kind_rows(kinds_knitted(hands)))
        yield ""
        yield "WHAT TO EXPECT OF THE NEXT PROJECT"
        yield from chart_lines(hands)
    for problem in problems:
        yield f"! {problem}"


def hands_object(hands: Hands) -> dict[str, Any]:
    """All of it as plain data, units in the names."""
    from knitlog.hands import kinds_knitted, sentences
    from knitlog.report.review_json import numbers

    return {
        "projects": [p.name for p in hands.projects],
        "habits": {h.key.replace(" ", "_"): numbers(h.yours) for h in habits(hands)},
        "yarn_per_stitch": [
            {
                "needle_mm": k.needle_mm,
                "fibre": k.fibre,
                "pattern": k.stitch_pattern,
                "projects": k.projects,
                "low_mm": k.low_mm,
                "high_mm": k.high_mm,
                "next_mm": numbers(k.next_mm),
            }
            for k in kinds_knitted(hands)
        ],
        "sentences": list(sentences(hands)),
    }
