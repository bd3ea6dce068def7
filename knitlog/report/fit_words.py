"""The numbers of a look in rows of words: the fit, the forecast, the remedies, the work.

Each row and heading once, for the command line, the screens and the pages alike.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from knitlog.journal.registry import units_of
from knitlog.report.verdict_words import unexplained_words
from knitlog.report.words import as_known, between, counted, in_rows, one_round, spread
from knitlog.typed.numbers import format_number

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from knitlog.analysis.counted_at import WorkMinutes
    from knitlog.drift import DriftFit, PatternEffects, Section, StintDrift
    from knitlog.journal.facts import ProjectFacts
    from knitlog.report.advice_words import Told, ToldOption
    from knitlog.report.parts import Row

_AHEAD = 10
OPTION_HEAD = ("Remedy", "In place", "Work", "In all", "Size")
OPTION_UNITS = "Minutes: of work, and in all with lines, jogs and rounds out of place."
WORK_HEADING = "What work is counted at, in minutes"
WORK_WORTH = (
    "Lines, the jog and the round are counted at the work you would give to be without them. The "
    "usual minutes are common practice, without a source."
)


def fit_rows(fit: DriftFit, facts: ProjectFacts) -> list[Row]:
    """The numbers of a fit: what it is, and how much."""
    a_round = f"stitches a {one_round(facts)}"
    logged = counted(fit.rounds_logged, one_round(facts))
    rows: list[Row] = [
        ("Logged", f"{logged}, the last is {fit.last_round}"),
        ("Drift", f"{spread(fit.drift)} {a_round} (+ is past)"),
        ("Colours now", f"{spread(fit.offset)} stitches from their place"),
        ("Yarn per stitch off by", f"{spread(fit.yarn_error_percent)} %"),
    ]
    if fit.yarn_per_stitch_mm is not None:
        s, aim = fit.yarn_per_stitch_mm, fit.target_yarn_per_stitch_mm
        should = "" if aim is None else f", {aim:.1f} mm would be in line"
        rows.append(("Yarn per stitch", f"{between(s, unit=' mm', least=0.1)}{should}"))
    return [
        *rows,
        ("Your tension varies by", f"{fit.tension_noise_sd:.1f} {a_round}"),
        ("Your readings vary by", f"{fit.reading_noise_sd:.1f} stitches"),
    ]


def stint_head(facts: ProjectFacts) -> Row:
    """Headings of :func:`stint_rows`."""
    turn = one_round(facts)
    return f"{turn.capitalize()}s", "Stitches", "Needle", f"Drift a {turn}", "What began it"


def stint_rows(stints: tuple[StintDrift, ...], facts: ProjectFacts) -> list[Row]:
    """The drift stint by stint, and what began each."""
    units = units_of(facts)
    rows: list[Row] = []
    for place, stint in enumerate(stints):
        needle = "-" if stint.needle_mm is None else units.needle(stint.needle_mm)
        began = _began(stint, stints[place - 1] if place else None)
        rounds = f"{stint.first_round}-{stint.last_round}"
        rows.append((rounds, str(stint.stitches), needle, spread(stint.drift), began))
    return rows


def _began(stint: StintDrift, before: StintDrift | None) -> str:
    if before is None:
        return "cast-on"
    if not stint.logged:
        return "not logged"
    parts = []
    if stint.needle_mm != before.needle_mm:
        parts.append("another needle")
    if stint.stitches != before.stitches:
        parts.append(f"{stint.stitches - before.stitches:+d} stitches")
    return " and ".join(parts) or "a change"


def around_the_round(fit: DriftFit) -> Iterator[Row]:
    """Each part between two colour changes, and how its yarn compares with the round's.

    Nothing where fewer than two changes a round are logged, or where nobody can know how much
    yarn lies between them.
    """
    for part in fit.sections:
        yield f"Change {part.from_change} to change {part.to_change}", _against_round(part)


def _against_round(part: Section) -> str:
    off = part.against_round_percent
    if off.low95 > 0.0:
        return (
            f"{off.mean:.1f} % more yarn a stitch than the round "
            f"({off.low95:.1f} to {off.high95:.1f})"
        )
    if off.high95 < 0.0:
        return (
            f"{-off.mean:.1f} % less yarn a stitch than the round "
            f"({-off.high95:.1f} to {-off.low95:.1f})"
        )
    most = max(abs(off.low95), abs(off.high95))
    return f"as much yarn a stitch as the round, to within {most:.1f} %"


def hand_sentences(fit: DriftFit, facts: ProjectFacts) -> Iterator[str]:
    """What a hand does beside an even drift: change slowly, follow the pattern, do as asked."""
    a_round = one_round(facts)
    slow = fit.slow_change
    if slow is not None:
        way = "smaller" if slow.change.mean > 0 else "larger"
        yield (
            f"Your stitches have been getting {way} since about {a_round} {slow.since_round}, by "
            f"{abs(slow.change.mean):.1f} a {a_round} in all."
        )
    if fit.pattern is not None:
        yield from _pattern_sentences(fit.pattern, facts)
    if fit.log.tension:
        e = fit.tension_response
        yield (
            f"Of a tension asked of it your hand gives {100 * e.mean:.0f} % "
            f"({100 * e.low95:.0f} to {100 * e.high95:.0f} %)."
        )


def _pattern_sentences(pattern: PatternEffects, facts: ProjectFacts) -> Iterator[str]:
    if pattern.rounds == 2 and facts.flat:
        # the two sum to zero: rows apart by twice what one is off; row 1 is knitted, row 2 purled
        off = pattern.percent[1]
        if off.low95 > 0 or off.high95 < 0:
            more = "more" if off.mean > 0 else "less"
            plain = facts.stitch_pattern in (None, "plain", "stockinette")
            back, front = ("purl", "knit") if plain else ("wrong-side", "right-side")
            apart = 2 * abs(off.mean)
            yield f"{back.capitalize()} rows take {apart:.1f} % {more} yarn than {front} rows."
        return
    for number, off in enumerate(pattern.percent, start=1):
        if off.low95 > 0 or off.high95 < 0:
            more = "more" if off.mean > 0 else "less"
            yield (
                f"{one_round(facts).capitalize()} {number} of the pattern's {pattern.rounds} takes "
                f"{abs(off.mean):.1f} % {more} yarn than they do on average "
                f"({off.low95:+.1f} to {off.high95:+.1f} %)."
            )


def warning_sentences(fit: DriftFit) -> tuple[str, ...]:
    """What to know before believing the numbers."""
    said = []
    if fit.rounds_logged < 3:
        are = "are" if fit.rounds_logged > 1 else "is"
        said.append(
            f"Only {counted(fit.rounds_logged, 'round')} {are} logged: "
            "the drift is mostly a guess until four or five are."
        )
    said += [unexplained_words(other) for other in fit.alternatives]
    said += [
        f"Round {odd.round} reads stitch {odd.stitch:g} where about {odd.expected:.0f} was "
        "expected: perhaps a miscount; it is left out of the fit."
        for odd in fit.suspects
    ]
    said += [
        f"Something changed around round {found.round}: the drift moved by {found.size:+.1f} "
        "stitches a round and nothing was logged."
        if found.kind == "drift"
        else f"The colours jumped by {found.size:+.1f} stitches around round {found.round} "
        "and nothing was logged."
        for found in fit.breaks
    ]
    return tuple(in_rows(sentence, fit.log.flat) for sentence in said)


def forecast_sentence(fit: DriftFit, facts: ProjectFacts) -> str:
    """Where the colours will be ten rounds on, as the chart shows it."""
    ahead = fit.forecast(_AHEAD)
    sd = float(ahead.sd[-1])
    mean, low, high = (
        as_known(float(part[-1]), sd, "+") for part in (ahead.mean, ahead.low95, ahead.high95)
    )
    return (
        f"If nothing is changed, {one_round(facts)} {int(ahead.rounds[-1])} "
        f"falls {mean} stitches from its place ({low} to {high})."
    )


def option_rows(options: Iterable[ToldOption]) -> list[Row]:
    """Remedies side by side."""
    return [_option_row(one) for one in options]


def _option_row(one: ToldOption) -> Row:
    option = one.option
    return (
        one.title,
        f"{100 * option.share_in_tolerance:.0f} %",
        f"{option.minutes:.0f}",
        f"{option.expected_cost:.0f}",
        f"{option.size_change_percent:+.1f} %",
    )


def not_here_rows(told: Told) -> list[Row]:
    """The remedies that are not possible here, and why."""
    return [(one.title, one.reason) for one in told.options if not one.option.feasible]


def work_rows(work: tuple[WorkMinutes, ...]) -> list[Row]:
    """What work is counted at: its name, its minutes, whose they are, what it is."""
    return [(one.kind.name, format_number(one.minutes), _whose(one), one.kind.what) for one in work]


def _whose(work: WorkMinutes) -> str:
    return f"yours; usually {format_number(work.usual)}" if work.own else "usual"
